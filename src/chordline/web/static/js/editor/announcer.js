/** Says things to those who listen instead of look: once a key has rested, not at every press. */

import { html } from "./dom.js";

const REST_MS = 350;

export class Announcer {
  #timer = 0;

  constructor() {
    this.element = html("div", { class: "cl-unseen", "aria-live": "polite", "aria-atomic": "true" });
  }

  /** @param {string} text @param {{rest?: boolean}} [how] `rest` waits until the keys rest */
  say(text, { rest = false } = {}) {
    clearTimeout(this.#timer);
    const tell = () => {
      this.element.textContent = text;
    };
    if (rest) this.#timer = window.setTimeout(tell, REST_MS);
    else tell();
  }

  stop() {
    clearTimeout(this.#timer);
  }
}
