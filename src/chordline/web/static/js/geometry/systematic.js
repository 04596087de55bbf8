/**
 * Errors that a second photo would repeat; see `chordline.core.body.systematic`.
 *
 * @typedef {import("./body.js").Body} Body
 * @typedef {import("./angles.js").Point} Point
 *
 * @typedef {object} View Where the phone stood, as far as it is known.
 * @property {{value: number, sd: number}} yaw_rad turn of her plane out of the picture plane
 * @property {{value: number, sd: number}} pitch_rad turn of the camera up or down
 * @property {[number, number]} ahead_px vanishing point of the plane's normal [px]
 * @property {number} ahead_sd_px error of that point along the upright [px]
 * @property {number} distance_m
 * @property {Record<string, number>} half_breadth_m landmark → towards the camera [m]
 * @property {number} definition_pct offset of a mark from its joint [% of the chord]
 */

import { withPoints, curveOf } from "./body.js";
import { computeMeasure } from "./measures.js";
import { covarianceOf, scaledJacobian } from "./propagation.js";

/**
 * @param {Body} body
 * @param {View} view
 * @param {readonly string[]} names measures that the body has
 * @returns {Record<string, Record<string, number>>} measure → source of error → sd
 */
export function systematicErrors(body, view, names) {
  const rms = (/** @type {{value: number, sd: number}} */ e) => Math.hypot(e.value, e.sd);
  const home = names.map((name) => computeMeasure(body, name));
  const change = (/** @type {Body} */ to, from = home) =>
    names.map((name, i) => Math.abs(computeMeasure(to, name) - from[i]));

  const yaw = change(stretched(body, 1, 1 / Math.cos(rms(view.yaw_rad))));
  const pitch = change(stretched(body, 1 / Math.cos(rms(view.pitch_rad)), 1));

  const [upX, upY] = body.frame.up;
  const share = (/** @type {string} */ name) => (view.half_breadth_m[name] ?? 0) / view.distance_m;
  const nearer = movedPoints(body, (p, name) => ({
    x: p.x - share(name) * (p.x - view.ahead_px[0]),
    y: p.y - share(name) * (p.y - view.ahead_px[1]),
  }));
  const raised = movedPoints(nearer, (p, name) => ({
    x: p.x + share(name) * view.ahead_sd_px * upX,
    y: p.y + share(name) * view.ahead_sd_px * upY,
  }));
  const squared = change(nearer);
  const aside = change(raised, names.map((name) => computeMeasure(nearer, name)));

  const joints = Object.keys(body.points).filter((name) => curveOf(name) === null);
  const [start, end] = [body.points[body.chord[0]], body.points[body.chord[body.chord.length - 1]]];
  const chordPx = start && end ? Math.hypot(end.x - start.x, end.y - start.y) : 0;
  const definitionPx = (view.definition_pct / 100) * chordPx;
  const rows = scaledJacobian(
    body,
    joints,
    () => definitionPx,
    names.map((name) => (/** @type {Body} */ moved) => computeMeasure(moved, name)),
  );
  return Object.fromEntries(
    names.map((name, i) => [
      name,
      {
        yaw: yaw[i],
        pitch: pitch[i],
        near_side_parallax: Math.hypot(squared[i], aside[i]),
        landmark_definition: Math.sqrt(covarianceOf(rows[i], rows[i])),
      },
    ]),
  );
}

/** @param {Body} body @param {number} alongUp @param {number} acrossUp @returns {Body} */
function stretched(body, alongUp, acrossUp) {
  const [upX, upY] = body.frame.up;
  return movedPoints(body, ({ x, y }) => {
    const up = (x * upX + y * upY) * alongUp;
    const right = (x * -upY + y * upX) * acrossUp;
    return { x: up * upX - right * upY, y: up * upY + right * upX };
  });
}

/** @param {Body} body @param {(p: Point, name: string) => Point} move @returns {Body} */
function movedPoints(body, move) {
  return withPoints(
    body,
    Object.fromEntries(Object.entries(body.points).map(([name, p]) => [name, move(p, name)])),
  );
}

/** @param {number} sd random @param {Record<string, number>} [terms] @returns {number} both. */
export function totalSd(sd, terms = {}) {
  return Math.sqrt(Object.values(terms).reduce((sum, term) => sum + term * term, sd * sd));
}
