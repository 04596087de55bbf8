/**
 * The one moment that picture, line, scrubber and traces all show.
 *
 * @typedef {import("./film.js").Ground} Ground
 */

import { firstAfter } from "./track.js";

/** Two moments nearer than this are one [s]. */
const SAME_S = 0.002;

export class Player {
  #ground = /** @type {Ground | null} */ (null);
  #end_s;
  #frame_s;
  #times = /** @type {readonly number[]} */ ([]);
  #sought = /** @type {number | null} */ (null);
  #moved = /** @type {((t_s: number) => void)[]} */ ([]);
  #shown = /** @type {((t_s: number) => void)[]} */ ([]);
  #changed = /** @type {(() => void)[]} */ ([]);

  /** The playhead [s]. */
  at_s = 0;

  /** @param {{end_s: number, rate_hz: number | null}} of the video */
  constructor({ end_s, rate_hz }) {
    this.#end_s = end_s;
    this.#frame_s = rate_hz && rate_hz > 0 ? 1 / rate_hz : 1 / 30;
  }

  /** What a ground tells this player. @returns {import("./film.js").On} */
  get ears() {
    return {
      shown: (t_s) => this.#tellShown(t_s),
      changed: () => this.#changed.forEach((listener) => listener()),
    };
  }

  /** @param {Ground} ground */
  standOn(ground) {
    this.#ground?.pause();
    this.#ground = ground;
    ground.seek(this.at_s);
  }

  /** @param {readonly number[]} times of the frames that were read [s] */
  stepAlong(times) {
    this.#times = times;
  }

  /** @param {(t_s: number) => void} listener to the playhead */
  onMoved(listener) {
    this.#moved.push(listener);
  }

  /** @param {(t_s: number) => void} listener to the moment whose picture stands on the screen */
  onShown(listener) {
    this.#shown.push(listener);
  }

  /** @param {() => void} listener to beginning and stopping */
  onChanged(listener) {
    this.#changed.push(listener);
  }

  get playing() {
    return this.#ground?.playing ?? false;
  }

  toggle() {
    if (this.playing) this.#ground?.pause();
    else this.#ground?.play();
  }

  pause() {
    this.#ground?.pause();
  }

  /** @param {number} t_s */
  seek(t_s) {
    this.at_s = Math.min(this.#end_s, Math.max(0, t_s));
    this.#sought = this.at_s;
    this.#ground?.seek(this.at_s);
    for (const listener of this.#moved) listener(this.at_s);
  }

  /** Go by frames, to one that was read where there are such. @param {number} frames */
  step(frames) {
    this.pause();
    this.seek(this.stepped(this.at_s, frames));
  }

  /** @param {number} t_s @param {number} frames @returns {number} the moment so many frames on [s] */
  stepped(t_s, frames) {
    const times = this.#times;
    const inside = times.length > 1 && t_s >= times[0] - SAME_S && t_s <= times[times.length - 1] + SAME_S;
    if (!inside) return t_s + frames * this.#frame_s;
    const here = firstAfter(times, t_s + SAME_S) - 1;
    const there = here + frames;
    if (there < 0) return times[0] + there * this.#frame_s;
    if (there >= times.length) return times[times.length - 1] + (there - times.length + 1) * this.#frame_s;
    return times[there];
  }

  /** @param {number} t_s */
  #tellShown(t_s) {
    for (const listener of this.#shown) listener(t_s);
    // The frame of an older wish must not draw the playhead back from under the finger.
    if (this.#sought !== null) {
      if (Math.abs(t_s - this.#sought) > 1.5 * this.#frame_s && !this.playing) return;
      this.#sought = null;
      if (!this.playing) return;
    }
    this.at_s = t_s;
    for (const listener of this.#moved) listener(t_s);
  }
}

/**
 * Keys of the player, on whatever part of it has the focus.
 *
 * @param {HTMLElement} section
 * @param {Player} player
 * @param {number} end_s
 */
export function listenToKeys(section, player, end_s) {
  section.addEventListener("keydown", (event) => {
    const target = /** @type {HTMLElement} */ (event.target);
    if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey) return;
    if (target.closest("input, select, textarea")) return;
    const pressed = event.key === " " || event.key === "Enter";
    if (pressed && target.closest("button, a, summary")) return;
    const moves = keyMoves(event, player, player.at_s, end_s);
    if (moves !== null) {
      player.pause();
      player.seek(moves);
    } else if (event.key === " ") {
      player.toggle();
    } else {
      return;
    }
    event.preventDefault();
  });
}

/**
 * @param {KeyboardEvent} event @param {Player} player @param {number} at_s @param {number} end_s
 * @returns {number | null} where a key moves a handle of time to [s]; null for other keys
 */
export function keyMoves(event, player, at_s, end_s) {
  const way = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 }[event.key];
  if (way) return event.shiftKey ? at_s + way : player.stepped(at_s, way);
  if (event.key === "PageUp") return at_s + 1;
  if (event.key === "PageDown") return at_s - 1;
  if (event.key === "Home") return 0;
  if (event.key === "End") return end_s;
  return null;
}
