/**
 * A magnified crop with a crosshair near the finger, never under it.
 *
 * @typedef {import("../geometry/angles.js").Point} Point
 */

import { html, say } from "./dom.js";

const SIZE_PX = 136;
/** Room for the caption above the glass [screen px]. */
const CAPTION_PX = 38;
const MAGNIFY = 3;
/** From the finger's middle to the loupe's: clear of a fingertip, and of a mouse's arrow. */
const AWAY_PX = { touch: 118, pen: 104, mouse: 96 };

export class Loupe {
  #picture;
  #viewport;
  #canvas;
  #caption = html("span", {});

  /** @param {HTMLImageElement} picture @param {import("./viewport.js").Viewport} viewport */
  constructor(picture, viewport) {
    this.#picture = picture;
    this.#viewport = viewport;
    this.#canvas = html("canvas");
    this.element = html("div", { class: "cl-loupe", "aria-hidden": "true", hidden: true }, this.#canvas, this.#caption);
  }

  /**
   * @param {Point} photo what is under the crosshair [photo px]
   * @param {Point} finger [screen px]
   * @param {string} pointerType
   * @param {string} caption
   */
  show(photo, finger, pointerType, caption) {
    const place = loupePlace(finger, this.#viewport, AWAY_PX[pointerType] ?? AWAY_PX.touch);
    this.element.hidden = false;
    this.element.style.transform = `translate(${place.x - SIZE_PX / 2}px, ${place.y - SIZE_PX / 2}px)`;
    say(this.#caption, caption);
    this.#draw(photo);
  }

  hide() {
    this.element.hidden = true;
  }

  /** @param {Point} photo */
  #draw(photo) {
    const density = devicePixelRatio || 1;
    const size = Math.round(SIZE_PX * density);
    if (this.#canvas.width !== size) this.#canvas.width = this.#canvas.height = size;
    const context = /** @type {CanvasRenderingContext2D} */ (this.#canvas.getContext("2d"));
    const scale = Math.max(2, MAGNIFY * this.#viewport.scale) * density;
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.clearRect(0, 0, size, size);
    context.setTransform(scale, 0, 0, scale, size / 2 - (photo.x + 0.5) * scale, size / 2 - (photo.y + 0.5) * scale);
    context.drawImage(this.#picture, 0, 0, this.#viewport.photo.width_px, this.#viewport.photo.height_px);
    context.setTransform(density, 0, 0, density, 0, 0);
    const middle = SIZE_PX / 2;
    for (const [colour, width] of [["rgba(255,255,255,.8)", 3], ["#14202b", 1]]) {
      context.strokeStyle = /** @type {string} */ (colour);
      context.lineWidth = /** @type {number} */ (width);
      context.beginPath();
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
        context.moveTo(middle + dx * 5, middle + dy * 5);
        context.lineTo(middle + dx * middle, middle + dy * middle);
      }
      context.stroke();
    }
  }
}

/**
 * Middle of the loupe: above the finger; where there is no room above, beside it, towards the
 * stage's middle.
 *
 * @param {Point} finger [screen px]
 * @param {{width: number, height: number}} stage
 * @param {number} away
 * @returns {Point} [screen px]
 */
export function loupePlace(finger, { width, height }, away) {
  const half = SIZE_PX / 2 + 4;
  const inside = (/** @type {number} */ at, /** @type {number} */ least, /** @type {number} */ room) =>
    Math.min(Math.max(at, least), Math.max(least, room - half));
  if (finger.y - away >= half + CAPTION_PX) return { x: inside(finger.x, half, width), y: finger.y - away };
  const side = finger.x < width / 2 ? 1 : -1;
  return { x: finger.x + side * away, y: inside(finger.y, half + CAPTION_PX, height) };
}
