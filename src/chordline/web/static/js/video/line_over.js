/**
 * Her line over the moment that stands on the screen; none where she was lost.
 */

import { LinePicture } from "../live/line_picture.js";

export class LineOver {
  #picture;
  #lost;
  #track;
  #path;
  #broke;
  #alone;
  /** The part of the video's picture that is shown. */
  frame;

  /**
   * @param {SVGSVGElement} svg
   * @param {HTMLElement} lost said where she was lost
   * @param {object} how
   * @param {import("./track.js").Track} how.track
   * @param {readonly string[]} how.path landmarks from the chord's first end to its last
   * @param {import("./traces.js").Break | null} how.broke
   * @param {boolean} how.alone nothing stands behind it
   */
  constructor(svg, lost, { track, path, broke, alone }) {
    this.#picture = new LinePicture(svg);
    this.#lost = lost;
    this.#track = track;
    this.#path = path;
    this.#broke = broke;
    this.#alone = alone;
    this.frame = alone ? track.extent(path) : { x: 0, y: 0, width: track.width_px, height: track.height_px };
  }

  /** @param {number} t_s */
  draw(t_s) {
    const frame = this.frame;
    const points = this.#track.at(this.#path, t_s);
    const times = this.#track.t_s;
    const inside = t_s >= times[0] && t_s <= times[times.length - 1];
    this.#lost.hidden = points !== null || !(inside || this.#alone);
    if (!points) {
      this.#picture.clear();
      return;
    }
    const landmarks = Object.fromEntries(Object.entries(points).map(([name, { x, y }]) => [name, [(x - frame.x) / frame.width, (y - frame.y) / frame.height]]));
    const broken = this.#broke !== null && t_s >= this.#broke.at_s;
    const measures = broken ? [{ name: /** @type {any} */ (this.#broke).measure, tone: "off" }] : [];
    this.#picture.draw(/** @type {any} */ ({ chord: this.#path, landmarks, measures }), frame.width, frame.height);
  }
}
