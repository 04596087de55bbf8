/**
 * How errors of landmarks become errors of measures; see `chordline.core.geometry.propagation`.
 *
 * @typedef {import("./body.js").Body} Body
 */

import { gaussianPoints, FEW_DIMENSIONS, MANY_DIMENSIONS } from "./gaussian_points.js";
import { fitCurve } from "./curve.js";

/** Step of the central differences [px]. */
const STEP_PX = 0.01;

/**
 * Derivatives of measures by the coordinates of landmarks, each times the landmark's error.
 *
 * @param {Body} body
 * @param {readonly string[]} names landmarks to move
 * @param {(name: string) => number} sdPx error of a landmark along each axis [px]
 * @param {readonly ((body: Body) => number)[]} measures
 * @returns {Float64Array[]} one row a measure, two numbers a landmark [unit of the measure]
 */
export function scaledJacobian(body, names, sdPx, measures) {
  const points = { ...body.points };
  const moved = { ...body, points };
  const rows = measures.map(() => new Float64Array(2 * names.length));
  const ahead = new Float64Array(measures.length);
  names.forEach((name, i) => {
    const home = points[name];
    const sd = sdPx(name);
    for (let axis = 0; axis < 2; axis += 1) {
      const dx = axis === 0 ? STEP_PX : 0;
      const dy = axis === 0 ? 0 : STEP_PX;
      points[name] = { x: home.x + dx, y: home.y + dy };
      for (let m = 0; m < measures.length; m += 1) ahead[m] = measures[m](moved);
      points[name] = { x: home.x - dx, y: home.y - dy };
      for (let m = 0; m < measures.length; m += 1) {
        rows[m][2 * i + axis] = ((ahead[m] - measures[m](moved)) / (2 * STEP_PX)) * sd;
      }
    }
    points[name] = home;
  });
  return rows;
}

/** @param {Float64Array} a @param {Float64Array} b @returns {number} covariance of two rows. */
export function covarianceOf(a, b) {
  let sum = 0;
  for (let i = 0; i < a.length; i += 1) sum += a[i] * b[i];
  return sum;
}

/**
 * Errors of measures with a kink that rest on up to three measures.
 *
 * @param {readonly number[]} mean values of the measures they rest on
 * @param {readonly Float64Array[]} rows their scaled Jacobian
 * @param {readonly ((values: ArrayLike<number>) => number)[]} rules
 * @returns {number[]} sd of each
 */
export function kinkedSds(mean, rows, rules) {
  const d = mean.length;
  const root = new Float64Array(d * d);
  for (let i = 0; i < d; i += 1) {
    for (let j = 0; j <= i; j += 1) {
      let sum = covarianceOf(rows[i], rows[j]);
      for (let k = 0; k < j; k += 1) sum -= root[i * d + k] * root[j * d + k];
      // Measures that hang together leave nothing of their own: that root is 0, not the root of −0.
      if (i === j) root[i * d + j] = sum > 1e-14 * covarianceOf(rows[i], rows[i]) ? Math.sqrt(sum) : 0;
      else root[i * d + j] = root[j * d + j] > 0 ? sum / root[j * d + j] : 0;
    }
  }
  const { at, weight } = gaussianPoints(d, FEW_DIMENSIONS);
  const half = FEW_DIMENSIONS / 2;
  const ahead = new Float64Array(d);
  const behind = new Float64Array(d);
  const centre = rules.map((rule) => rule(mean));
  const means = new Float64Array(rules.length);
  const squares = new Float64Array(rules.length);
  for (let n = 0; n < half; n += 1) {
    // Point n and its mirror image in the second half have one weight.
    for (let i = 0; i < d; i += 1) {
      let off = 0;
      for (let k = 0; k <= i; k += 1) off += root[i * d + k] * at[n * d + k];
      ahead[i] = mean[i] + off;
      behind[i] = mean[i] - off;
    }
    for (let r = 0; r < rules.length; r += 1) {
      const a = rules[r](ahead) - centre[r];
      const b = rules[r](behind) - centre[r];
      means[r] += weight[n] * (a + b);
      squares[r] += weight[n] * (a * a + b * b);
    }
  }
  return Array.from(means, (m, r) => Math.sqrt(Math.max(squares[r] - m * m, 0)));
}

/**
 * Error of a measure that is not straight in a few landmarks.
 *
 * @param {Body} body
 * @param {readonly string[]} names the landmarks it rests on
 * @param {(name: string) => number} sdPx [px]
 * @param {(body: Body) => number} measure
 * @returns {number} sd
 */
export function sampledSd(body, names, sdPx, measure) {
  const d = 2 * names.length;
  const normal = gaussianPoints(d, FEW_DIMENSIONS);
  const points = { ...body.points };
  const moved = { ...body, points };
  const [sd] = momentsOf(normal.weight, 1, (n, out) => {
    names.forEach((name, i) => {
      const home = body.points[name];
      const spread = sdPx(name);
      points[name] = {
        x: home.x + spread * normal.at[n * d + 2 * i],
        y: home.y + spread * normal.at[n * d + 2 * i + 1],
      };
    });
    out[0] = measure(moved);
  });
  return sd;
}

/**
 * Errors of what is read off a curve: its marks stand too close for a first derivative.
 *
 * @param {readonly {x: number, y: number}[]} points [px]
 * @param {readonly number[]} sdPx [px]
 * @param {number} degree
 * @param {readonly ((curve: import("./curve.js").Curve) => number)[]} readers
 * @returns {number[]} sd of each reader, in its unit
 */
export function curveSds(points, sdPx, degree, readers) {
  const k = points.length;
  const normal = gaussianPoints(2 * k, MANY_DIMENSIONS);
  const x = new Float64Array(k);
  const y = new Float64Array(k);
  return momentsOf(normal.weight, readers.length, (n, out) => {
    for (let i = 0; i < k; i += 1) {
      x[i] = points[i].x + sdPx[i] * normal.at[2 * (n * k + i)];
      y[i] = points[i].y + sdPx[i] * normal.at[2 * (n * k + i) + 1];
    }
    const curve = fitCurve(x, y, degree);
    for (let r = 0; r < readers.length; r += 1) out[r] = readers[r](curve);
  });
}

/**
 * @param {Float64Array} weight of each point; they sum to 1
 * @param {number} width
 * @param {(n: number, out: Float64Array) => void} evaluate
 * @returns {number[]} standard deviation of each column
 */
function momentsOf(weight, width, evaluate) {
  const out = new Float64Array(width);
  const first = new Float64Array(width);
  const mean = new Float64Array(width);
  const squares = new Float64Array(width);
  for (let n = 0; n < weight.length; n += 1) {
    evaluate(n, out);
    if (n === 0) first.set(out);
    for (let r = 0; r < width; r += 1) {
      const off = out[r] - first[r];
      mean[r] += weight[n] * off;
      squares[r] += weight[n] * off * off;
    }
  }
  return Array.from(mean, (m, r) => Math.sqrt(Math.max(squares[r] - m * m, 0)));
}
