/**
 * The bar of time under the picture: where she was in shape, where it broke, where the playhead is.
 */

import { html } from "../editor/dom.js";
import { moment, momentAloud } from "./time_words.js";
import { followPointer } from "./timeline.js";

/**
 * @typedef {object} Told what was measured along the video
 * @property {[number, number][]} in_shape stretches [s]
 * @property {number | null} break_s
 * @property {number | null} key_s
 * @property {number | null} arrived_s
 */

export class Scrubber {
  #strip;
  #timeline;
  #stretches = html("div", { class: "scrub-stretches" });
  #marks = html("div", { class: "scrub-marks" });
  #ends;
  #told = /** @type {Told} */ ({ in_shape: [], break_s: null, key_s: null, arrived_s: null });
  #at_s = 0;

  /**
   * @param {HTMLElement} strip with the role of a slider
   * @param {object} parts
   * @param {import("./timeline.js").Timeline} parts.timeline
   * @param {import("./player.js").Player} parts.player
   * @param {HTMLElement} parts.ends first and last moment that are shown, in words
   */
  constructor(strip, { timeline, player, ends }) {
    this.#strip = strip;
    this.#timeline = timeline;
    this.#ends = ends;
    strip.append(this.#stretches, this.#marks, html("div", { class: "playhead" }));
    followPointer(strip, timeline, (t_s) => player.seek(t_s));
    player.onMoved((t_s) => this.#move(t_s));
    timeline.onChange(() => this.#draw());
    this.#draw();
    this.#move(player.at_s);
  }

  /** @param {Told} told */
  show(told) {
    this.#told = told;
    this.#draw();
  }

  /** What the values are at the playhead, for those who hear it. @param {string} words */
  say(words) {
    this.#strip.setAttribute("aria-valuetext", words ? `${momentAloud(this.#at_s)}: ${words}` : momentAloud(this.#at_s));
  }

  /** @param {number} t_s */
  #move(t_s) {
    this.#at_s = t_s;
    this.#strip.setAttribute("aria-valuenow", t_s.toFixed(2));
    this.say("");
  }

  #draw() {
    const { from_s, to_s } = this.#timeline;
    this.#strip.setAttribute("aria-valuemin", "0");
    this.#strip.setAttribute("aria-valuemax", this.#timeline.duration_s.toFixed(2));
    const [first, last] = this.#ends.children;
    first.textContent = moment(from_s);
    last.textContent = moment(to_s);
    const stretches = stretchesOf(this.#told.in_shape, this.#timeline);
    for (const stretch of stretches) stretch.append(html("span", {}, "in shape"));
    this.#stretches.replaceChildren(...stretches);
    const { break_s, key_s, arrived_s } = this.#told;
    const marks = [["scrub-key", key_s], ["scrub-arrived", arrived_s], ["scrub-break", break_s]];
    this.#marks.replaceChildren(
      ...marks.filter(([, t_s]) => t_s !== null && this.#timeline.shows(Number(t_s))).map(([kind, t_s]) => {
        const mark = html("div", { class: kind });
        mark.style.left = `${100 * this.#timeline.share(Number(t_s))}%`;
        return mark;
      }),
    );
  }
}

/**
 * @param {readonly [number, number][]} stretches [s]
 * @param {import("./timeline.js").Timeline} timeline
 * @returns {HTMLElement[]}
 */
export function stretchesOf(stretches, timeline) {
  return stretches.map(([from_s, to_s]) => {
    const stretch = html("div", { class: "in-shape" });
    const left = timeline.share(from_s);
    stretch.style.left = `${100 * left}%`;
    stretch.style.width = `${100 * (timeline.share(to_s) - left)}%`;
    return stretch;
  }).filter(({ style }) => style.width !== "0%");
}
