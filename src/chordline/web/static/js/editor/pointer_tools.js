/**
 * Mouse, pen and fingers on the stage: drag a landmark, place one, pan, pinch, wheel.
 *
 * @typedef {import("../geometry/angles.js").Point} Point
 *
 * @typedef {object} PointerActions
 * @property {(at: Point, pointerType: string) => string | null} landmarkAt at screen px
 * @property {(at: Point, pointerType: string) => boolean} isPlacing whether a touch there sets a
 *   landmark
 * @property {(photo: Point) => string | null} place sets it and returns its name
 * @property {(name: string) => Point} placeOf a landmark [photo px]
 * @property {(name: string) => void} onGrab
 * @property {(name: string, photo: Point, finger: Point, pointerType: string) => void} onDrag
 * @property {(name: string, how: {moved: boolean, placed: boolean}) => void} onDrop
 * @property {(name: string) => void} onCancel
 * @property {() => void} onView the viewport moved
 */

/** A finger that trembles by less has not moved a landmark [screen px]. */
const STILL_PX = { touch: 5, pen: 3, mouse: 1 };
/** A second finger within this distance of the first's start makes a pinch of it [screen px]. */
const PINCH_PX = 14;
const WHEEL_ZOOM = 0.0016;

export class PointerTools {
  #stage;
  #viewport;
  #actions;
  #down = /** @type {Map<number, Point>} */ (new Map());
  #drag = /** @type {null | {id: number, type: string, name: string, start: Point, grip: Point, moved: boolean, placed: boolean}} */ (null);
  #pan = /** @type {null | {id: number, last: Point}} */ (null);
  #pinch = /** @type {null | {middle: Point, spread: number}} */ (null);

  /**
   * @param {HTMLElement} stage
   * @param {import("./viewport.js").Viewport} viewport
   * @param {PointerActions} actions
   * @param {{signal: AbortSignal}} life
   */
  constructor(stage, viewport, actions, { signal }) {
    this.#stage = stage;
    this.#viewport = viewport;
    this.#actions = actions;
    const on = (/** @type {string} */ type, /** @type {(event: any) => void} */ listener, passive = true) =>
      stage.addEventListener(type, listener, { signal, passive });
    on("pointerdown", (event) => this.#onDown(event), false);
    on("pointermove", (event) => this.#onMove(event));
    on("pointerup", (event) => this.#onUp(event));
    on("pointercancel", (event) => this.#onUp(event));
    on("wheel", (event) => this.#onWheel(event), false);
    on("contextmenu", (event) => event.preventDefault(), false);
  }

  get isDragging() {
    return this.#drag !== null;
  }

  /** Put the landmark in hand back to where it was taken from. */
  cancelDrag() {
    if (!this.#drag) return;
    const { name } = this.#drag;
    this.#drag = null;
    this.#actions.onCancel(name);
  }

  /** @param {PointerEvent} event */
  #onDown(event) {
    if (event.pointerType === "mouse" && event.button > 1) return;
    const at = this.#viewport.ofClient(event);
    this.#down.set(event.pointerId, at);
    this.#stage.setPointerCapture(event.pointerId);
    if (this.#down.size === 2) {
      this.#startPinch();
      return;
    }
    if (this.#down.size > 2) return;
    const type = event.pointerType;
    const panning = event.button === 1;
    const placing = !panning && this.#actions.isPlacing(at, type);
    const name = placing
      ? this.#actions.place(this.#viewport.toPhoto(at))
      : panning ? null : this.#actions.landmarkAt(at, type);
    if (name === null) {
      this.#pan = { id: event.pointerId, last: at };
      return;
    }
    // The browser would give the focus to what is under the finger, not to the nearest.
    event.preventDefault();
    const spot = this.#viewport.toScreen(this.#actions.placeOf(name));
    const grip = { x: spot.x - at.x, y: spot.y - at.y };
    this.#drag = { id: event.pointerId, type, name, start: at, grip, moved: placing, placed: placing };
    this.#actions.onGrab(name);
    if (placing) this.#actions.onDrag(name, this.#viewport.toPhoto(at), at, type);
  }

  /** @param {PointerEvent} event */
  #onMove(event) {
    if (!this.#down.has(event.pointerId)) return;
    const at = this.#viewport.ofClient(event);
    this.#down.set(event.pointerId, at);
    if (this.#pinch) {
      this.#movePinch();
    } else if (this.#drag && this.#drag.id === event.pointerId) {
      const drag = this.#drag;
      if (!drag.moved && apart(at, drag.start) < (STILL_PX[drag.type] ?? STILL_PX.touch)) return;
      drag.moved = true;
      const spot = { x: at.x + drag.grip.x, y: at.y + drag.grip.y };
      this.#actions.onDrag(drag.name, this.#viewport.toPhoto(spot), at, drag.type);
    } else if (this.#pan && this.#pan.id === event.pointerId) {
      this.#viewport.panBy(at.x - this.#pan.last.x, at.y - this.#pan.last.y);
      this.#pan.last = at;
      this.#actions.onView();
    }
  }

  /** @param {PointerEvent} event */
  #onUp(event) {
    if (!this.#down.delete(event.pointerId)) return;
    if (this.#pinch) {
      if (this.#down.size < 2) this.#pinch = null;
      const [rest] = this.#down;
      this.#pan = rest ? { id: rest[0], last: rest[1] } : null;
      return;
    }
    if (this.#drag && this.#drag.id === event.pointerId) {
      const { name, moved, placed } = this.#drag;
      this.#drag = null;
      // A gesture that the system takes away keeps what was done: it can be undone.
      this.#actions.onDrop(name, { moved, placed });
    }
    if (this.#pan?.id === event.pointerId) this.#pan = null;
  }

  #startPinch() {
    if (this.#drag) {
      const now = this.#down.get(this.#drag.id);
      if (!now || apart(now, this.#drag.start) > PINCH_PX) return;
      this.cancelDrag();
    }
    this.#pan = null;
    this.#pinch = grasp(this.#down);
  }

  #movePinch() {
    if (!this.#pinch) return;
    const now = grasp(this.#down);
    const { middle, spread } = this.#pinch;
    this.#viewport.panBy(now.middle.x - middle.x, now.middle.y - middle.y);
    if (spread > 0 && now.spread > 0) this.#viewport.zoomAt(now.middle, now.spread / spread);
    this.#pinch = now;
    this.#actions.onView();
  }

  /** @param {WheelEvent} event */
  #onWheel(event) {
    event.preventDefault();
    const px = event.deltaY * (event.deltaMode === 1 ? 16 : 1);
    // A pinch on a trackpad arrives as a wheel with Ctrl and in much smaller steps.
    const by = Math.max(-120, Math.min(120, px)) * (event.ctrlKey ? 6 : 1);
    this.#viewport.zoomAt(this.#viewport.ofClient(event), Math.exp(-by * WHEEL_ZOOM));
    this.#actions.onView();
  }
}

/** Middle and spread of the first two fingers. @param {Map<number, Point>} down */
function grasp(down) {
  const [a, b] = [...down.values()];
  return { middle: { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 }, spread: apart(a, b) };
}

/** @param {Point} a @param {Point} b */
function apart(a, b) {
  return Math.hypot(a.x - b.x, a.y - b.y);
}
