/**
 * What is being measured, looked at every second while something waits.
 */

import { ask } from "./answers.js";

const OFTEN_MS = 1000;
const SELDOM_MS = 10000;
const STATES = { measured: "measured", waiting: "waits", needs_look: "needs a look", refused: "not measured" };

export class MeasuringWatch {
  #section;
  #titles;
  #isSending;
  #timer = 0;
  #spoken = "";
  #seen = "";

  /**
   * @param {HTMLElement} section
   * @param {{titles: Map<string, string>, isSending: () => boolean}} how
   */
  constructor(section, { titles, isSending }) {
    this.#section = section;
    this.#titles = titles;
    this.#isSending = isSending;
    document.addEventListener("visibilitychange", () => (document.hidden ? this.#rest() : this.look()));
    this.#steer.addEventListener("submit", (event) => {
      event.preventDefault();
      void this.#press();
    });
    this.look();
  }

  get #steer() {
    return /** @type {HTMLFormElement} */ (this.#part("steer"));
  }

  get #button() {
    return /** @type {HTMLButtonElement} */ (this.#steer.querySelector("button"));
  }

  /** @param {string} name @returns {HTMLElement} */
  #part(name) {
    return /** @type {HTMLElement} */ (this.#section.querySelector(`[data-${name}]`));
  }

  #rest() {
    clearTimeout(this.#timer);
  }

  /** Look now, and again later. */
  look() {
    this.#rest();
    if (document.hidden) return;
    void this.#once();
  }

  async #once() {
    const now = await ask("/api/progress").catch(() => null);
    if (now) this.#draw(now);
    this.#rest();
    const often = this.#isSending() || (now !== null && now.waiting > 0);
    if (!document.hidden) this.#timer = window.setTimeout(() => this.look(), often ? OFTEN_MS : SELDOM_MS);
  }

  async #press() {
    const now = await ask(`/api/progress/${this.#button.value}`, { method: "POST" }).catch(() => null);
    if (now) this.#draw(now);
    this.look();
  }

  /** @param {any} now */
  #draw(now) {
    const looks = now.needs_look + now.refused;
    const idle = now.waiting === 0 && !this.#isSending();
    const waits = now.waiting === 1 ? "1 photo waits" : `${now.waiting} photos wait`;
    const state = now.waiting > 0 ? `${waits}${now.paused ? "; measuring is paused" : ""}.` : "Nothing waits.";
    this.#part("state").textContent = state;
    this.#button.hidden = now.waiting === 0 && !now.paused;
    this.#button.value = now.paused ? "go-on" : "pause";
    this.#button.textContent = now.paused ? "Go on" : "Pause measuring";
    this.#part("onward").hidden = !idle;
    const link = this.#part("looks");
    link.hidden = looks === 0;
    link.classList.toggle("first", looks > 0);
    link.textContent = `Look at ${looks === 1 ? "1 photo" : `${looks} photos`}`;
    const key = JSON.stringify(now.recent);
    if (key !== this.#seen) {
      this.#seen = key;
      this.#part("recent").replaceChildren(...now.recent.map((/** @type {any} */ one) => this.#row(one)));
    }
    // Aloud only where it changes what to do: begun, paused, done.
    const spoken = idle ? "Everything is measured." : now.paused ? "Measuring is paused." : "Measuring.";
    if (this.#spoken !== "" && this.#spoken !== spoken) this.#part("measured-spoken").textContent = spoken;
    this.#spoken = spoken;
  }

  /** @param {any} one */
  #row(one) {
    const part = (/** @type {string} */ tag, /** @type {string} */ name, /** @type {string} */ text) => {
      const made = document.createElement(tag);
      if (name) made.className = name;
      made.textContent = text;
      return made;
    };
    const row = document.createElement("li");
    const link = document.createElement("a");
    link.href = `/photos/${one.photo_id}`;
    link.append(
      part("b", "", one.gymnast ?? one.name), " ",
      part("span", "soft", this.#titles.get(one.test) ?? "Which test is it?"), " ",
      part("span", one.state === "measured" ? "soft" : "look", STATES[one.state]),
    );
    row.append(link);
    return row;
  }
}
