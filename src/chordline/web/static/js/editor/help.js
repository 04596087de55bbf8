/** The help: what fingers, mouse and keys do, in a coach's words. */

import { html } from "./dom.js";

const TOUCH = [
  ["Move a mark", "Put a finger near it and slide. It keeps its distance from your finger, and the round glass shows what is under the cross."],
  ["Zoom", "Two fingers apart or together; the wheel of a mouse."],
  ["Move the picture", "Slide where there is no mark, or with two fingers."],
];
const KEYS = [
  ["Enter", "It is right: save it and show the next photo"],
  ["Tab", "From one mark to the next, ankle to hand"],
  ["Arrows", "Move the mark by one pixel; with Shift by ten"],
  ["u, Ctrl Z", "Undo"],
  ["Shift Ctrl Z", "Redo"],
  ["+ −", "Zoom"],
  ["0", "Her body as large as it fits; once more: the whole photo"],
  ["f", "The other side is near: front and back change places"],
  ["Delete", "Take away an extra mark"],
  ["n, p", "Next and previous photo without saying that this one is right"],
  ["Ctrl S", "Save"],
  ["?", "This help"],
];

export class Help {
  constructor() {
    const rows = (/** @type {string[][]} */ list) =>
      list.flatMap(([term, what]) => [html("dt", {}, term), html("dd", {}, what)]);
    this.element = html(
      "dialog", { class: "cl-help", "aria-labelledby": "cl-help-title" },
      html("h2", { id: "cl-help-title", tabindex: -1, autofocus: "" }, "Checking marks"),
      html("p", {}, "Look whether each mark sits on its joint, on the side near the phone. If it does, press Enter or the large button."),
      html("h3", {}, "With a finger or a mouse"),
      html("dl", {}, ...rows(TOUCH)),
      html("h3", {}, "With keys"),
      html("dl", { class: "cl-keys" }, ...rows(KEYS)),
      html("button", { type: "button", class: "cl-button cl-primary", onclick: () => this.element.close() }, "Close"),
    );
  }

  open() {
    if (!this.element.open) this.element.showModal();
  }
}
