/**
 * Photo pixels ↔ screen pixels, and nothing else: zoom, pan, fit. The only place that knows them.
 *
 * Photo px: x right, y down, the centre of the first pixel is (0, 0).
 * Screen px: CSS pixels of the stage's own layout, from its upper left corner. A container that is
 * scaled by CSS, and a display with two device pixels a CSS pixel, change neither of the two.
 *
 * @typedef {import("../geometry/angles.js").Point} Point
 * @typedef {{left: number, top: number, right: number, bottom: number}} Box
 */

const MAX_SCALE = 12;
/** How much of the stage the photo must at least reach into [screen px]. */
const KEEP_PX = 80;

export class Viewport {
  /** @param {{width_px: number, height_px: number}} photo */
  constructor(photo) {
    this.photo = photo;
    this.width = 1;
    this.height = 1;
    /** Screen px a photo px. */
    this.scale = 1;
    this.left = 0;
    this.top = 0;
    this.client = { left: 0, top: 0, across: 1, down: 1 };
    /** Room at the stage's edges that controls cover [screen px]. @type {Box} */
    this.inset = { left: 0, top: 0, right: 0, bottom: 0 };
  }

  /**
   * Tell the stage's layout size [screen px] and where the browser shows it [client px].
   *
   * @param {number} width @param {number} height
   * @param {{left: number, top: number, width: number, height: number}} shown
   */
  place(width, height, shown) {
    this.width = width;
    this.height = height;
    this.client = {
      left: shown.left,
      top: shown.top,
      across: shown.width > 0 ? width / shown.width : 1,
      down: shown.height > 0 ? height / shown.height : 1,
    };
  }

  /** @param {{clientX: number, clientY: number}} event @returns {Point} [screen px] */
  ofClient({ clientX, clientY }) {
    const { left, top, across, down } = this.client;
    return { x: (clientX - left) * across, y: (clientY - top) * down };
  }

  /** @param {Point} photo [photo px] @returns {Point} [screen px] */
  toScreen({ x, y }) {
    return { x: this.left + (x + 0.5) * this.scale, y: this.top + (y + 0.5) * this.scale };
  }

  /** @param {Point} screen [screen px] @returns {Point} [photo px] */
  toPhoto({ x, y }) {
    return { x: (x - this.left) / this.scale - 0.5, y: (y - this.top) / this.scale - 0.5 };
  }

  /** @returns {string} CSS transform of the picture at one CSS pixel a photo pixel. */
  get pictureTransform() {
    return `translate(${this.left}px, ${this.top}px) scale(${this.scale})`;
  }

  /** @param {Point} at stays where it is [screen px] @param {number} factor */
  zoomAt(at, factor) {
    const fixed = this.toPhoto(at);
    this.scale = Math.min(MAX_SCALE, Math.max(this.#smallest(), this.scale * factor));
    this.#bring(fixed, at);
  }

  /** @param {number} dx [screen px] @param {number} dy [screen px] */
  panBy(dx, dy) {
    this.left += dx;
    this.top += dy;
    this.#keepInSight();
  }

  /**
   * Show a part of the photo as large as the stage allows; never smaller than the whole photo.
   *
   * @param {Box} box [photo px]
   */
  fit(box) {
    const { inset } = this;
    const room = {
      width: Math.max(40, this.width - inset.left - inset.right),
      height: Math.max(40, this.height - inset.top - inset.bottom),
    };
    const scale = Math.min(room.width / (box.right - box.left), room.height / (box.bottom - box.top));
    this.scale = Math.min(MAX_SCALE, Math.max(scale, this.#whole()));
    const middle = { x: (box.left + box.right) / 2, y: (box.top + box.bottom) / 2 };
    this.#bring(middle, { x: inset.left + room.width / 2, y: inset.top + room.height / 2 });
    this.#fillStage();
  }

  /** Show the whole photo. */
  fitWhole() {
    this.scale = this.#whole();
    this.left = (this.width - this.photo.width_px * this.scale) / 2;
    this.top = (this.height - this.photo.height_px * this.scale) / 2;
  }

  /** Bring a place into sight, e.g. the landmark that has the focus. @param {Point} photo [photo px] */
  reveal(photo) {
    const at = this.toScreen(photo);
    const margin = 48;
    const dx = Math.min(Math.max(at.x, margin), this.width - margin) - at.x;
    const dy = Math.min(Math.max(at.y, margin), this.height - margin) - at.y;
    if (dx === 0 && dy === 0) return false;
    this.left += dx;
    this.top += dy;
    return true;
  }

  #whole() {
    return Math.min(this.width / this.photo.width_px, this.height / this.photo.height_px);
  }

  #smallest() {
    return 0.8 * this.#whole();
  }

  /** @param {Point} photo @param {Point} screen */
  #bring(photo, screen) {
    this.left = screen.x - (photo.x + 0.5) * this.scale;
    this.top = screen.y - (photo.y + 0.5) * this.scale;
    this.#keepInSight();
  }

  #keepInSight() {
    const [width, height] = [this.photo.width_px * this.scale, this.photo.height_px * this.scale];
    this.left = Math.min(this.width - KEEP_PX, Math.max(KEEP_PX - width, this.left));
    this.top = Math.min(this.height - KEEP_PX, Math.max(KEEP_PX - height, this.top));
  }

  /** Leave no empty strip on one side while the photo is cut off on the other. */
  #fillStage() {
    this.left = filled(this.left, this.photo.width_px * this.scale, this.width);
    this.top = filled(this.top, this.photo.height_px * this.scale, this.height);
  }
}

/** @param {number} start @param {number} length of the photo @param {number} room of the stage */
function filled(start, length, room) {
  return length <= room ? (room - length) / 2 : Math.min(0, Math.max(room - length, start));
}
