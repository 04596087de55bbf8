/**
 * Saving: one request at a time, and nothing is lost when somebody else was quicker.
 *
 * @typedef {import("./store.js").Marks} Marks
 *
 * @typedef {object} Saved What `onSave` answers.
 * @property {unknown} [version] the new version, when it was taken
 * @property {Current} [stale] what the server has instead, when it was not
 *
 * @typedef {object} Current Marks that somebody else saved meanwhile.
 * @property {unknown} version
 * @property {Record<string, import("./store.js").Mark>} landmarks
 * @property {"left" | "right"} near_side
 * @property {string} [author]
 *
 * @typedef {object} Record What is saved; the keys of a marks file, and whether the coach said yes.
 * @property {"left" | "right"} near_side
 * @property {string} front
 * @property {Record<string, import("./store.js").Mark>} landmarks
 * @property {boolean} confirmed
 */

export class Saver {
  #store;
  #onSave;
  #toRecord;
  #running = /** @type {{marks: Marks, confirmed: boolean, done: Promise<boolean>} | null} */ (null);

  /** @type {"idle" | "saving" | "failed" | "stale"} */
  state = "idle";
  /** Why the last try failed, in the server's words. */
  reason = "";
  /** @type {{current: Current, confirmed: boolean} | null} */
  stale = null;

  /**
   * @param {import("./store.js").Store} store
   * @param {object} how
   * @param {(record: Record, version: unknown) => Promise<Saved>} how.onSave
   * @param {(marks: Marks) => Omit<Record, "confirmed">} how.toRecord
   * @param {() => void} how.onChange
   */
  constructor(store, { onSave, toRecord, onChange }) {
    this.#store = store;
    this.#onSave = onSave;
    this.#toRecord = toRecord;
    this.onChange = onChange;
  }

  /**
   * One request at a time: the same thing asked twice is asked once, another waits its turn.
   *
   * @param {{confirmed: boolean}} how
   * @returns {Promise<boolean>} whether everything that there was to save is saved.
   */
  save({ confirmed }) {
    const before = this.#running;
    const { marks } = this.#store;
    if (before && before.marks === marks && before.confirmed === confirmed) return before.done;
    const run = () => this.#run(confirmed);
    const done = before ? before.done.then(run) : run();
    const running = { marks, confirmed, done };
    this.#running = running;
    void done.finally(() => {
      if (this.#running === running) this.#running = null;
    });
    return done;
  }

  /** @param {boolean} confirmed */
  async #run(confirmed) {
    if (this.stale) return false;
    const marks = this.#store.marks;
    this.#become("saving");
    try {
      const answer = await this.#onSave({ ...this.#toRecord(marks), confirmed }, this.#store.version);
      if (answer.stale) {
        this.stale = { current: answer.stale, confirmed };
        this.#become("stale");
        return false;
      }
      this.#store.markSaved(marks, answer.version);
    } catch (error) {
      this.#become("failed", error instanceof Error ? error.message : String(error));
      return false;
    }
    this.#become("idle");
    return true;
  }

  /** Save ours over theirs, knowing of it. @returns {Promise<boolean>} */
  keepOurs() {
    const stale = this.stale;
    if (!stale) return Promise.resolve(false);
    this.#store.version = stale.current.version;
    this.stale = null;
    return this.save({ confirmed: stale.confirmed });
  }

  /** Show theirs; ours are one undo away. */
  takeTheirs() {
    if (!this.stale) return;
    const { version, landmarks, near_side } = this.stale.current;
    this.stale = null;
    this.#store.apply({ landmarks, nearSide: near_side });
    this.#store.markSaved(this.#store.marks, version);
    this.#become("idle");
  }

  /** @param {"idle" | "saving" | "failed" | "stale"} state @param {string} [reason] */
  #become(state, reason = "") {
    this.state = state;
    this.reason = reason;
    this.onChange();
  }
}
