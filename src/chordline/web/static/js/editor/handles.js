/**
 * One focusable button a landmark, in the order malleolus to hand; touched from 44 px around.
 *
 * @typedef {import("./model.js").Model} Model
 * @typedef {import("../geometry/angles.js").Point} Point
 */

import { CURVES, curveOf, curvePoints, LANDMARKS } from "../geometry/body.js";
import { html } from "./dom.js";

/** How far from a landmark a finger or a mouse still takes hold of it [screen px]. */
const REACH_PX = { touch: 34, pen: 26, mouse: 22 };

/** Side of a handle's button [screen px]. */
const SIZE_PX = { least: 24, most: 48 };

export class Handles {
  #viewport;
  #buttons = /** @type {Map<string, HTMLButtonElement>} */ (new Map());

  /**
   * @param {import("./viewport.js").Viewport} viewport
   * @param {(name: string | null) => void} onFocus
   */
  constructor(viewport, onFocus) {
    this.#viewport = viewport;
    this.element = html("div", {
      class: "cl-handles",
      role: "application",
      "aria-label": "Landmarks on the photo: Tab goes from one to the next, arrows move it",
      onfocusin: (/** @type {FocusEvent} */ event) => onFocus(nameOf(event.target)),
      onfocusout: () => onFocus(null),
    });
  }

  /** @param {Model} model */
  draw(model) {
    const names = inOrder(Object.keys(model.body.points));
    const shown = [...this.#buttons.keys()];
    if (names.length !== shown.length || names.some((name, i) => name !== shown[i])) {
      this.#rebuild(names);
    }
    for (const name of names) {
      const button = /** @type {HTMLButtonElement} */ (this.#buttons.get(name));
      const mark = model.marks.landmarks[name];
      const { x, y } = this.#viewport.toScreen(model.body.points[name]);
      button.style.transform = `translate(${x.toFixed(2)}px, ${y.toFixed(2)}px)`;
      const label = `${name.replace("_", " ")}, ${Math.round(mark.x_px)} right, ${Math.round(mark.y_px)} down`;
      if (button.getAttribute("aria-label") !== label) button.setAttribute("aria-label", label);
      button.classList.toggle("is-widest", name === model.widest);
    }
  }

  /** @param {string[]} names */
  #rebuild(names) {
    const focused = nameOf(document.activeElement);
    const kept = new Map(this.#buttons);
    this.#buttons.clear();
    for (const name of names) {
      const button = kept.get(name) ?? html("button", {
        type: "button",
        class: `cl-handle cl-handle-${curveOf(name) ? "curve" : "joint"}`,
        "data-landmark": name,
        "aria-roledescription": "landmark",
      }, html("span", { class: "cl-spot", "aria-hidden": "true" }));
      this.#buttons.set(name, button);
    }
    this.element.replaceChildren(...this.#buttons.values());
    if (focused && this.#buttons.has(focused)) this.focus(focused);
  }

  /**
   * What does not change while a finger is down: which landmarks stand back from the line, and how
   * large a button may be without covering its neighbour. Any touch near it counts all the same.
   *
   * @param {Model} model
   */
  settle({ body, path }) {
    const spots = Object.entries(body.points).map(([name, p]) => ({ name, ...this.#viewport.toScreen(p) }));
    for (const { name, x, y } of spots) {
      const button = this.#buttons.get(name);
      if (!button) continue;
      const apart = spots.map((other) =>
        other.name === name ? Infinity : Math.max(Math.abs(other.x - x), Math.abs(other.y - y)),
      );
      const size = Math.min(SIZE_PX.most, Math.max(SIZE_PX.least, Math.min(...apart)));
      button.style.setProperty("--cl-size", `${size.toFixed(1)}px`);
      button.classList.toggle("is-aside", curveOf(name) === null && !path.includes(name));
    }
  }

  /** @param {string} name */
  focus(name) {
    this.#buttons.get(name)?.focus({ preventScroll: true });
  }

  /**
   * The landmark that a pointer takes hold of: the nearest, not the one on top.
   *
   * @param {Point} at [screen px]
   * @param {Model} model
   * @param {string} pointerType
   * @returns {string | null}
   */
  nearest(at, model, pointerType) {
    let [found, least] = [/** @type {string | null} */ (null), REACH_PX[pointerType] ?? REACH_PX.touch];
    for (const [name, point] of Object.entries(model.body.points)) {
      const spot = this.#viewport.toScreen(point);
      const apart = Math.hypot(spot.x - at.x, spot.y - at.y) - (model.path.includes(name) ? 4 : 0);
      if (apart < least) [found, least] = [name, apart];
    }
    return found;
  }
}

/** @param {EventTarget | null} target @returns {string | null} the landmark of a handle. */
export function nameOf(target) {
  return (target instanceof Element && target.closest("[data-landmark]")?.getAttribute("data-landmark")) || null;
}

/** @param {readonly string[]} names @returns {string[]} malleolus to hand, the head, the curves. */
function inOrder(names) {
  const joints = LANDMARKS.filter((name) => names.includes(name));
  return [...joints, ...CURVES.flatMap((curve) => curvePoints(curve, names))];
}
