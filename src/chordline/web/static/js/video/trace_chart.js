/**
 * One measure through time: its course, the soft band of ±, the hatched stretches in which she was lost.
 *
 * @typedef {object} Trace
 * @property {(number | null)[]} value null where she was lost
 * @property {(number | null)[]} sd
 * @property {string} unit
 */

import { html } from "../editor/dom.js";
import { pathOf, svg } from "../editor/svg.js";
import { SD_95, signed } from "../editor/wording.js";
import { firstAfter, usualStep } from "./track.js";

/** Units of the drawing: it is stretched to its place, strokes are not. */
const HIGH = 100;
const WIDE = 1000;
/** Least height of the scale: noise must not look like movement. */
const LEAST = { deg: 30, pct: 8, cm: 20, s: 2 };
/** Share of the height that stays free above and below. */
const AIR = 0.08;

export class TraceChart {
  #t_s;
  #step_s;
  #trace;
  #timeline;
  #low;
  #high;
  #graph;
  #lost = html("div", { class: "trace-lost" });

  /**
   * @param {readonly number[]} t_s
   * @param {Trace} trace
   * @param {import("./timeline.js").Timeline} timeline
   */
  constructor(t_s, trace, timeline) {
    this.#t_s = t_s;
    this.#step_s = usualStep(t_s);
    this.#trace = trace;
    this.#timeline = timeline;
    [this.#low, this.#high] = scaleOf(trace);
    this.#graph = svg("svg", { class: "trace-graph", viewBox: `0 0 ${WIDE} ${HIGH}`, preserveAspectRatio: "none", "aria-hidden": "true" });
    this.plot = html("div", { class: "trace-plot" }, this.#lost, this.#graph, html("div", { class: "playhead" }));
    this.element = html("div", { class: "trace-box" }, ...this.#scale(), this.plot);
    this.draw();
  }

  draw() {
    const runs = this.#runs();
    const y0 = this.#y(0);
    this.#graph.replaceChildren(
      svg("path", { class: "trace-zero", d: `M0 ${y0.toFixed(2)}H${WIDE}` }),
      svg("path", { class: "trace-band", d: runs.map((run) => this.#band(run)).join("") }),
      svg("path", { class: "trace-line", d: runs.map((run) => pathOf(run.map((i) => this.#point(i, 0)))).join("") }),
    );
    this.#lost.replaceChildren(...this.#gaps(runs));
  }

  /** @param {number} t_s @returns {{value: number, sd: number} | null} what it is at a moment; null where she was lost */
  at(t_s) {
    const times = this.#t_s;
    const after = firstAfter(times, t_s);
    const near = [after - 1, after].filter((i) => i >= 0 && i < times.length);
    const [i] = near.sort((a, b) => Math.abs(times[a] - t_s) - Math.abs(times[b] - t_s));
    if (i === undefined || Math.abs(times[i] - t_s) > 1.5 * this.#step_s) return null;
    const value = this.#trace.value[i];
    const sd = this.#trace.sd[i];
    return value === null || sd === null ? null : { value, sd };
  }

  /** @param {number} t_s @returns {boolean} whether the course runs in the upper half before a moment */
  isHighBefore(t_s) {
    const there = this.at(t_s - 0.5) ?? this.at(t_s);
    return there !== null && this.#y(there.value) < HIGH / 2;
  }

  /** Indices of the stretches in which she was seen. @returns {number[][]} */
  #runs() {
    const longest = 3 * this.#step_s;
    const runs = /** @type {number[][]} */ ([]);
    let run = /** @type {number[]} */ ([]);
    const end = () => {
      if (run.length > 1) runs.push(run);
      run = [];
    };
    this.#t_s.forEach((t_s, i) => {
      if (run.length > 0 && t_s - this.#t_s[i - 1] > longest) end();
      if (this.#trace.value[i] === null || this.#trace.sd[i] === null) end();
      else run.push(i);
    });
    end();
    return runs;
  }

  /** @param {readonly number[]} run */
  #band(run) {
    const upper = run.map((i) => this.#point(i, SD_95));
    const lower = [...run].reverse().map((i) => this.#point(i, -SD_95));
    return pathOf([...upper, ...lower], true);
  }

  /** @param {number} i @param {number} sds */
  #point(i, sds) {
    const value = Number(this.#trace.value[i]) + sds * Number(this.#trace.sd[i]);
    const { from_s, to_s } = this.#timeline;
    return { x: (WIDE * (this.#t_s[i] - from_s)) / (to_s - from_s), y: this.#y(value) };
  }

  /** @param {number} value */
  #y(value) {
    const share = (value - this.#low) / (this.#high - this.#low);
    return HIGH * (1 - AIR - (1 - 2 * AIR) * share);
  }

  /** Where the course is broken between what was read first and last. @param {readonly number[][]} runs */
  #gaps(runs) {
    const seen = runs.map((run) => [this.#t_s[run[0]], this.#t_s[run[run.length - 1]]]);
    const edges = [this.#t_s[0], ...seen.flat(), this.#t_s[this.#t_s.length - 1]];
    const gaps = [];
    for (let i = 0; i < edges.length; i += 2) {
      const left = this.#timeline.share(edges[i]);
      const width = this.#timeline.share(edges[i + 1]) - left;
      if (!(width > 0.002)) continue;
      const gap = html("div", {});
      gap.style.left = `${100 * left}%`;
      gap.style.width = `${100 * width}%`;
      gaps.push(gap);
    }
    return gaps;
  }

  /** Numbers at the edge: the top, zero, the bottom. */
  #scale() {
    const shown = [this.#high, 0, this.#low].filter((value, i, all) => i === 1 || Math.abs(value) > 0.22 * (all[0] - all[2]));
    return shown.map((value) => {
      const label = html("span", { class: "trace-scale", "aria-hidden": "true" }, value === 0 ? "0" : signed(value, this.#trace.unit));
      label.style.top = `${this.#y(value)}%`;
      return label;
    });
  }
}

/** @param {Trace} trace @returns {[number, number]} lowest and highest of the scale, zero between them */
function scaleOf({ value, sd, unit }) {
  let low = 0;
  let high = 0;
  value.forEach((one, i) => {
    if (one === null || sd[i] === null) return;
    // A moment with a wide band must not press all others flat.
    const half = Math.min(SD_95 * Number(sd[i]), LEAST[unit] ?? 10);
    low = Math.min(low, one - half);
    high = Math.max(high, one + half);
  });
  const missing = (LEAST[unit] ?? 10) - (high - low);
  return missing > 0 ? [low - missing / 2, high + missing / 2] : [low, high];
}
