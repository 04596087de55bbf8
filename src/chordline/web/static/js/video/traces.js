/**
 * The measures through time under the picture: three at once, the others one tap away.
 *
 * @typedef {import("../editor/wording.js").MeasureWords} MeasureWords
 *
 * @typedef {object} TracesJson
 * @property {number[]} t_s
 * @property {Record<string, import("./trace_chart.js").Trace>} traces
 * @property {number | null} break_s
 * @property {number | null} key_s
 * @property {number | null} arrived_s
 * @property {[number, number][]} in_shape
 */

import { html, say } from "../editor/dom.js";
import { shapeInWords, SD_95, withError } from "../editor/wording.js";
import { stretchesOf } from "./scrubber.js";
import { TraceChart } from "./trace_chart.js";
import { followPointer } from "./timeline.js";

const SHOWN_FIRST = 3;

/** @typedef {{measure: string, at_s: number, low_s: number, high_s: number, words: string}} Break */

export class Traces {
  #json;
  #timeline;
  #words;
  #broke;
  #rows = /** @type {{name: string, chart: TraceChart, now: HTMLElement, number: HTMLElement, ground: HTMLElement, marks: HTMLElement}[]} */ ([]);

  /**
   * @param {HTMLElement} place
   * @param {TracesJson} json
   * @param {object} how
   * @param {readonly string[]} how.order names, the most telling first
   * @param {Record<string, MeasureWords>} how.words
   * @param {Break | null} how.broke
   * @param {import("./timeline.js").Timeline} how.timeline
   * @param {import("./player.js").Player} how.player
   */
  constructor(place, json, { order, words, broke, timeline, player }) {
    this.#json = json;
    this.#timeline = timeline;
    this.#words = words;
    this.#broke = broke;
    const names = [...new Set([...(broke ? [broke.measure] : []), ...order])].filter((name) => name in json.traces && name in words);
    for (const name of names) this.#rows.push(this.#makeRow(name, player));
    const elements = this.#rows.map(({ chart }) => /** @type {HTMLElement} */ (chart.element.parentElement));
    place.append(...elements.slice(0, SHOWN_FIRST));
    const others = elements.slice(SHOWN_FIRST);
    if (others.length > 0) {
      const said = others.length === 1 ? "1 more measure" : `${others.length} more measures`;
      place.append(html("details", { class: "more-of" }, html("summary", {}, said), ...others));
    }
    timeline.onChange(() => this.#draw());
    this.#draw();
  }

  /** Show the values of a moment. @param {number} t_s @returns {string} them in words, the first three */
  tell(t_s) {
    const told = [];
    for (const { name, chart, now, number } of this.#rows) {
      const there = chart.at(t_s);
      const { unit } = this.#json.traces[name];
      const words = there ? shapeInWords(this.#words[name], there.value, unit) : "cannot be told here";
      say(now, words);
      say(number, there ? withError(there.value, SD_95 * there.sd, unit) : "");
      if (told.length < SHOWN_FIRST) told.push(`${this.#words[name].label} ${words}`);
    }
    return told.join(", ");
  }

  /** @param {string} name @param {import("./player.js").Player} player */
  #makeRow(name, player) {
    const chart = new TraceChart(this.#json.t_s, this.#json.traces[name], this.#timeline);
    const now = html("span", { class: "trace-now" });
    const number = html("span", { class: "number" });
    const ground = html("div", { class: "trace-ground" });
    const marks = html("div", { class: "trace-marks" });
    chart.plot.prepend(ground);
    chart.plot.append(marks);
    followPointer(chart.plot, this.#timeline, (t_s) => player.seek(t_s));
    html("section", { class: "trace", "data-trace": name, "aria-label": this.#words[name].label },
      html("p", { class: "trace-said" }, html("b", {}, this.#words[name].label), " ", now, " ", number),
      chart.element);
    return { name, chart, now, number, ground, marks };
  }

  #draw() {
    for (const { name, chart, ground, marks } of this.#rows) {
      chart.draw();
      ground.replaceChildren(...stretchesOf(this.#json.in_shape, this.#timeline), ...this.#about());
      marks.replaceChildren(...this.#marks(name, chart));
    }
  }

  /** From when to when the shape may have broken. */
  #about() {
    const broke = this.#broke;
    if (!broke || !this.#timeline.shows(broke.at_s)) return [];
    const about = html("div", { class: "mark-about" });
    const left = this.#timeline.share(broke.low_s);
    about.style.left = `${100 * left}%`;
    about.style.width = `${100 * (this.#timeline.share(broke.high_s) - left)}%`;
    return [about];
  }

  /** @param {string} name of the measure: its own break is told in words @param {TraceChart} chart */
  #marks(name, chart) {
    const at = (/** @type {number} */ t_s) => `${100 * this.#timeline.share(t_s)}%`;
    const marks = [];
    const key_s = this.#json.key_s;
    if (key_s !== null && this.#timeline.shows(key_s)) {
      const mark = html("div", { class: "mark-key" });
      mark.style.left = at(key_s);
      marks.push(mark);
    }
    const broke = this.#broke;
    if (broke && this.#timeline.shows(broke.at_s)) {
      const mark = html("div", { class: "mark-break" });
      mark.style.left = at(broke.at_s);
      marks.push(mark);
      if (name === broke.measure) {
        const right = this.#timeline.share(broke.at_s) > 0.5;
        const low = chart.isHighBefore(broke.at_s);
        const words = html("p", { class: `mark-words${right ? " is-left" : ""}${low ? " is-low" : ""}` }, broke.words);
        if (right) words.style.right = `${100 - 100 * this.#timeline.share(broke.at_s)}%`;
        else words.style.left = at(broke.at_s);
        marks.push(words);
      }
    }
    return marks;
  }
}
