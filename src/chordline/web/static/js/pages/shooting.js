/**
 * Shooting with a tablet: which position now, then the next test or the next gymnast with one thumb.
 *
 * @typedef {{id: string, title: string, how: string, care: string}} Position
 */

import { findGymnasts, labelOf } from "./gymnast_field.js";

/** So many can be stepped through; a larger club chooses a group. */
const SQUAD = "200";

export class Shooting {
  #section;
  #tests;
  #test;
  #gymnast;
  #group;
  #squad = /** @type {{group: string, all: import("./gymnast_field.js").Gymnast[]} | null} */ (null);

  /**
   * @param {HTMLElement} section
   * @param {object} fields
   * @param {Position[]} fields.tests
   * @param {HTMLSelectElement} fields.test
   * @param {HTMLInputElement} fields.gymnast
   */
  constructor(section, { tests, test, gymnast }) {
    this.#section = section;
    this.#tests = tests;
    this.#test = test;
    this.#gymnast = gymnast;
    this.#group = /** @type {HTMLSelectElement | null} */ (section.querySelector("[data-group]"));
    test.addEventListener("change", () => this.draw());
    this.#part("next-test").addEventListener("click", () => this.#nextTest());
    this.#part("next-gymnast").addEventListener("click", () => void this.#nextGymnast());
    this.draw();
  }

  /** @param {string} name @returns {HTMLElement} */
  #part(name) {
    return /** @type {HTMLElement} */ (this.#section.querySelector(`[data-${name}]`));
  }

  /** @param {string} sentence */
  tell(sentence) {
    this.#part("shot").textContent = sentence;
  }

  /** @param {string} name of whom all photos are; empty where the card tells */
  showWho(name) {
    this.#part("who").textContent = name;
  }

  draw() {
    const now = this.#tests.find(({ id }) => id === this.#test.value);
    if (!now) return;
    this.#part("title").textContent = now.title;
    this.#part("how").textContent = now.how;
    this.#part("care").textContent = now.care;
  }

  #nextTest() {
    const at = this.#tests.findIndex(({ id }) => id === this.#test.value);
    const last = at === this.#tests.length - 1;
    const next = this.#tests[last ? 0 : at + 1];
    this.#test.value = next.id;
    this.#test.dispatchEvent(new Event("change", { bubbles: true }));
    this.tell(last ? `That was the last test; from the start: ${next.title}.` : `${next.title}.`);
  }

  async #nextGymnast() {
    const group = this.#group?.value ?? "";
    try {
      if (this.#squad?.group !== group) this.#squad = { group, all: await findGymnasts({ limit: SQUAD, ...(group ? { group } : {}) }) };
    } catch {
      this.tell("The squad cannot be read now. Try again.");
      return;
    }
    const squad = this.#squad.all;
    if (squad.length === 0) {
      this.tell("Nobody is in this group yet.");
      return;
    }
    const at = squad.findIndex((her) => labelOf(her) === this.#gymnast.value);
    const last = at === squad.length - 1;
    const next = squad[last ? 0 : at + 1];
    this.#gymnast.value = labelOf(next);
    this.#gymnast.dispatchEvent(new Event("change", { bubbles: true }));
    this.tell(last ? `That was the last one; from the start: ${next.name}.` : `Now ${next.name}.`);
  }
}
