/**
 * Words for measures, as `chordline.application.wording` says them; the words themselves are
 * handed in from the catalogue.
 *
 * @typedef {object} MeasureWords
 * @property {string} label
 * @property {string} zero
 * @property {string} positive `{value}` stands for the magnitude with its unit
 * @property {string} negative
 * @property {number} on_line
 * @property {number} close
 *
 * @typedef {object} Words
 * @property {Record<string, MeasureWords>} measures
 * @property {number} certainty smallest probability with which a word is said
 *
 * @typedef {object} Line One measure in words first.
 * @property {string} name
 * @property {string} label
 * @property {string} words
 * @property {import("../geometry/verdict.js").Verdict | null} verdict
 * @property {number} value
 * @property {number} plusMinus half the width of the 95 % interval
 * @property {string} unit
 */

import { judge, VERDICTS } from "../geometry/verdict.js";

export const SD_95 = 1.96;

const SIGNS = { deg: "°", pct: " %", cm: " cm", s: " s" };
const DECIMALS = { deg: 0, pct: 1, cm: 0, s: 0 };
const FINER = { deg: 0, pct: 1, cm: 1, s: 1 };
const SPOKEN = { malleolus: "Ankle" };
const URGENCY = [VERDICTS.SHORT, VERDICTS.CLOSE, VERDICTS.CANNOT_TELL, VERDICTS.ON_THE_LINE];

/** @param {string} landmark @returns {string} what a sheet calls it, e.g. `Ankle` or `Back 2`. */
export function spoken(landmark) {
  const words = landmark.replace("_", " ");
  return SPOKEN[landmark] ?? words[0].toUpperCase() + words.slice(1);
}

/** @param {number} value @param {string} unit @returns {string} a magnitude, e.g. `24°`. */
export function withUnit(value, unit) {
  return `${Math.abs(value).toFixed(DECIMALS[unit])}${SIGNS[unit]}`;
}

/** @param {number} value @param {string} unit @returns {string} `−18°`; never `−0`. */
export function signed(value, unit) {
  return withSign(value, FINER[unit], unit === "deg" || unit === "pct") + SIGNS[unit];
}

/** @param {number} value @param {number} plusMinus @param {string} unit @returns {string} `−18° ± 4°` */
export function withError(value, plusMinus, unit) {
  if (!Number.isFinite(value) || !Number.isFinite(plusMinus)) return "–";
  let decimals = FINER[unit];
  if (plusMinus > 0 && plusMinus < 0.95 * 10 ** -decimals) decimals += 1;
  const shown = withSign(value, decimals, unit === "deg");
  return `${shown}${SIGNS[unit]} ± ${plusMinus.toFixed(decimals)}${SIGNS[unit]}`;
}

/** @param {number} value @param {number} decimals @param {boolean} plus */
function withSign(value, decimals, plus) {
  const text = Math.abs(value).toFixed(decimals);
  if (Number(text) === 0) return text;
  return (value < 0 ? "−" : plus ? "+" : "") + text;
}

/** @param {MeasureWords} entry @param {number} value @param {string} unit @returns {string} */
export function shapeInWords(entry, value, unit) {
  const said = withUnit(value, unit);
  if (said === withUnit(0, unit) || Math.abs(value) <= entry.on_line / 2) return entry.zero;
  return (value > 0 ? entry.positive : entry.negative).replace("{value}", said);
}

/**
 * @param {string} name
 * @param {{value: number, totalSd: number, unit: string}} measure
 * @param {{words: Words, judged: Record<string, import("../geometry/verdict.js").Sense>}} how
 * @returns {Line}
 */
export function describeMeasure(name, { value, totalSd, unit }, { words, judged }) {
  const entry = words.measures[name];
  const sense = judged[name];
  const { on_line, close } = entry;
  const sd = Math.max(totalSd, 1e-9);
  return {
    name,
    label: entry.label,
    words: shapeInWords(entry, value, unit),
    verdict: sense ? judge(value, { sd, sense, on_line, close, certainty: words.certainty }) : null,
    value,
    plusMinus: SD_95 * totalSd,
    unit,
  };
}

/** @param {readonly Line[]} lines @returns {string} the most important thing, in words. */
export function headlineOf(lines) {
  const judged = lines.filter((line) => line.verdict !== null);
  if (judged.length === 0) return "Measured; this shape has no straight line to be compared with";
  const joints = judged.filter((line) => line.unit === "deg");
  const urgency = (/** @type {Line} */ line) => URGENCY.indexOf(line.verdict);
  const [first] = [...(joints.length > 0 ? joints : judged)].sort(
    (a, b) => urgency(a) - urgency(b) || Math.abs(b.value) - Math.abs(a.value),
  );
  if (first.verdict === VERDICTS.ON_THE_LINE) return "On the line";
  return `${first.label} ${first.words}: ${first.verdict}`;
}
