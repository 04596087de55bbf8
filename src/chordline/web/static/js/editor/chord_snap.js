/**
 * The one motion of the editor: the chord swings to where its ends have gone.
 *
 * @typedef {import("../geometry/angles.js").Point} Point
 * @typedef {[Point, Point]} Ends [screen px]
 */

const SWING_MS = 200;
const LEAST_PX = 3;

export class ChordSnap {
  #draw;
  #shown = /** @type {Ends | null} */ (null);
  #frame = 0;

  /** @param {(ends: Ends | null) => void} draw */
  constructor(draw) {
    this.#draw = draw;
  }

  /** @param {Ends | null} ends @param {{animate: boolean}} how */
  to(ends, { animate }) {
    cancelAnimationFrame(this.#frame);
    const from = this.#shown;
    const far = from && ends && Math.max(...ends.map((end, i) => apart(end, from[i]))) > LEAST_PX;
    if (!animate || !far || matchMedia("(prefers-reduced-motion: reduce)").matches) {
      this.#show(ends);
      return;
    }
    const began = performance.now();
    const step = (/** @type {number} */ now) => {
      const t = Math.min(1, Math.max(0, (now - began) / SWING_MS));
      const share = 1 - (1 - t) ** 3;
      this.#show(/** @type {Ends} */ (ends.map((end, i) => between(from[i], end, share))));
      if (t < 1) this.#frame = requestAnimationFrame(step);
    };
    this.#frame = requestAnimationFrame(step);
  }

  stop() {
    cancelAnimationFrame(this.#frame);
  }

  /** @param {Ends | null} ends */
  #show(ends) {
    this.#shown = ends;
    this.#draw(ends);
  }
}

/** @param {Point} a @param {Point} b */
function apart(a, b) {
  return Math.hypot(a.x - b.x, a.y - b.y);
}

/** @param {Point} a @param {Point} b @param {number} share @returns {Point} */
function between(a, b, share) {
  return { x: a.x + share * (b.x - a.x), y: a.y + share * (b.y - a.y) };
}
