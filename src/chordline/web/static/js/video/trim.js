/**
 * Trimming: two handles on the bar of time, two number fields, one part of the video.
 */

import { html } from "../editor/dom.js";
import { keyMoves } from "./player.js";
import { momentAloud } from "./time_words.js";

/** The shortest part that can be measured: eight frames of a slow phone [s]. */
const SHORTEST_S = 0.5;
/** An end this near to the video's own is no trim [s]. */
const AT_THE_END_S = 0.05;

/** @typedef {"from" | "to"} End */

export class Trim {
  #row;
  #fields;
  #timeline;
  #player;
  #handles = /** @type {Record<End, HTMLElement>} */ ({});
  #outside = { from: html("div", { class: "trim-outside" }), to: html("div", { class: "trim-outside" }) };
  #at;

  /**
   * @param {HTMLElement} row under the bar, as wide as it
   * @param {object} parts
   * @param {HTMLElement} parts.strip the bar itself
   * @param {Record<End, HTMLInputElement>} parts.fields
   * @param {import("./timeline.js").Timeline} parts.timeline
   * @param {import("./player.js").Player} parts.player
   */
  constructor(row, { strip, fields, timeline, player }) {
    this.#row = row;
    this.#fields = fields;
    this.#timeline = timeline;
    this.#player = player;
    this.#at = { from: 0, to: timeline.duration_s };
    for (const end of /** @type {End[]} */ (["from", "to"])) {
      this.#handles[end] = this.#makeHandle(end);
      fields[end].addEventListener("change", () => this.#readField(end));
      strip.append(this.#outside[end]);
      this.#readField(end, false);
    }
    row.append(this.#handles.from, this.#handles.to);
    timeline.onChange(() => this.#draw());
    this.#draw();
  }

  /** @param {boolean} shown */
  show(shown) {
    this.#row.hidden = !shown;
    this.#outside.from.hidden = this.#outside.to.hidden = !shown;
  }

  /** Put an end where the playhead is. @param {End} end */
  setHere(end) {
    this.#set(end, this.#player.at_s);
  }

  /** The whole video again. */
  clear() {
    this.#at = { from: 0, to: this.#timeline.duration_s };
    this.#writeFields();
    this.#draw();
  }

  /** @param {End} end */
  #makeHandle(end) {
    const handle = html("div", {
      class: `trim-handle trim-${end}`, role: "slider", tabindex: "0",
      "aria-label": end === "from" ? "Measure from" : "Measure to", "aria-orientation": "horizontal",
    }, html("span", {}, end === "from" ? "from" : "to"));
    let grip = /** @type {{pointer: number, off_s: number} | null} */ (null);
    handle.addEventListener("pointerdown", (/** @type {PointerEvent} */ event) => {
      if (event.button !== 0) return;
      grip = { pointer: event.pointerId, off_s: this.#at[end] - this.#timeline.under(event, this.#row) };
      handle.setPointerCapture(event.pointerId);
    });
    handle.addEventListener("pointermove", (/** @type {PointerEvent} */ event) => {
      if (grip?.pointer === event.pointerId) this.#set(end, this.#timeline.under(event, this.#row) + grip.off_s, true);
    });
    for (const over of ["pointerup", "pointercancel"]) handle.addEventListener(over, () => (grip = null));
    handle.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
      const to_s = keyMoves(event, this.#player, this.#at[end], this.#timeline.duration_s);
      if (to_s === null || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      this.#set(end, to_s, true);
    });
    return handle;
  }

  /** @param {End} end @param {number} t_s @param {boolean} [look] show that moment */
  #set(end, t_s, look = false) {
    const whole = this.#timeline.duration_s;
    const shortest = Math.min(SHORTEST_S, whole);
    if (end === "from") {
      this.#at.from = Math.min(Math.max(0, t_s), whole - shortest);
      this.#at.to = Math.max(this.#at.to, this.#at.from + shortest);
    } else {
      this.#at.to = Math.max(Math.min(whole, t_s), shortest);
      this.#at.from = Math.min(this.#at.from, this.#at.to - shortest);
    }
    if (look) {
      this.#player.pause();
      this.#player.seek(this.#at[end]);
    }
    this.#writeFields();
    this.#draw();
  }

  /** @param {End} end @param {boolean} [look] */
  #readField(end, look = true) {
    const text = this.#fields[end].value.trim().replace(",", ".");
    const said = text === "" ? (end === "from" ? 0 : this.#timeline.duration_s) : Number(text);
    if (Number.isFinite(said)) this.#set(end, said, look);
  }

  #writeFields() {
    const whole = this.#timeline.duration_s;
    this.#fields.from.value = this.#at.from <= AT_THE_END_S ? "" : this.#at.from.toFixed(2);
    this.#fields.to.value = this.#at.to >= whole - AT_THE_END_S ? "" : this.#at.to.toFixed(2);
  }

  #draw() {
    for (const end of /** @type {End[]} */ (["from", "to"])) {
      const handle = this.#handles[end];
      if (!handle) continue;
      const share = this.#timeline.share(this.#at[end]);
      handle.style.left = `${100 * share}%`;
      handle.setAttribute("aria-valuemin", "0");
      handle.setAttribute("aria-valuemax", this.#timeline.duration_s.toFixed(2));
      handle.setAttribute("aria-valuenow", this.#at[end].toFixed(2));
      handle.setAttribute("aria-valuetext", momentAloud(this.#at[end]));
      const outside = this.#outside[end].style;
      outside.left = end === "from" ? "0" : `${100 * share}%`;
      outside.width = `${100 * (end === "from" ? share : 1 - share)}%`;
    }
  }
}
