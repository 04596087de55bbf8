/** The bar over the picture: what to tap next, or what can be done with the mark in hand. */

import { html, say } from "./dom.js";

export class PromptBar {
  #text = html("span", {});
  #actions = html("span", { class: "cl-prompt-actions" });
  #onAction;

  /** @param {(action: string, byKey: boolean) => void} onAction */
  constructor(onAction) {
    this.#onAction = onAction;
    this.element = html("div", { class: "cl-prompt", hidden: true }, this.#text, this.#actions);
  }

  /** @param {{text: string, actions: string[]} | null} prompt */
  draw(prompt) {
    this.element.hidden = prompt === null;
    if (!prompt) return;
    say(this.#text, prompt.text);
    const key = prompt.actions.join();
    if (this.#actions.dataset.key === key) return;
    this.#actions.dataset.key = key;
    this.#actions.replaceChildren(
      ...prompt.actions.map((action) =>
        html("button", {
          type: "button",
          class: "cl-button",
          // The mark in hand keeps the focus under a pointer.
          onpointerdown: (/** @type {PointerEvent} */ event) => event.preventDefault(),
          onclick: (/** @type {MouseEvent} */ event) => this.#onAction(action, event.detail === 0),
        }, action[0].toUpperCase() + action.slice(1)),
      ),
    );
  }
}
