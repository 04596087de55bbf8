/**
 * The stretch of time that scrubber and traces show: from seconds of the video to shares of a width.
 */

/** Room before and after the part that was measured [share of it]. */
const MARGIN = 0.06;
/** A part that is shorter than this share of the video is shown by itself. */
const PART = 0.7;

export class Timeline {
  #whole;
  #listeners = /** @type {(() => void)[]} */ ([]);

  /** First and last moment that are shown [s]. */
  from_s = 0;
  to_s;

  /** @param {number} duration_s of the video */
  constructor(duration_s) {
    this.#whole = Math.max(duration_s, 0.1);
    this.to_s = this.#whole;
  }

  get duration_s() {
    return this.#whole;
  }

  /** @param {() => void} listener called when another stretch is shown */
  onChange(listener) {
    this.#listeners.push(listener);
  }

  /** Show one part with a little room around it; all of the video where the part is most of it. @param {number} from_s @param {number} to_s */
  showPart(from_s, to_s) {
    const long = to_s - from_s;
    if (!(long > 0) || long > PART * this.#whole) {
      this.showAll();
      return;
    }
    this.#show(Math.max(0, from_s - MARGIN * long), Math.min(this.#whole, to_s + MARGIN * long));
  }

  showAll() {
    this.#show(0, this.#whole);
  }

  /** @param {number} from_s @param {number} to_s */
  #show(from_s, to_s) {
    if (from_s === this.from_s && to_s === this.to_s) return;
    this.from_s = from_s;
    this.to_s = to_s;
    for (const listener of this.#listeners) listener();
  }

  /** @param {number} t_s @returns {number} 0 at the left, 1 at the right; never outside */
  share(t_s) {
    return Math.min(1, Math.max(0, (t_s - this.from_s) / (this.to_s - this.from_s)));
  }

  /** @param {number} t_s */
  shows(t_s) {
    return t_s >= this.from_s && t_s <= this.to_s;
  }

  /** @param {PointerEvent} event @param {Element} strip @returns {number} the moment under a pointer [s] */
  under(event, strip) {
    const { left, width } = strip.getBoundingClientRect();
    const share = Math.min(1, Math.max(0, (event.clientX - left) / Math.max(1, width)));
    return this.from_s + share * (this.to_s - this.from_s);
  }
}

/**
 * Follow a finger or a mouse along a strip. Up and down the page still scrolls.
 *
 * @param {HTMLElement} strip
 * @param {Timeline} timeline
 * @param {(t_s: number) => void} onMove
 */
export function followPointer(strip, timeline, onMove) {
  const held = new Set();
  strip.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    held.add(event.pointerId);
    strip.setPointerCapture(event.pointerId);
    onMove(timeline.under(event, strip));
  });
  strip.addEventListener("pointermove", (event) => {
    if (held.has(event.pointerId)) onMove(timeline.under(event, strip));
  });
  for (const end of /** @type {const} */ (["pointerup", "pointercancel"])) {
    strip.addEventListener(end, (event) => held.delete(event.pointerId));
  }
}
