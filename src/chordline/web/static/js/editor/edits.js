/**
 * What a coach can do to marks: each returns new marks and leaves the old ones alone.
 *
 * @typedef {import("./store.js").Marks} Marks
 * @typedef {import("./store.js").Mark} Mark
 * @typedef {import("../geometry/angles.js").Point} Point
 */

import { curveOf, curvePoints } from "../geometry/body.js";

/**
 * Put a landmark somewhere; it is a hand's mark from then on.
 *
 * @param {Marks} marks
 * @param {string} name
 * @param {Point} at [photo px]; brought inside the photo
 * @param {{photo: {width_px: number, height_px: number}, sdPx: number}} how
 * @returns {Marks}
 */
export function placeMark(marks, name, at, { photo, sdPx }) {
  const x_px = inside(at.x, photo.width_px);
  const y_px = inside(at.y, photo.height_px);
  const was = marks.landmarks[name];
  if (was && was.x_px === x_px && was.y_px === y_px) return marks;
  /** @type {Mark} */
  const mark = { x_px, y_px, sd_px: sdPx, origin: "hand" };
  return { ...marks, landmarks: { ...marks.landmarks, [name]: mark } };
}

/** @param {number} place @param {number} size @returns {number} to a hundredth of a pixel. */
function inside(place, size) {
  return Math.round(Math.min(size - 1, Math.max(0, place)) * 100) / 100;
}

/** @param {Marks} marks @returns {Marks} seen from the other side. */
export function flipSide(marks) {
  return { ...marks, nearSide: marks.nearSide === "left" ? "right" : "left" };
}

/**
 * Take a landmark away; the points of a curve close up.
 *
 * @param {Marks} marks @param {string} name @returns {Marks}
 */
export function removeMark(marks, name) {
  const { [name]: gone, ...rest } = marks.landmarks;
  if (!gone) return marks;
  const curve = curveOf(name);
  if (curve === null) return { ...marks, landmarks: rest };
  const row = curvePoints(curve, Object.keys(rest)).map((each) => rest[each]);
  return withCurve({ ...marks, landmarks: rest }, curve, row);
}

/**
 * Add a point to a curve where it lengthens the row least.
 *
 * @param {Marks} marks
 * @param {string} curve
 * @param {Point} at [photo px]
 * @param {{photo: {width_px: number, height_px: number}, sdPx: number}} how
 * @returns {{marks: Marks, name: string}} and what the new point is called.
 */
export function addCurvePoint(marks, curve, at, { photo, sdPx }) {
  /** @type {Mark} */
  const mark = {
    x_px: inside(at.x, photo.width_px),
    y_px: inside(at.y, photo.height_px),
    sd_px: sdPx,
    origin: "hand",
  };
  const row = curvePoints(curve, Object.keys(marks.landmarks)).map((name) => marks.landmarks[name]);
  let best = { place: row.length, detour: Infinity };
  for (let place = 0; place <= row.length; place += 1) {
    const [before, after] = [row[place - 1], row[place]];
    const through = (before ? apart(before, mark) : 0) + (after ? apart(mark, after) : 0);
    const detour = through - (before && after ? apart(before, after) : 0);
    if (detour < best.detour) best = { place, detour };
  }
  const longer = [...row.slice(0, best.place), mark, ...row.slice(best.place)];
  const ordered = headwards(longer, marks) ? longer : longer.reverse();
  return {
    marks: withCurve(marks, curve, ordered),
    name: `${curve}_${ordered.indexOf(mark) + 1}`,
  };
}

/** Whether a row runs from the hip towards the shoulder. @param {Mark[]} row @param {Marks} marks */
function headwards(row, { landmarks: { hip, shoulder } }) {
  if (row.length < 2 || !hip || !shoulder) return true;
  const [first, last] = [row[0], row[row.length - 1]];
  const along = (last.x_px - first.x_px) * (shoulder.x_px - hip.x_px);
  return along + (last.y_px - first.y_px) * (shoulder.y_px - hip.y_px) >= 0;
}

/** @param {Marks} marks @param {string} curve @param {readonly Mark[]} row @returns {Marks} */
function withCurve(marks, curve, row) {
  const others = Object.entries(marks.landmarks).filter(([name]) => curveOf(name) !== curve);
  const points = row.map((mark, i) => [`${curve}_${i + 1}`, mark]);
  return { ...marks, landmarks: Object.fromEntries([...others, ...points]) };
}

/** @param {Mark} a @param {Mark} b @returns {number} [photo px] */
function apart(a, b) {
  return Math.hypot(a.x_px - b.x_px, a.y_px - b.y_px);
}
