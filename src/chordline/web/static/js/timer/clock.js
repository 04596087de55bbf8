/**
 * The evening's clock: which part runs and how much of it is left. Knows no page and no time of its
 * own, so that it can be tried without either; told the time, it stays right through a sleeping
 * tablet.
 */

/**
 * @typedef {{name: string, round: number | null, length_ms: number}} Part
 * @typedef {{part: number, left_ms: number, ends_at: number | null}} State
 */

export class Clock {
  /** @type {Part[]} */
  #parts;
  #part = 0;
  #leftMs;
  /** @type {number | null} */
  #endsAt = null;

  /** @param {Part[]} parts not empty */
  constructor(parts) {
    this.#parts = parts;
    this.#leftMs = parts[0].length_ms;
  }

  get parts() {
    return this.#parts;
  }

  get at() {
    return this.#part;
  }

  get part() {
    return this.#parts[this.#part];
  }

  get isRunning() {
    return this.#endsAt !== null;
  }

  get isLast() {
    return this.#part === this.#parts.length - 1;
  }

  /** @param {number} now */
  leftMs(now) {
    return this.#endsAt === null ? this.#leftMs : Math.max(0, this.#endsAt - now);
  }

  /** @param {number} now */
  start(now) {
    if (this.#endsAt === null && this.#leftMs > 0) this.#endsAt = now + this.#leftMs;
  }

  /** @param {number} now */
  pause(now) {
    this.#leftMs = this.leftMs(now);
    this.#endsAt = null;
  }

  /**
   * Go to another part, to its beginning; a clock that runs goes on running.
   * @param {number} part
   * @param {number} now
   */
  goTo(part, now) {
    const runs = this.isRunning;
    this.#part = Math.min(Math.max(part, 0), this.#parts.length - 1);
    this.#leftMs = this.part.length_ms;
    this.#endsAt = runs ? now + this.#leftMs : null;
  }

  /**
   * Move on over what has ended; return how many parts ended. The last one stops at zero.
   * @param {number} now
   */
  tick(now) {
    let ended = 0;
    while (this.#endsAt !== null && now >= this.#endsAt) {
      const over = now - this.#endsAt;
      ended += 1;
      if (this.isLast) {
        this.#endsAt = null;
        this.#leftMs = 0;
      } else {
        this.#part += 1;
        this.#leftMs = this.part.length_ms;
        this.#endsAt = now - over + this.#leftMs;
      }
    }
    return ended;
  }

  /** @returns {State} */
  keep() {
    return { part: this.#part, left_ms: this.#leftMs, ends_at: this.#endsAt };
  }

  /**
   * Take up what was kept; anything else is left alone.
   * @param {unknown} kept
   */
  takeUp(kept) {
    const state = /** @type {Partial<State> | null} */ (kept);
    const { part, left_ms: left, ends_at: end } = state ?? {};
    if (!Number.isInteger(part) || !Number.isFinite(left)) return false;
    const index = /** @type {number} */ (part);
    if (index < 0 || index >= this.#parts.length) return false;
    if (end !== null && !Number.isFinite(end)) return false;
    this.#part = index;
    this.#leftMs = Math.min(Math.max(/** @type {number} */ (left), 0), this.part.length_ms);
    this.#endsAt = /** @type {number | null} */ (end);
    return true;
  }
}

/**
 * Return a length of time as a clock shows it, whole seconds, none lost: `7:59` after 1 ms.
 * @param {number} ms
 */
export function inDigits(ms) {
  const seconds = Math.ceil(ms / 1000);
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}
