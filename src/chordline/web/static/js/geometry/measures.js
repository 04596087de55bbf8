/**
 * Every measure of a side view, as `chordline.core.body.measures` computes it.
 *
 * Degrees, percent and centimetres. A measure whose landmarks are missing is NaN.
 *
 * @typedef {import("./body.js").Body} Body
 * @typedef {import("./curve.js").Curve} Curve
 *
 * @typedef {object} CurveRule How a measure is read off a fitted curve.
 * @property {string} curve
 * @property {number} degree
 * @property {(fitted: Curve, facing: number) => number} read
 *
 * @typedef {object} Measuring
 * @property {string} unit `deg`, `pct` or `cm`
 * @property {(body: Body) => number} compute
 * @property {boolean} straight whether it changes in proportion to the landmarks within their errors
 * @property {CurveRule} [rule] of a measure that rests on a curve alone
 * @property {string[]} [of] landmarks of a measure with a kink of its own
 *
 * @typedef {object} Derived A measure of other measures with a kink.
 * @property {string} unit
 * @property {string[]} of
 * @property {(values: ArrayLike<number>) => number} compute
 */

import { DEG_PER_RAD, jointOpening, subtract, turnTowardsFront } from "./angles.js";
import { MIN_CURVE_POINTS } from "./body.js";
import { bowFraction, largestBow, rmsBow } from "./chord.js";
import { DEGREE, fitCurve, sagittaFraction, turning } from "./curve.js";

/** The arm ends at the first of these that is marked. */
const ARM_ENDS = ["wrist", "elbow", "hand"];
const MISSING = Object.freeze({ x: NaN, y: NaN });

/** @param {Body} body @param {string} name */
function at(body, name) {
  return body.points[name] ?? MISSING;
}

/** A joint's opening in −270…90: no joint opens a quarter turn past straight. @param {number} rad */
function anatomicalDeg(rad) {
  const degrees = rad * DEG_PER_RAD;
  return degrees > 90 ? degrees - 360 : degrees;
}

/** @returns {Measuring} */
function opening(/** @type {string} */ caudal, /** @type {string} */ joint, /** @type {string} */ cranial, sense = 1) {
  return {
    unit: "deg",
    straight: true,
    compute: (body) =>
      anatomicalDeg(
        sense * jointOpening(at(body, caudal), at(body, joint), at(body, cranial), body.facing),
      ),
  };
}

/** @param {Body} body */
function shoulderOpening(body) {
  const end = ARM_ENDS.find((name) => name in body.points) ?? "wrist";
  return anatomicalDeg(
    jointOpening(at(body, "hip"), at(body, "shoulder"), at(body, end), body.facing),
  );
}

/** @returns {Measuring} */
function bow(/** @type {string} */ landmark) {
  return {
    unit: "pct",
    straight: true,
    compute: (body) => {
      const last = body.chord.length - 1;
      const place = body.chord.indexOf(landmark);
      if (place < 1 || place >= last) return NaN;
      const [start, end] = [at(body, body.chord[0]), at(body, body.chord[last])];
      return 100 * bowFraction(at(body, landmark), start, end, body.facing);
    },
  };
}

/** Rise of a line above the horizontal, −90 to 90. @returns {Measuring} */
function fromHorizontal(/** @type {string} */ caudal, /** @type {string} */ cranial) {
  return {
    unit: "deg",
    straight: false,
    of: [caudal, cranial],
    compute: (body) => {
      const line = subtract(at(body, cranial), at(body, caudal));
      if (line.x === 0 && line.y === 0) return NaN;
      const [upX, upY] = body.frame.up;
      const up = line.x * upX + line.y * upY;
      const right = line.x * -upY + line.y * upX;
      return DEG_PER_RAD * Math.atan2(up, Math.abs(right));
    },
  };
}

/** Tilt from the vertical, upside-down, positive when the feet tip to the front. @returns {Measuring} */
function fromVertical(/** @type {string | null} */ cranial) {
  return {
    unit: "deg",
    straight: true,
    compute: (body) => {
      const end = cranial ?? body.chord[body.chord.length - 1];
      const towardsHead = subtract(at(body, end), at(body, body.chord[0]));
      const down = { x: -body.frame.up[0], y: -body.frame.up[1] };
      return -DEG_PER_RAD * turnTowardsFront(down, towardsHead, body.facing);
    },
  };
}

/** @param {Body} body */
function neckFlexion(body) {
  const axis = subtract(at(body, "shoulder"), at(body, "hip"));
  const neck = subtract(at(body, "ear"), at(body, "shoulder"));
  return DEG_PER_RAD * turnTowardsFront(axis, neck, body.facing);
}

