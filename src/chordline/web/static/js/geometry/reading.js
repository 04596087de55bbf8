/**
 * Measures of one body with their random error; see `chordline.core.body.reading`.
 *
 * @typedef {import("./body.js").Body} Body
 * @typedef {Record<string, {value: number, sd: number}>} Reading
 *   only the measures whose landmarks are there, each in the unit that its name carries
 */

import { curveOf } from "./body.js";
import { DERIVED, MEASURES } from "./measures.js";
import { covarianceOf, curveSds, kinkedSds, sampledSd, scaledJacobian } from "./propagation.js";

/**
 * A reader that remembers what has not changed since the last body: while a joint is dragged, the
 * sampled errors of the curves stay as they are. `live` keeps them while a curve itself is dragged;
 * its value follows at once, its error (which hardly moves) when it is let go.
 *
 * @returns {(body: Body, sdPx: Record<string, number>, wanted: readonly string[],
 *   how?: {live?: boolean}) => Reading}
 */
export function createReader() {
  /** @type {Map<string, {inputs: number[], sd: number}>} */
  const remembered = new Map();

  /** @param {string} key @param {number[]} inputs @param {boolean} live @param {() => number} compute */
  function remember(key, inputs, live, compute) {
    const last = remembered.get(key);
    if (last && (live || sameNumbers(last.inputs, inputs))) return last.sd;
    const sd = compute();
    remembered.set(key, { inputs, sd });
    return sd;
  }

  /** @param {Body} body @param {Record<string, number>} sdPx @param {string} name @param {boolean} live */
  function bentSd(body, sdPx, name, live) {
    const { rule, of, compute } = MEASURES[name];
    const names = rule ? body.curves[rule.curve] : of;
    const inputs = [body.facing, ...body.frame.up];
    for (const each of names) inputs.push(body.points[each].x, body.points[each].y, sdPx[each]);
    if (!rule) {
      return remember(name, inputs, false, () =>
        sampledSd(body, names, (each) => sdPx[each], compute),
      );
    }
    return remember(name, inputs, live, () => {
      const points = names.map((each) => body.points[each]);
      const sds = names.map((each) => sdPx[each]);
      return curveSds(points, sds, rule.degree, [(fitted) => rule.read(fitted, body.facing)])[0];
    });
  }

  return (body, sdPx, wanted, { live = false } = {}) => {
    /** @type {Map<string, number>} */
    const values = new Map();
    const parents = wanted.flatMap((name) => (name in DERIVED ? DERIVED[name].of : []));
    for (const name of [...wanted, ...parents]) {
      if (!(name in MEASURES) || values.has(name)) continue;
      const value = MEASURES[name].compute(body);
      if (Number.isFinite(value)) values.set(name, value);
    }
    const straight = [...values.keys()].filter((name) => MEASURES[name].straight);
    const joints = Object.keys(body.points).filter((name) => curveOf(name) === null);
    const rows = scaledJacobian(
      body,
      joints,
      (name) => sdPx[name],
      straight.map((name) => MEASURES[name].compute),
    );
    const rowOf = new Map(straight.map((name, i) => [name, rows[i]]));

    /** @type {Reading} */
    const reading = {};
    for (const name of wanted) {
      const value = values.get(name);
      if (value !== undefined) {
        const row = rowOf.get(name);
        const sd = row ? Math.sqrt(covarianceOf(row, row)) : bentSd(body, sdPx, name, live);
        reading[name] = { value, sd };
      }
    }
    const derived = readDerived(wanted, values, rowOf);
    for (const name of wanted) if (derived.has(name)) reading[name] = derived.get(name);
    return inOrder(reading, wanted);
  };
}

/**
 * @param {readonly string[]} wanted
 * @param {Map<string, number>} values
 * @param {Map<string, Float64Array>} rowOf
 * @returns {Map<string, {value: number, sd: number}>}
 */
function readDerived(wanted, values, rowOf) {
  /** @type {Map<string, string[]>} measures that rest on the same ones are sampled together */
  const groups = new Map();
  for (const name of wanted) {
    if (!(name in DERIVED)) continue;
    const of = DERIVED[name].of.filter((part) => values.has(part));
    if (of.length > 0) groups.set(of.join(), [...(groups.get(of.join()) ?? []), name]);
  }
  /** @type {Map<string, {value: number, sd: number}>} */
  const read = new Map();
  for (const [key, names] of groups) {
    const of = key.split(",");
    const mean = of.map((part) => values.get(part));
    const rules = names.map((name) => DERIVED[name].compute);
    const sds = kinkedSds(mean, of.map((part) => rowOf.get(part)), rules);
    names.forEach((name, i) => read.set(name, { value: rules[i](mean), sd: sds[i] }));
  }
  return read;
}

/** @param {Reading} reading @param {readonly string[]} names @returns {Reading} */
function inOrder(reading, names) {
  return Object.fromEntries(names.filter((n) => n in reading).map((n) => [n, reading[n]]));
}

/** @param {number[]} a @param {number[]} b */
function sameNumbers(a, b) {
  return a.length === b.length && a.every((value, i) => value === b[i]);
}
