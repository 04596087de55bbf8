/**
 * What stands behind the line: the video itself, or its frames one by one, or nothing.
 *
 * Every kind has the same face:
 *
 * @typedef {object} Ground
 * @property {(t_s: number) => void} seek
 * @property {() => void} play
 * @property {() => void} pause
 * @property {boolean} playing
 *
 * @typedef {object} On what it tells
 * @property {(t_s: number) => void} shown this moment stands on the screen now
 * @property {() => void} changed it began or stopped playing
 */

/** Asking exactly for a frame's time may give the one before it. */
const INTO_THE_FRAME_S = 0.001;
/** A still picture is fetched when the hand rests so long [ms]. */
const REST_MS = 120;

/** The video, where the browser can play it. @implements {Ground} */
export class Film {
  #video;
  #on;
  #wanted = /** @type {number | null} */ (null);

  /** @param {HTMLVideoElement} video @param {On} on */
  constructor(video, on) {
    this.#video = video;
    this.#on = on;
    for (const event of ["play", "pause", "ended"]) video.addEventListener(event, () => on.changed());
    video.addEventListener("seeked", () => this.#next());
    if ("requestVideoFrameCallback" in video) this.#watchFrames();
    else this.#watchClock();
  }

  get playing() {
    return !this.#video.paused && !this.#video.ended;
  }

  play() {
    // Refused where the browser wants a touch first: the button stays as it is.
    this.#video.play().catch(() => this.#on.changed());
  }

  pause() {
    this.#video.pause();
  }

  /** Only the last of many wishes counts: a slow machine must not work off every step of a drag. @param {number} t_s */
  seek(t_s) {
    this.#wanted = t_s;
    if (!this.#video.seeking) this.#next();
  }

  #next() {
    if (this.#wanted === null) return;
    const t_s = this.#wanted;
    this.#wanted = null;
    this.#video.currentTime = t_s + INTO_THE_FRAME_S;
  }

  #watchFrames() {
    this.#video.requestVideoFrameCallback((_, { mediaTime }) => {
      this.#on.shown(mediaTime);
      this.#watchFrames();
    });
  }

  #watchClock() {
    const tell = () => this.#on.shown(this.#video.currentTime);
    const run = () => {
      tell();
      if (this.playing) requestAnimationFrame(run);
    };
    for (const event of ["seeked", "loadeddata", "timeupdate"]) this.#video.addEventListener(event, tell);
    this.#video.addEventListener("play", run);
  }
}

/** Frames that the server reads, where the browser cannot; without an address the line alone. @implements {Ground} */
export class Stills {
  #picture;
  #address;
  #end_s;
  #on;
  #at_s = 0;
  #timer = 0;
  #since = /** @type {{clock: number, t_s: number} | null} */ (null);

  /**
   * @param {HTMLImageElement} picture
   * @param {object} how
   * @param {((t_s: number) => string) | null} how.address of the frame at a moment
   * @param {number} how.end_s
   * @param {On} how.on
   */
  constructor(picture, { address, end_s, on }) {
    this.#picture = picture;
    this.#address = address;
    this.#end_s = end_s;
    this.#on = on;
    picture.addEventListener("load", () => {
      picture.hidden = this.playing;
      if (!this.playing) on.shown(Number(picture.dataset.at));
    });
    picture.addEventListener("error", () => {
      picture.hidden = true;
      on.shown(this.#at_s);
    });
  }

  get playing() {
    return this.#since !== null;
  }

  play() {
    if (this.playing) return;
    if (this.#at_s >= this.#end_s - 0.05) this.#at_s = 0;
    this.#since = { clock: performance.now(), t_s: this.#at_s };
    // A picture of another moment behind a moving line would lie.
    this.#picture.hidden = true;
    clearTimeout(this.#timer);
    this.#on.changed();
    requestAnimationFrame(() => this.#run());
  }

  pause() {
    if (!this.playing) return;
    this.#since = null;
    this.#on.changed();
    this.seek(this.#at_s);
  }

  /** @param {number} t_s */
  seek(t_s) {
    this.#at_s = t_s;
    if (this.#since) this.#since = { clock: performance.now(), t_s };
    if (this.#address === null || this.playing) {
      this.#on.shown(t_s);
      return;
    }
    if (this.#picture.hidden) this.#on.shown(t_s);
    clearTimeout(this.#timer);
    const address = this.#address(t_s);
    this.#timer = window.setTimeout(() => {
      this.#picture.dataset.at = String(t_s);
      this.#picture.src = address;
    }, REST_MS);
  }

  #run() {
    if (!this.#since) return;
    this.#at_s = Math.min(this.#end_s, this.#since.t_s + (performance.now() - this.#since.clock) / 1000);
    this.#on.shown(this.#at_s);
    if (this.#at_s >= this.#end_s) this.pause();
    else requestAnimationFrame(() => this.#run());
  }
}
