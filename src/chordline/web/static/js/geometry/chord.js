/** The chord and the bow of the body from it; the same formulas as `chordline.core.geometry.chord`. */

import { frontOf, subtract } from "./angles.js";

/** @typedef {import("./angles.js").Point} Point */

/**
 * Signed distance of a point from a chord.
 *
 * @param {Point} point [px]
 * @param {Point} start end of the chord towards the feet [px]
 * @param {Point} end [px]
 * @param {number} facing +1 with the left side near the camera, −1 with the right
 * @returns {number} fraction of the chord's length, positive towards the front; NaN where the
 *   chord has no length.
 */
export function bowFraction(point, start, end, facing) {
  const along = subtract(end, start);
  const front = frontOf(along, facing);
  const offset = (point.x - start.x) * front.x + (point.y - start.y) * front.y;
  return offset / Math.hypot(along.x, along.y);
}

/** @param {ArrayLike<number>} bows @returns {number} the signed bow of largest magnitude. */
export function largestBow(bows) {
  let largest = NaN;
  for (let i = 0; i < bows.length; i += 1) {
    if (Number.isNaN(largest) || Math.abs(bows[i]) > Math.abs(largest)) largest = bows[i];
  }
  return largest;
}

/** @param {ArrayLike<number>} bows @returns {number} root mean square of the bows. */
export function rmsBow(bows) {
  let total = 0;
  for (let i = 0; i < bows.length; i += 1) total += bows[i] * bows[i];
  return Math.sqrt(total / bows.length);
}
