/** To the server and back: one picture at a time, so the newest one always goes next. */

import { ask, formKey, RefusedError } from "../pages/answers.js";

const PATIENCE_MS = 6000;

/**
 * @typedef {"on" | "close" | "off" | "unknown"} Tone
 *
 * @typedef {object} Measure
 * @property {string} name
 * @property {string} label
 * @property {string} words
 * @property {number} value
 * @property {number} plus_minus
 * @property {string} unit
 * @property {Tone | null} tone
 *
 * @typedef {object} Told
 * @property {boolean} late
 * @property {string} headline
 * @property {string} look_at what stands farthest from the shape
 * @property {Tone} tone
 * @property {string | null} reason
 * @property {Record<string, [number, number]>} landmarks shares of width and height
 * @property {string[]} chord
 * @property {"left" | "right" | null} near_side
 * @property {"up" | "down" | "left" | "right" | null} front
 * @property {string} side_origin
 * @property {Measure[]} measures
 */

/** One start's way to the server; closed once, it stays closed. */
export class Link {
  #session = "";
  #isClosed = false;

  async open() {
    const { session } = await ask("/api/live", { method: "POST" });
    if (this.#isClosed) end(session);
    else this.#session = session;
  }

  /** End it; also while the page is being left, or while it is still being opened. */
  close() {
    this.#isClosed = true;
    if (this.#session !== "") end(this.#session);
    this.#session = "";
  }

  /**
   * @param {Blob} picture
   * @param {{at_ms: number, test: string, near: string}} said
   * @returns {Promise<Told>}
   */
  async look(picture, said) {
    const query = new URLSearchParams({ at_ms: said.at_ms.toFixed(1), test: said.test });
    if (said.near) query.set("near", said.near);
    const how = { method: "POST", body: picture, headers: { "Content-Type": "image/jpeg" } };
    const send = () => ask(`/api/live/${this.#session}?${query}`, { ...how, signal: AbortSignal.timeout(PATIENCE_MS) });
    try {
      return await send();
    } catch (error) {
      // Forgotten while the tablet slept, or the server was started anew; not where it was stopped here.
      if (!(error instanceof RefusedError) || error.status !== 404 || this.#isClosed) throw error;
      await this.open();
      return send();
    }
  }
}

/** @param {string} session */
function end(session) {
  void fetch(`/api/live/${session}`, { method: "DELETE", headers: formKey(), keepalive: true }).catch(() => undefined);
}