/** @param {Body} body */
function earAboveShoulder(body) {
  const axis = subtract(at(body, "shoulder"), at(body, "hip"));
  const neck = subtract(at(body, "ear"), at(body, "shoulder"));
  return (100 * (neck.x * axis.x + neck.y * axis.y)) / (axis.x * axis.x + axis.y * axis.y);
}

/** @param {Body} body */
function hipHeight({ points, frame }) {
  if (frame.m_per_px === null || frame.floor_px === null || !points.hip) return NaN;
  const [x, y] = [points.hip.x - frame.floor_px[0], points.hip.y - frame.floor_px[1]];
  return 100 * (x * frame.up[0] + y * frame.up[1]) * frame.m_per_px;
}

/** @returns {Measuring} */
function ofCurve(/** @type {string} */ unit, /** @type {CurveRule} */ rule) {
  return {
    unit,
    straight: false,
    rule,
    compute: (body) => {
      const names = body.curves[rule.curve] ?? [];
      if (names.length < MIN_CURVE_POINTS) return NaN;
      const x = names.map((name) => body.points[name].x);
      const y = names.map((name) => body.points[name].y);
      return rule.read(fitCurve(x, y, rule.degree), body.facing);
    },
  };
}

/** @returns {Measuring} */
function turnOfCurve(/** @type {string} */ curve, /** @type {number} */ start, /** @type {number} */ end, degree = DEGREE) {
  return ofCurve("deg", {
    curve,
    degree,
    read: (fitted, facing) => DEG_PER_RAD * turning(fitted, start, end, facing),
  });
}

/** @type {Readonly<Record<string, Measuring>>} */
export const MEASURES = Object.freeze({
  shoulder_opening_deg: { unit: "deg", straight: true, compute: shoulderOpening },
  hip_opening_deg: opening("knee", "hip", "shoulder"),
  knee_opening_deg: opening("malleolus", "knee", "hip", -1),
  elbow_opening_deg: opening("shoulder", "elbow", "wrist", -1),
  bow_knee_pct: bow("knee"),
  bow_hip_pct: bow("hip"),
  bow_shoulder_pct: bow("shoulder"),
  neck_flexion_deg: { unit: "deg", straight: true, compute: neckFlexion },
  ear_above_shoulder_pct: { unit: "pct", straight: true, compute: earAboveShoulder },
  hip_height_cm: { unit: "cm", straight: true, compute: hipHeight },
  legs_above_horizontal_deg: fromHorizontal("hip", "malleolus"),
  trunk_above_horizontal_deg: fromHorizontal("hip", "shoulder"),
  line_from_vertical_deg: fromVertical(null),
  trunk_from_vertical_deg: fromVertical("shoulder"),
  upper_back_hollow_deg: turnOfCurve("back", 0.5, 1),
  lower_back_hollow_deg: turnOfCurve("back", 0, 0.5),
  seam_bow_pct: ofCurve("pct", {
    curve: "seam",
    degree: DEGREE,
    read: (fitted, facing) => 100 * sagittaFraction(fitted, facing),
  }),
  seam_hollow_deg: turnOfCurve("seam", 0, 1),
  trunk_hollow_deg: turnOfCurve("belly", 0, 1, 2),
});

const BOWS = ["bow_knee_pct", "bow_hip_pct", "bow_shoulder_pct"];

/** @type {Readonly<Record<string, Derived>>} */
export const DERIVED = Object.freeze({
  bow_max_pct: { unit: "pct", of: BOWS, compute: largestBow },
  bow_rms_pct: { unit: "pct", of: BOWS, compute: rmsBow },
  off_vertical_deg: {
    unit: "deg",
    of: ["line_from_vertical_deg"],
    compute: (values) => Math.abs(values[0]),
  },
});

/** @param {string} name @returns {string} the unit of a measure. */
export function unitOf(name) {
  return (MEASURES[name] ?? DERIVED[name]).unit;
}

/**
 * @param {Body} body
 * @param {string} name a measure of `MEASURES` or `DERIVED`
 * @returns {number} in the unit that its name carries; NaN where its landmarks are missing.
 */
export function computeMeasure(body, name) {
  if (name in MEASURES) return MEASURES[name].compute(body);
  const known = DERIVED[name].of
    .map((part) => MEASURES[part].compute(body))
    .filter((value) => !Number.isNaN(value));
  return known.length > 0 ? DERIVED[name].compute(known) : NaN;
}
