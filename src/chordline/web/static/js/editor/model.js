/**
 * From marks to everything that is shown of them: measures, words, chord, bow. No drawing, no DOM.
 *
 * @typedef {import("./store.js").Marks} Marks
 * @typedef {import("./wording.js").Line} Line
 * @typedef {import("../geometry/angles.js").Point} Point
 *
 * @typedef {object} Test
 * @property {string} id
 * @property {string} title
 * @property {string[]} chord landmarks along the body from the chord's first end to its last
 * @property {string[]} measures
 * @property {Record<string, import("../geometry/verdict.js").Sense>} judged
 *
 * @typedef {object} Model
 * @property {Marks} marks
 * @property {import("../geometry/body.js").Body} body
 * @property {import("../geometry/reading.js").Reading} reading
 * @property {Record<string, Record<string, number>>} systematic
 * @property {Line[]} lines in the order of the test
 * @property {string} headline
 * @property {string[]} missing landmarks without which there is no chord or no joint on it
 * @property {string[]} path landmarks of the chord that are there
 * @property {[Point, Point] | null} chord its ends [photo px]
 * @property {{name: string, at: Point, foot: Point}[]} bows [photo px]
 * @property {Point} front unit vector to which the belly faces; zero where not known
 * @property {"up" | "down" | "left" | "right"} frontWord
 * @property {string | null} widest landmark that bows most, where it is more than its error
 */

import { frontOf, subtract } from "../geometry/angles.js";
import { chordAmong, facingOf, frontWord, makeBody } from "../geometry/body.js";
import { unitOf } from "../geometry/measures.js";
import { createReader } from "../geometry/reading.js";
import { systematicErrors, totalSd } from "../geometry/systematic.js";
import { describeMeasure, headlineOf, SD_95 } from "./wording.js";

/**
 * @param {object} given
 * @param {Test} given.test
 * @param {import("./wording.js").Words} given.words
 * @param {import("../geometry/body.js").Frame} [given.frame]
 * @param {import("../geometry/systematic.js").View | null} [given.view]
 * @param {import("../geometry/body.js").Front} given.front as it was handed in
 * @returns {(marks: Marks, how?: {live?: boolean}) => Model}
 */
export function createModelling({ test, words, frame, view = null, front }) {
  const read = createReader();
  return (marks, how = {}) => {
    const facing = facingOf(marks.nearSide);
    const body = makeBody({ landmarks: marks.landmarks, facing, chord: test.chord, frame });
    const sdPx = Object.fromEntries(Object.entries(marks.landmarks).map(([n, m]) => [n, m.sd_px]));
    const reading = read(body, sdPx, test.measures, how);
    const names = Object.keys(reading);
    const systematic = view ? systematicErrors(body, view, names) : {};
    const lines = names.map((name) =>
      describeMeasure(
        name,
        {
          value: reading[name].value,
          totalSd: totalSd(reading[name].sd, systematic[name]),
          unit: unitOf(name),
        },
        { words, judged: test.judged },
      ),
    );
    const { hip, shoulder } = body.points;
    const path = body.chord.filter((name) => name in body.points);
    const missing = chordAmong(test.chord, body.points).filter((name) => !(name in body.points));
    const last = body.chord[body.chord.length - 1];
    const [start, end] = [body.points[body.chord[0]], body.points[last]];
    const chord = start && end && (start.x !== end.x || start.y !== end.y) ? [start, end] : null;
    return {
      marks,
      body,
      reading,
      systematic,
      lines,
      headline: headlineFor(test, missing, lines),
      missing,
      path,
      chord: /** @type {[Point, Point] | null} */ (chord),
      bows: chord ? path.slice(1, -1).map((name) => bowOf(name, body.points[name], chord)) : [],
      front: chord ? frontOf(subtract(chord[1], chord[0]), facing) : { x: 0, y: 0 },
      frontWord: hip && shoulder ? frontWord(subtract(shoulder, hip), facing) : front,
      widest: widest(reading),
    };
  };
}

/** @param {Test} test @param {string[]} missing @param {Line[]} lines */
function headlineFor(test, missing, lines) {
  if (missing.length > 0) return "A landmark is not set yet";
  // Marked for a study: nothing is measured before the coach's eyes.
  return test.measures.length > 0 ? headlineOf(lines) : "All landmarks are set";
}

/** @param {string} name @param {Point} at @param {Point[]} chord */
function bowOf(name, at, [start, end]) {
  const along = subtract(end, start);
  const share =
    ((at.x - start.x) * along.x + (at.y - start.y) * along.y) / (along.x ** 2 + along.y ** 2);
  return { name, at, foot: { x: start.x + share * along.x, y: start.y + share * along.y } };
}

/** @param {import("../geometry/reading.js").Reading} reading */
function widest(reading) {
  let found = null;
  let most = 0;
  for (const landmark of ["knee", "hip", "shoulder"]) {
    const bow = reading[`bow_${landmark}_pct`];
    if (bow && Math.abs(bow.value) > Math.max(most, SD_95 * bow.sd)) {
      [found, most] = [landmark, Math.abs(bow.value)];
    }
  }
  return found;
}
