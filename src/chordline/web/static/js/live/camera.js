/** The device's camera: opened by a press, closed by a press, its pictures handed on one by one. */

/** What to do about each way in which a camera is not there. */
const REFUSALS = /** @type {Record<string, string>} */ ({
  NotAllowedError: "The camera was refused. Allow it for this page, by the sign in the address bar or in the browser’s settings, and tap again.",
  SecurityError: "The camera was refused. Allow it for this page in the browser’s settings, and tap again.",
  NotFoundError: "No camera was found. Plug one in, or open this page on a device that has one, and tap again.",
  OverconstrainedError: "That camera is not there any more. Choose another one, and tap again.",
  NotReadableError: "The camera cannot be used; another program may have it. Close that program, and tap again.",
  AbortError: "The camera stopped. Tap again.",
});
const INSECURE =
  "A browser lends its camera only to pages of its own machine or with https. Open chordline on the machine it runs on, " +
  "at the address that begins with http://127.0.0.1, and put that machine beside the mat.";

/** A camera that cannot be opened; the message says what to do. */
export class CameraError extends Error {}

export class Camera {
  #video;
  #canvas = document.createElement("canvas");
  /** @type {MediaStream | null} */
  #stream = null;

  /** @param {HTMLVideoElement} video @param {{onEnd: () => void}} how told when the camera goes away by itself */
  constructor(video, { onEnd }) {
    this.#video = video;
    this.onEnd = onEnd;
  }

  /** @returns {boolean} whether a picture is there */
  get isOpen() {
    return this.#stream !== null && this.#video.videoWidth > 0;
  }

  get width() {
    return this.#video.videoWidth;
  }

  get height() {
    return this.#video.videoHeight;
  }

  /** @returns {string} the id of the camera that is open; empty where none is */
  get id() {
    return this.#stream?.getVideoTracks()[0]?.getSettings().deviceId ?? "";
  }

  /** @param {string} id which camera; empty = the one that looks at her */
  async open(id) {
    if (!window.isSecureContext || !navigator.mediaDevices?.getUserMedia) throw new CameraError(INSECURE);
    const which = id ? { deviceId: { exact: id } } : { facingMode: "user" };
    let stream;
    try {
      stream = await navigator.mediaDevices.getUserMedia({
        audio: false,
        video: { ...which, width: { ideal: 1280 }, height: { ideal: 960 }, frameRate: { ideal: 30 } },
      });
    } catch (error) {
      const name = error instanceof Error ? error.name : "";
      throw new CameraError(REFUSALS[name] ?? "The camera does not open. Unplug it, plug it in, and tap again.");
    }
    // Of two starts that overlap, one camera stays open.
    this.close();
    this.#stream = stream;
    for (const track of stream.getVideoTracks()) track.addEventListener("ended", () => this.onEnd());
    this.#video.srcObject = stream;
    await this.#video.play().catch(() => undefined);
  }

  close() {
    for (const track of this.#stream?.getTracks() ?? []) track.stop();
    this.#stream = null;
    this.#video.srcObject = null;
  }

  /** @returns {Promise<{id: string, label: string}[]>} the cameras there are */
  async all() {
    const devices = await navigator.mediaDevices.enumerateDevices();
    return devices
      .filter(({ kind }) => kind === "videoinput")
      .map(({ deviceId, label }, index) => ({ id: deviceId, label: label || `Camera ${index + 1}` }));
  }

  /**
   * @param {number} mostPx long side @param {number} quality 0 … 1
   * @returns {Promise<Blob | null>} the picture as it is now, as JPEG; none before the first
   */
  picture(mostPx, quality) {
    if (!this.isOpen) return Promise.resolve(null);
    const scale = Math.min(1, mostPx / Math.max(this.width, this.height));
    this.#canvas.width = Math.round(this.width * scale);
    this.#canvas.height = Math.round(this.height * scale);
    this.#canvas.getContext("2d")?.drawImage(this.#video, 0, 0, this.#canvas.width, this.#canvas.height);
    return new Promise((resolve) => this.#canvas.toBlob(resolve, "image/jpeg", quality));
  }
}
