/**
 * Setting marks that are not there: a landmark that was not found, the points of a curve.
 *
 * @typedef {import("./store.js").Marks} Marks
 * @typedef {import("../geometry/angles.js").Point} Point
 * @typedef {{kind: "landmark" | "curve", name: string}} Target
 */

import { curveOf, curvePoints, LANDMARKS, MIN_CURVE_POINTS } from "../geometry/body.js";
import { addCurvePoint, placeMark } from "./edits.js";
import { spoken } from "./wording.js";

/** Curves that a coach marks, and where they run. */
const RUNS = {
  back: "along the outline of the back, seat to neck",
  seam: "along the side of the trunk, leg opening to armpit",
};

export class Placing {
  #store;
  #how;
  #target = /** @type {Target | null} */ (null);
  /** Set by a key in the middle of the view and not moved since: nobody has looked yet. */
  #untouched = /** @type {Map<string, import("./store.js").Mark>} */ (new Map());

  /**
   * @param {import("./store.js").Store} store
   * @param {{photo: {width_px: number, height_px: number}, sdPx: number, onChange: () => void}} how
   */
  constructor(store, how) {
    this.#store = store;
    this.#how = how;
  }

  get target() {
    return this.#target;
  }

  /** @param {Target | null} target */
  aim(target) {
    this.#target = target;
    this.#how.onChange();
  }

  /** Whether a touch on a landmark takes hold of it although something is to be set. */
  takesHold(/** @type {string | null} */ landmark) {
    return this.#target?.kind === "curve" && landmark !== null && curveOf(landmark) === this.#target.name;
  }

  /**
   * Set what is aimed at, as a preview that a drag goes on with.
   *
   * @param {Point} at [photo px]
   * @returns {string | null} the name of the mark
   */
  placeAt(at) {
    if (!this.#target) return null;
    const { kind, name } = this.#target;
    if (kind === "landmark") {
      this.#store.preview(placeMark(this.#store.marks, name, at, this.#how));
      return name;
    }
    const added = addCurvePoint(this.#store.marks, name, at, this.#how);
    this.#store.preview(added.marks);
    return added.name;
  }

  /** Set it in the middle of the view, for arrows to move. @param {Point} middle [photo px] */
  placeByKey(middle) {
    const name = this.placeAt(middle);
    if (name === null) return null;
    this.#store.commit();
    this.#untouched.set(name, this.#store.marks.landmarks[name]);
    return name;
  }

  /** A mark was set: a landmark is done, a curve goes on. @param {string[]} missing */
  placed(missing) {
    if (this.#target?.kind !== "landmark") {
      this.#how.onChange();
      return;
    }
    this.aim(missing.length > 0 ? { kind: "landmark", name: missing[0] } : null);
  }

  /** @returns {string | null} a mark that stands where a key put it. */
  get unseen() {
    for (const [name, mark] of this.#untouched) {
      if (this.#store.marks.landmarks[name] === mark) return name;
    }
    return null;
  }

  /**
   * What the bar over the picture says.
   *
   * @param {{missing: string[], active: string | null, needed: readonly string[]}} now
   * @returns {{text: string, actions: string[]} | null}
   */
  prompt({ missing, active, needed }) {
    const names = Object.keys(this.#store.marks.landmarks);
    if (this.#target?.kind === "landmark") {
      return { text: `Tap where the ${spoken(this.#target.name).toLowerCase()} is`, actions: ["not now"] };
    }
    if (this.#target) {
      const count = curvePoints(this.#target.name, names).length;
      const left = MIN_CURVE_POINTS - count;
      const more = left > 0 ? `${left} more to go` : `${count} points`;
      return { text: `Tap ${RUNS[this.#target.name]}: ${more}`, actions: ["add a point", "done"] };
    }
    if (missing.length > 0) {
      return { text: `The ${spoken(missing[0]).toLowerCase()} is not set`, actions: ["set it"] };
    }
    if (active && names.includes(active) && !needed.includes(active)) {
      return { text: spoken(active), actions: ["take it away"] };
    }
    return null;
  }

  /** @returns {{target: Target, label: string}[]} what may still be added. */
  offers() {
    const { landmarks } = this.#store.marks;
    const joints = LANDMARKS.filter((name) => !(name in landmarks)).map((name) => ({
      target: /** @type {Target} */ ({ kind: "landmark", name }),
      label: spoken(name),
    }));
    return [
      ...joints,
      { target: { kind: "curve", name: "back" }, label: "Outline of the back" },
      { target: { kind: "curve", name: "seam" }, label: "Seam of the trunk" },
    ];
  }
}
