/**
 * Buttons: a column of tools at the photo's edge, and what finishes a photo at the panel's end.
 *
 * @typedef {Record<"undo" | "redo" | "zoomIn" | "zoomOut" | "fit" | "help" | "flip" | "confirm" |
 *   "next" | "previous" | "save", () => void>} ControlActions
 */

import { html, say } from "./dom.js";
import { icon } from "./svg.js";

const ICONS = {
  undo: "M8 5L3.5 9.5L8 14M4 9.5H14.5A5 5 0 0 1 14.5 19.5H9",
  redo: "M16 5L20.5 9.5L16 14M20 9.5H9.5A5 5 0 0 0 9.5 19.5H15",
  zoomIn: "M12 5V19M5 12H19",
  zoomOut: "M5 12H19",
  fit: "M4 9V4H9M15 4H20V9M20 15V20H15M9 20H4V15",
  help: "M9 9.2A3 3 0 1 1 12.6 12.1C12.1 12.3 12 12.8 12 13.6M12 17.4V17.5",
  flip: "M7 5L3 9L7 13M3 9H15M17 11L21 15L17 19M21 15H9",
  previous: "M15 5L8 12L15 19",
  next: "M9 5L16 12L9 19",
};

export class Controls {
  #buttons = /** @type {Record<string, HTMLButtonElement>} */ ({});
  #state = html("p", { class: "cl-state", role: "status" });
  #stateText = html("span", {});
  #save;
  #saving;
  #near = html("span", {});
  #belly = html("span", { class: "cl-small" });

  /**
   * @param {ControlActions} actions
   * @param {HTMLElement} extra the list of marks to add
   */
  constructor(actions, extra) {
    const tool = (/** @type {string} */ key, /** @type {string} */ label, /** @type {string} */ keys) => {
      const button = html("button", {
        type: "button", class: "cl-tool", "aria-label": label, title: `${label} (${keys})`, onclick: actions[key],
      }, icon(ICONS[key]));
      this.#buttons[key] = button;
      return button;
    };
    this.tools = html(
      "div", { class: "cl-tools", role: "group", "aria-label": "Picture and steps" },
      html("div", { class: "cl-toolset" },
        tool("zoomIn", "Zoom in", "+"), tool("zoomOut", "Zoom out", "−"), tool("fit", "Fit", "0")),
      html("div", { class: "cl-toolset" }, tool("help", "Help", "?")),
      html("div", { class: "cl-toolset" }, tool("undo", "Undo", "u"), tool("redo", "Redo", "Shift Ctrl Z")),
    );
    this.#save = html("button", { type: "button", class: "cl-link", onclick: actions.save }, "Save");
    this.#state.append(this.#stateText);
    this.#buttons.flip = html(
      "button", { type: "button", class: "cl-button", title: "The other side is near (f)", onclick: actions.flip },
      icon(ICONS.flip), html("span", { class: "cl-two" }, this.#near, " ", this.#belly),
    );
    const confirm = html("button", {
      type: "button", class: "cl-button cl-primary", title: "Save and show the next photo (Enter)", onclick: actions.confirm,
    }, "It is right");
    this.finish = html(
      "div", { class: "cl-finish" },
      (this.#saving = html("div", { class: "cl-row cl-saving" }, this.#state, this.#save)),
      html("div", { class: "cl-row" }, this.#buttons.flip, extra),
      html("div", { class: "cl-row" }, tool("previous", "Previous photo", "p"), confirm, tool("next", "Next photo, without saying that this one is right", "n")),
    );
  }

  /**
   * @param {object} now
   * @param {boolean} now.canUndo
   * @param {boolean} now.canRedo
   * @param {"left" | "right"} now.nearSide
   * @param {string} now.front
   * @param {boolean} now.dirty
   * @param {import("./saver.js").Saver["state"]} now.saving
   * @param {string} now.reason
   */
  draw({ canUndo, canRedo, nearSide, front, dirty, saving, reason }) {
    // Not `disabled`: the focus would fall out of the editor after the last step back.
    this.#buttons.undo.setAttribute("aria-disabled", String(!canUndo));
    this.#buttons.redo.setAttribute("aria-disabled", String(!canRedo));
    say(this.#near, `${nearSide === "left" ? "Left" : "Right"} side near`);
    say(this.#belly, `belly ${towards(front)}`);
    const told = {
      saving: "Saving …",
      stale: "Not saved: somebody else changed these marks",
      failed: `Not saved. ${reason}`,
      idle: dirty ? "Changed, not saved yet" : "",
    };
    say(this.#stateText, told[saving]);
    this.#saving.classList.toggle("is-quiet", told[saving] === "");
    this.#save.hidden = !(dirty && (saving === "idle" || saving === "failed"));
    say(this.#save, saving === "failed" ? "Try again" : "Save");
  }
}

/** @param {string} front */
function towards(front) {
  return front === "left" || front === "right" ? `to the ${front}` : front;
}
