/** A tone that lasts while the shape does; a lower, softer one while it is close. Made here. */

const HERTZ = { on: 523, close: 392 };
const LOUDNESS = { on: 0.22, close: 0.06 };
const GLIDE_S = 0.06;

export class Hum {
  /** @type {AudioContext | null} */
  #audio = null;
  /** @type {OscillatorNode | null} */
  #tone = null;
  /** @type {GainNode | null} */
  #gain = null;
  isOn = false;

  /** Switch on or off; browsers allow sound only after a press. */
  toggle() {
    this.isOn = !this.isOn;
    if (this.isOn) this.#begin();
    else this.play("unknown");
    return this.isOn;
  }

  /** @param {import("./link.js").Tone} tone */
  play(tone) {
    if (this.#audio === null || this.#tone === null || this.#gain === null) return;
    const now = this.#audio.currentTime;
    const sounds = this.isOn && (tone === "on" || tone === "close");
    this.#gain.gain.setTargetAtTime(sounds ? LOUDNESS[tone] : 0, now, GLIDE_S);
    if (sounds) this.#tone.frequency.setTargetAtTime(HERTZ[tone], now, GLIDE_S);
  }

  #begin() {
    this.#audio ??= new AudioContext();
    void this.#audio.resume();
    if (this.#tone !== null) return;
    this.#tone = this.#audio.createOscillator();
    this.#gain = this.#audio.createGain();
    this.#gain.gain.value = 0;
    this.#tone.connect(this.#gain).connect(this.#audio.destination);
    this.#tone.start();
  }
}
