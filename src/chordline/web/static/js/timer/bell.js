/** A bell of two tones, made here: nothing is loaded. Silent until switched on by a press. */

const SHORT_S = 0.18;
const LONG_S = 0.9;

export class Bell {
  /** @type {AudioContext | null} */
  #audio = null;
  isOn = false;

  /** Switch on or off; browsers allow sound only after a press. */
  toggle() {
    this.isOn = !this.isOn;
    if (this.isOn) {
      this.#audio ??= new AudioContext();
      void this.#audio.resume();
      this.#tone(660, 0, SHORT_S);
    }
    return this.isOn;
  }

  /** The last seconds of a part. */
  tick() {
    this.#tone(660, 0, SHORT_S);
  }

  /** The end of a part. */
  end() {
    this.#tone(880, 0, LONG_S);
    this.#tone(660, LONG_S / 2, LONG_S);
  }

  /**
   * @param {number} hertz
   * @param {number} afterS
   * @param {number} lengthS
   */
  #tone(hertz, afterS, lengthS) {
    const audio = this.#audio;
    if (!this.isOn || audio === null) return;
    const from = audio.currentTime + afterS;
    const tone = audio.createOscillator();
    const loudness = audio.createGain();
    tone.frequency.value = hertz;
    loudness.gain.setValueAtTime(0.0001, from);
    loudness.gain.exponentialRampToValueAtTime(0.6, from + 0.02);
    loudness.gain.exponentialRampToValueAtTime(0.0001, from + lengthS);
    tone.connect(loudness).connect(audio.destination);
    tone.start(from);
    tone.stop(from + lengthS);
  }
}
