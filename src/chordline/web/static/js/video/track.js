/**
 * Where her landmarks are at any moment: between two frames that were read they go straight on.
 *
 * @typedef {{x: number, y: number}} Point
 *
 * @typedef {object} TrackJson
 * @property {number} width_px
 * @property {number} height_px
 * @property {number[]} t_s
 * @property {Record<string, {x_px: (number | null)[], y_px: (number | null)[]}>} landmarks null where she was lost
 */

/** Frames farther apart than so many usual steps have nothing between them. */
const GAP_STEPS = 3;

export class Track {
  #json;
  #step_s;

  /** @param {TrackJson} json */
  constructor(json) {
    this.#json = json;
    this.#step_s = usualStep(json.t_s);
  }

  get width_px() {
    return this.#json.width_px;
  }

  get height_px() {
    return this.#json.height_px;
  }

  get t_s() {
    return this.#json.t_s;
  }

  /**
   * Where she was in the whole of it, with some room: the frame of a line without a picture.
   *
   * @param {readonly string[]} names
   * @returns {{x: number, y: number, width: number, height: number}} in pixels of the video
   */
  extent(names) {
    const seen = (/** @type {"x_px" | "y_px"} */ axis) => names.flatMap((name) => (this.#json.landmarks[name]?.[axis] ?? []).filter((one) => one !== null));
    const [xs, ys] = [seen("x_px"), seen("y_px")].map((all) => /** @type {number[]} */ (all).sort((a, b) => a - b));
    if (xs.length === 0) return { x: 0, y: 0, width: this.width_px, height: this.height_px };
    const [left, right, top, bottom] = [xs[0], xs[xs.length - 1], ys[0], ys[ys.length - 1]];
    const room = 0.12 * Math.max(right - left, bottom - top);
    return { x: left - room, y: top - room, width: right - left + 2 * room, height: bottom - top + 2 * room };
  }

  /**
   * @param {readonly string[]} names
   * @param {number} t_s
   * @returns {Record<string, Point> | null} in pixels of the video; null where one of them was lost
   */
  at(names, t_s) {
    const times = this.#json.t_s;
    const after = firstAfter(times, t_s);
    const before = after - 1;
    const near = (/** @type {number} */ i) => i >= 0 && i < times.length && Math.abs(times[i] - t_s) <= 0.75 * this.#step_s;
    if (before >= 0 && after < times.length && times[after] - times[before] <= GAP_STEPS * this.#step_s) {
      const share = (t_s - times[before]) / (times[after] - times[before]);
      const both = this.#between(names, before, after, share);
      if (both) return both;
    }
    const nearer = [before, after].filter(near).sort((a, b) => Math.abs(times[a] - t_s) - Math.abs(times[b] - t_s));
    for (const i of nearer) {
      const there = this.#between(names, i, i, 0);
      if (there) return there;
    }
    return null;
  }

  /** @param {readonly string[]} names @param {number} i @param {number} j @param {number} share of the way from i to j */
  #between(names, i, j, share) {
    /** @type {Record<string, Point>} */
    const points = {};
    for (const name of names) {
      const mark = this.#json.landmarks[name];
      const ends = mark && [mark.x_px[i], mark.y_px[i], mark.x_px[j], mark.y_px[j]];
      if (!ends || ends.some((one) => one === null)) return null;
      const [x0, y0, x1, y1] = /** @type {number[]} */ (ends);
      points[name] = { x: x0 + share * (x1 - x0), y: y0 + share * (y1 - y0) };
    }
    return points;
  }
}

/** @param {readonly number[]} times sorted @param {number} t_s @returns {number} index of the first that is later */
export function firstAfter(times, t_s) {
  let low = 0;
  let high = times.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (times[middle] <= t_s) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** @param {readonly number[]} times @returns {number} the middle one of the steps [s] */
export function usualStep(times) {
  const steps = times.slice(1).map((t, i) => t - times[i]).sort((a, b) => a - b);
  return steps.length > 0 ? steps[steps.length >> 1] : 1 / 30;
}
