/**
 * Curves through a row of marked points: the outline of the back, the seam of the trunk.
 *
 * The least-squares polynomial of `chordline.core.geometry.curve`, over the normalised length along
 * the points. It is found through polynomials that are orthogonal over those places, so no matrix
 * is inverted; the fit is the same.
 */

import { frontOf, turnTowardsFront } from "./angles.js";

/** @typedef {import("./angles.js").Point} Point */
/**
 * @typedef {{x: Float64Array, y: Float64Array}} Curve
 *   x and y [px] as polynomials of t in 0…1, lowest power first.
 */

export const DEGREE = 3;
const SAMPLES = 101;

/**
 * Fit a curve.
 *
 * @param {ArrayLike<number>} x k > degree places in order, caudal end first [px]
 * @param {ArrayLike<number>} y [px]
 * @param {number} [degree] 2 for a plain arc
 * @returns {Curve} with NaN coefficients where fewer than degree + 1 places differ.
 */
export function fitCurve(x, y, degree = DEGREE) {
  const count = x.length;
  const fitted = { x: new Float64Array(degree + 1), y: new Float64Array(degree + 1) };
  const t = new Float64Array(count);
  let steps = 0;
  for (let i = 1; i < count; i += 1) {
    const step = Math.hypot(x[i] - x[i - 1], y[i] - y[i - 1]);
    if (step > 0) steps += 1;
    t[i] = t[i - 1] + step;
  }
  const length = t[count - 1];
  if (!(steps >= degree) || !Number.isFinite(length)) {
    fitted.x.fill(NaN);
    fitted.y.fill(NaN);
    return fitted;
  }
  for (let i = 1; i < count; i += 1) t[i] /= length;

  // p[j+1](t) = (t − a[j])·p[j](t) − b[j]·p[j−1](t), as values at the places and as powers of t.
  let before = new Float64Array(count);
  let now = new Float64Array(count).fill(1);
  let powersBefore = new Float64Array(degree + 1);
  let powers = new Float64Array(degree + 1);
  powers[0] = 1;
  let normBefore = 1;
  for (let j = 0; j <= degree; j += 1) {
    let norm = 0;
    let moment = 0;
    let alongX = 0;
    let alongY = 0;
    for (let i = 0; i < count; i += 1) {
      const squared = now[i] * now[i];
      norm += squared;
      moment += squared * t[i];
      alongX += now[i] * x[i];
      alongY += now[i] * y[i];
    }
    for (let k = 0; k <= j; k += 1) {
      fitted.x[k] += (alongX / norm) * powers[k];
      fitted.y[k] += (alongY / norm) * powers[k];
    }
    if (j === degree) break;
    const a = moment / norm;
    const b = j === 0 ? 0 : norm / normBefore;
    for (let i = 0; i < count; i += 1) {
      const next = (t[i] - a) * now[i] - b * before[i];
      before[i] = now[i];
      now[i] = next;
    }
    for (let k = degree; k >= 0; k -= 1) {
      const next = (k > 0 ? powers[k - 1] : 0) - a * powers[k] - b * powersBefore[k];
      powersBefore[k] = powers[k];
      powers[k] = next;
    }
    normBefore = norm;
  }
  return fitted;
}

/** @param {Float64Array} powers @param {number} t */
function valueAt(powers, t) {
  let value = 0;
  for (let k = powers.length - 1; k >= 0; k -= 1) value = value * t + powers[k];
  return value;
}

/** @param {Float64Array} powers @param {number} t */
function slopeAt(powers, t) {
  let slope = 0;
  for (let k = powers.length - 1; k > 0; k -= 1) slope = slope * t + k * powers[k];
  return slope;
}

/** @param {Curve} curve @param {number} t @returns {Point} a place on the curve [px]. */
export function pointAt(curve, t) {
  return { x: valueAt(curve.x, t), y: valueAt(curve.y, t) };
}

/** @param {Curve} curve @param {number} t @returns {Point} its derivative: towards the head. */
export function tangentAt(curve, t) {
  return { x: slopeAt(curve.x, t), y: slopeAt(curve.y, t) };
}

/**
 * Greatest distance of a curve from the line through its ends.
 *
 * @param {Curve} curve
 * @param {number} facing
 * @returns {number} fraction of the distance between the ends; positive bulges to the front.
 */
export function sagittaFraction(curve, facing) {
  const start = pointAt(curve, 0);
  const end = pointAt(curve, 1);
  const along = { x: end.x - start.x, y: end.y - start.y };
  const front = frontOf(along, facing);
  const offset = new Float64Array(curve.x.length);
  for (let k = 1; k < offset.length; k += 1) {
    offset[k] = curve.x[k] * front.x + curve.y[k] * front.y;
  }
  let greatest = 0;
  for (let i = 1; i < SAMPLES; i += 1) {
    const here = valueAt(offset, i / (SAMPLES - 1));
    if (Math.abs(here) > Math.abs(greatest) || Number.isNaN(here)) greatest = here;
  }
  return greatest / Math.hypot(along.x, along.y);
}

/**
 * How far the tangent turns between two places of a curve.
 *
 * @param {Curve} curve
 * @param {number} start 0 (caudal end) to 1 (cranial end)
 * @param {number} end
 * @param {number} facing
 * @returns {number} [rad], positive for a hollow back, negative for a rounded one.
 */
export function turning(curve, start, end, facing) {
  return -turnTowardsFront(tangentAt(curve, start), tangentAt(curve, end), facing);
}
