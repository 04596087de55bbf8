/** The list of marks that may be added: what was not found, the outline of the back, the seam. */

import { html } from "./dom.js";

/** @typedef {import("./placing.js").Target} Target */

export class ExtraMarks {
  #list = html("div", { class: "cl-menu" });
  #onChoose;

  /** @param {(target: Target, byKey: boolean) => void} onChoose */
  constructor(onChoose) {
    this.#onChoose = onChoose;
    this.element = html(
      "details", {
        class: "cl-extra",
        onkeydown: (/** @type {KeyboardEvent} */ event) => event.key === "Escape" && this.close(),
        onfocusout: (/** @type {FocusEvent} */ event) =>
          event.relatedTarget && !this.element.contains(event.relatedTarget) && this.close(),
      },
      html("summary", { class: "cl-button" }, "Add a mark"), this.#list,
    );
  }

  /** @param {{target: Target, label: string}[]} offers */
  draw(offers) {
    const key = offers.map(({ label }) => label).join();
    if (this.#list.dataset.key === key) return;
    this.#list.dataset.key = key;
    this.#list.replaceChildren(
      ...offers.map(({ target, label }) =>
        html("button", {
          type: "button",
          onclick: (/** @type {MouseEvent} */ event) => {
            this.close();
            this.#onChoose(target, event.detail === 0);
          },
        }, label),
      ),
    );
  }

  close() {
    this.element.open = false;
  }
}
