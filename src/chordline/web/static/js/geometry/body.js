/**
 * Landmarks of one body with their names: the input of every measure.
 *
 * Names, senses and limits are those of `chordline.conventions`.
 *
 * @typedef {import("./angles.js").Point} Point
 * @typedef {"left" | "right"} Side
 * @typedef {"up" | "down" | "left" | "right"} Front
 *
 * @typedef {object} Frame Gravity, and floor and scale where they are known.
 * @property {[number, number]} up unit vector against gravity in the photo frame
 * @property {number | null} m_per_px
 * @property {[number, number] | null} floor_px a point of the floor line in her plane [px]
 *
 * @typedef {object} Body
 * @property {Record<string, Point>} points landmarks and curve points that are there [px]
 * @property {number} facing +1 with the left side near the camera, −1 with the right
 * @property {string[]} chord landmarks along the body from the chord's first end to its last
 * @property {Frame} frame
 * @property {Record<string, string[]>} curves names of the points of each curve in order
 */

import { frontOf } from "./angles.js";

export const LANDMARKS = Object.freeze([
  "malleolus", "knee", "hip", "shoulder", "elbow", "wrist", "hand", "ear", "heel", "toe",
]);
export const CURVES = Object.freeze(["back", "seam", "belly"]);
export const MIN_CURVE_POINTS = 4;

/** @type {Frame} */
export const LEVEL_PHONE = Object.freeze({ up: [0, -1], m_per_px: null, floor_px: null });

/** @param {Side} nearSide @returns {number} +1 for the left side near the camera, else −1. */
export function facingOf(nearSide) {
  return nearSide === "left" ? 1 : -1;
}

/** @param {string} name @returns {string | null} the curve that a point such as `seam_3` is on. */
export function curveOf(name) {
  const found = /^(.+)_(\d+)$/.exec(name);
  return found && CURVES.includes(found[1]) && Number(found[2]) >= 1 ? found[1] : null;
}

/** @param {string} curve @param {Iterable<string>} names @returns {string[]} its points in order. */
export function curvePoints(curve, names) {
  return [...names]
    .filter((name) => curveOf(name) === curve)
    .sort((a, b) => Number(a.slice(curve.length + 1)) - Number(b.slice(curve.length + 1)));
}

/**
 * The chord for the landmarks there are: wrist and hand stand in for each other.
 *
 * @param {readonly string[]} chord
 * @param {Record<string, unknown>} marked
 * @returns {string[]}
 */
export function chordAmong(chord, marked) {
  const end = chord[chord.length - 1];
  const other = { wrist: "hand", hand: "wrist" }[end];
  return other && !(end in marked) && other in marked ? [...chord.slice(0, -1), other] : [...chord];
}

/**
 * @param {object} parts
 * @param {Record<string, {x_px: number, y_px: number}>} parts.landmarks
 * @param {number} parts.facing
 * @param {readonly string[]} parts.chord as the test has it
 * @param {Frame} [parts.frame]
 * @returns {Body}
 */
export function makeBody({ landmarks, facing, chord, frame = LEVEL_PHONE }) {
  /** @type {Record<string, Point>} */
  const points = {};
  for (const [name, mark] of Object.entries(landmarks)) {
    points[name] = { x: mark.x_px, y: mark.y_px };
  }
  const curves = Object.fromEntries(
    CURVES.map((curve) => [curve, curvePoints(curve, Object.keys(points))]),
  );
  return { points, facing, chord: chordAmong(chord, points), frame, curves };
}

/** @param {Body} body @param {Record<string, Point>} points @returns {Body} the same elsewhere. */
export function withPoints(body, points) {
  return { ...body, points };
}

const PICTURE = /** @type {const} */ ({ up: [0, -1], down: [0, 1], left: [-1, 0], right: [1, 0] });

/**
 * The picture's direction to which the belly faces.
 *
 * @param {Point} cranial direction from hip to shoulder
 * @param {number} facing
 * @returns {Front}
 */
export function frontWord(cranial, facing) {
  const front = frontOf(cranial, facing);
  const words = /** @type {Front[]} */ (Object.keys(PICTURE));
  const towards = (/** @type {Front} */ word) => front.x * PICTURE[word][0] + front.y * PICTURE[word][1];
  return words.reduce((best, word) => (towards(word) > towards(best) ? word : best));
}
