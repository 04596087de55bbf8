/**
 * The marks of one photo as immutable states, with undo and redo.
 *
 * @typedef {object} Mark
 * @property {number} x_px
 * @property {number} y_px
 * @property {number} sd_px random error along each axis
 * @property {"auto" | "hand"} origin
 *
 * @typedef {object} Marks
 * @property {Readonly<Record<string, Readonly<Mark>>>} landmarks
 * @property {"left" | "right"} nearSide
 */

const MAX_STEPS = 300;
/** Key presses on one landmark within this time are one step back. */
const MERGE_MS = 1200;

export class Store {
  #marks;
  #saved;
  #undo = /** @type {Marks[]} */ ([]);
  #redo = /** @type {Marks[]} */ ([]);
  #before = /** @type {Marks | null} */ (null);
  #merge = { key: "", at: -Infinity };
  #listeners = /** @type {Set<(how: {live: boolean}) => void>} */ (new Set());

  /** @param {Marks} marks @param {unknown} version what the server calls them */
  constructor(marks, version) {
    this.#marks = freeze(marks);
    this.#saved = this.#marks;
    this.version = version;
  }

  get marks() {
    return this.#marks;
  }

  /** Whether something differs from what was last saved. */
  get dirty() {
    return this.#marks !== this.#saved;
  }

  get canUndo() {
    return this.#undo.length > 0;
  }

  get canRedo() {
    return this.#redo.length > 0;
  }

  /** @param {(how: {live: boolean}) => void} listener @returns {() => void} stops listening */
  onChange(listener) {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  /**
   * One step that can be undone.
   *
   * @param {Marks} marks
   * @param {{merge?: string, now?: number}} [how] steps with one `merge` key that follow closely are one
   */
  apply(marks, { merge = "", now = performance.now() } = {}) {
    if (marks === this.#marks) return;
    const joins = merge !== "" && merge === this.#merge.key && now - this.#merge.at < MERGE_MS;
    if (!joins || this.#undo.length === 0) this.#push(this.#marks);
    this.#merge = { key: merge, at: now };
    this.#become(marks);
  }

  /** While a finger is down: shown, not yet a step. @param {Marks} marks */
  preview(marks) {
    this.#before ??= this.#marks;
    this.#marks = freeze(marks);
    this.#tell(true);
  }

  /** The finger is up: what was previewed is one step. */
  commit() {
    const before = this.#before;
    this.#before = null;
    if (before !== null && before !== this.#marks) {
      this.#push(before);
      this.#merge = { key: "", at: -Infinity };
    }
    this.#tell(false);
  }

  /** Back to where the finger went down. */
  cancel() {
    if (this.#before === null) return;
    const before = this.#before;
    this.#before = null;
    this.#become(before);
  }

  undo() {
    const marks = this.#undo.pop();
    if (!marks) return false;
    this.#redo.push(this.#marks);
    this.#merge = { key: "", at: -Infinity };
    this.#become(marks);
    return true;
  }

  redo() {
    const marks = this.#redo.pop();
    if (!marks) return false;
    this.#undo.push(this.#marks);
    this.#merge = { key: "", at: -Infinity };
    this.#become(marks);
    return true;
  }

  /** @param {Marks} marks that the server has now @param {unknown} version */
  markSaved(marks, version) {
    this.#saved = marks;
    this.version = version;
    this.#tell(false);
  }

  /** @param {Marks} marks */
  #push(marks) {
    this.#undo.push(marks);
    if (this.#undo.length > MAX_STEPS) this.#undo.shift();
    this.#redo.length = 0;
  }

  /** @param {Marks} marks */
  #become(marks) {
    this.#marks = freeze(marks);
    this.#tell(false);
  }

  /** @param {boolean} live */
  #tell(live) {
    for (const listener of this.#listeners) listener({ live });
  }
}

/** @param {Marks} marks @returns {Marks} */
function freeze(marks) {
  if (Object.isFrozen(marks)) return marks;
  return Object.freeze({ ...marks, landmarks: Object.freeze(marks.landmarks) });
}
