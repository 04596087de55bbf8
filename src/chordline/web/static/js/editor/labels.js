/**
 * Where labels can stand: near their landmark, inside the stage, never on one another.
 *
 * Screen px throughout. The same search as on the printed sheet (adapters/printing/labels.py).
 *
 * @typedef {import("../geometry/angles.js").Point} Point
 * @typedef {import("./viewport.js").Box} Box
 * @typedef {{text: string, at: Point, away: Point}} Wish `away`: unit vector to where room is likely
 */

const CHARACTER_EM = 0.62;
const LINE_EM = 1.2;
const CROSSING_COST = 4;
const STEPS_ALONG = [0, 0.25, -0.25, 0.5, -0.5, 0.75, -0.75, 1.1, -1.1];
const STEPS_AWAY = [0, 0.6, 1.2, 2, 3, 4.5];
/** Room for the handle under the label [em]. */
const CLEAR_EM = 1;

/**
 * @param {readonly Wish[]} wishes the first has the first choice
 * @param {object} how
 * @param {number} how.em font size
 * @param {Box} how.frame no label leaves it
 * @param {readonly [Point, Point][]} how.avoid segments that a label should not cover
 * @returns {(Point | null)[]} middle of each label; null where no place is left
 */
export function placeLabels(wishes, { em, frame, avoid }) {
  /** @type {Box[]} */
  const taken = [];
  return wishes.map((wish) => {
    let best = null;
    let bestCost = Infinity;
    for (const box of places(wish, em)) {
      if (!within(box, frame) || taken.some((other) => overlaps(box, other))) continue;
      const middle = { x: (box.left + box.right) / 2, y: (box.top + box.bottom) / 2 };
      const [dx, dy] = [middle.x - wish.at.x, middle.y - wish.at.y];
      let cost = Math.hypot(dx, dy) / em + (dx * wish.away.x + dy * wish.away.y < 0 ? 1.5 : 0);
      for (const [start, end] of avoid) {
        if (cost >= bestCost) break;
        if (crosses(box, start, end)) cost += CROSSING_COST;
      }
      if (cost < bestCost) [best, bestCost] = [{ box, middle }, cost];
    }
    if (best) {
      const { left, right, top, bottom } = best.box;
      taken.push({ left: left - em / 2, right: right + em / 2, top: top - 2, bottom: bottom + 2 });
    }
    return best && best.middle;
  });
}

/** @param {string} text @param {number} em @returns {number} an upper bound of its width. */
export function textWidth(text, em) {
  return text.length * CHARACTER_EM * em;
}

/** @param {Wish} wish @param {number} em @returns {Generator<Box>} */
function* places({ text, at, away }, em) {
  const half = { x: textWidth(text, em) / 2, y: (LINE_EM * em) / 2 };
  const along = { x: away.y, y: -away.x };
  const reach = Math.abs(along.x) * half.x + Math.abs(along.y) * half.y;
  for (const side of [1, -1]) {
    const clear = CLEAR_EM * em + Math.abs(away.x) * half.x + Math.abs(away.y) * half.y;
    for (const step of STEPS_AWAY) {
      for (const share of STEPS_ALONG) {
        const x = at.x + side * away.x * (clear + step * em) + along.x * share * 2 * reach;
        const y = at.y + side * away.y * (clear + step * em) + along.y * share * 2 * reach;
        yield { left: x - half.x, right: x + half.x, top: y - half.y, bottom: y + half.y };
      }
    }
  }
}

/** @param {Box} a @param {Box} b */
function overlaps(a, b) {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

/** @param {Box} box @param {Box} frame */
function within(box, frame) {
  return (
    box.left >= frame.left && box.right <= frame.right && box.top >= frame.top && box.bottom <= frame.bottom
  );
}

/** @param {Box} box @param {Point} start @param {Point} end */
function crosses(box, start, end) {
  let [enter, leave] = [0, 1];
  for (const [low, high, at, by] of [
    [box.left, box.right, start.x, end.x - start.x],
    [box.top, box.bottom, start.y, end.y - start.y],
  ]) {
    if (by === 0) {
      if (at <= low || at >= high) return false;
      continue;
    }
    const [first, last] = by > 0 ? [(low - at) / by, (high - at) / by] : [(high - at) / by, (low - at) / by];
    enter = Math.max(enter, first);
    leave = Math.min(leave, last);
  }
  return enter < leave;
}
