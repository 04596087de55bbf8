/**
 * Photos and videos on their way in: each by itself, two photos at a time and one video, again
 * after a lost connection.
 *
 * @typedef {"waits" | "goes" | "filed" | "there" | "refused" | "stopped"} State
 *
 * @typedef {object} Upload
 * @property {number} key
 * @property {File} file
 * @property {import("./file_kind.js").Kind} kind
 * @property {Record<string, string>} said day, test, gymnast as they were when it was chosen
 * @property {State} state
 * @property {number} sent share of the file, 0 … 1
 * @property {string} reason why it was refused
 * @property {any} photo what the server answered
 */

import { formKey, NO_CONNECTION } from "./answers.js";

const AT_ONCE = 2;
const ADDRESSES = { picture: "/api/photos", video: "/api/videos" };
const FIRST_WAIT_S = 1;
const LONGEST_WAIT_S = 30;

export class Uploads {
  #onChange;
  #mostBytes;
  #running = /** @type {Map<Upload, XMLHttpRequest>} */ (new Map());
  #waitS = FIRST_WAIT_S;
  #timer = 0;

  /** @type {Upload[]} */
  all = [];
  /** Seconds until the next try after a lost connection; 0 = connected. */
  lostForS = 0;

  /** @param {{onChange: (changed: Upload | null) => void, mostBytes: number}} how */
  constructor({ onChange, mostBytes }) {
    this.#onChange = onChange;
    this.#mostBytes = mostBytes;
    window.addEventListener("online", () => this.#goOn());
  }

  /** @returns {boolean} whether something is on its way or waits for it */
  get busy() {
    return this.all.some(({ state }) => state === "waits" || state === "goes");
  }

  /** @param {State} state @returns {number} */
  count(state) {
    return this.all.filter((one) => one.state === state).length;
  }

  /** @returns {number} share of all bytes that went up, 0 … 1 */
  get share() {
    const whole = this.all.reduce((sum, { file }) => sum + file.size, 0);
    const sent = this.all.reduce((sum, one) => sum + one.file.size * one.sent, 0);
    return whole > 0 ? sent / whole : this.all.length > 0 ? 1 : 0;
  }

  /** @param {File[]} files @param {Record<string, string>} said @param {import("./file_kind.js").Kind} [kind] */
  add(files, said, kind = "picture") {
    for (const file of files) {
      /** @type {Upload} */
      const upload = { key: this.all.length, file, kind, said, state: "waits", sent: 0, reason: "", photo: null };
      this.all.push(upload);
      if (kind === "picture" && file.size > this.#mostBytes) {
        this.#end(upload, "refused", `It is too large; at most ${Math.round(this.#mostBytes / 1e6)} MB can be read. Save it as a JPEG.`);
      } else {
        this.#onChange(upload);
      }
    }
    this.#fill();
  }

  /** Cancel what has not arrived. */
  stop() {
    clearTimeout(this.#timer);
    this.lostForS = 0;
    for (const upload of this.all) {
      if (upload.state !== "waits" && upload.state !== "goes") continue;
      const request = this.#running.get(upload);
      this.#running.delete(upload);
      this.#end(upload, "stopped", "Stopped.");
      request?.abort();
    }
  }

  /** Send again what was stopped or refused. */
  again() {
    for (const upload of this.all) {
      if (upload.state === "stopped" || upload.state === "refused") this.#wait(upload);
    }
    this.#goOn();
  }

  #goOn() {
    clearTimeout(this.#timer);
    this.lostForS = 0;
    this.#waitS = FIRST_WAIT_S;
    this.#fill();
  }

  #fill() {
    if (this.lostForS > 0) return;
    for (const upload of this.all) {
      if (this.#running.size >= AT_ONCE) return;
      // Two videos at once would each be slower, and a photo behind them would wait for both.
      const inTheWay = upload.kind === "video" && [...this.#running.keys()].some(({ kind }) => kind === "video");
      if (upload.state === "waits" && !inTheWay) this.#send(upload);
    }
  }

  /** @param {Upload} upload */
  #send(upload) {
    const request = new XMLHttpRequest();
    this.#running.set(upload, request);
    upload.state = "goes";
    this.#onChange(upload);
    const query = new URLSearchParams({ name: upload.file.name, ...upload.said });
    request.open("POST", `${ADDRESSES[upload.kind]}?${query}`);
    request.responseType = "json";
    request.setRequestHeader("Content-Type", upload.file.type || "application/octet-stream");
    for (const [name, value] of Object.entries(formKey())) request.setRequestHeader(name, value);
    request.upload.addEventListener("progress", ({ loaded, total }) => {
      upload.sent = total > 0 ? loaded / total : 0;
      this.#onChange(upload);
    });
    request.addEventListener("load", () => this.#answered(upload, request));
    request.addEventListener("error", () => this.#lost(upload));
    request.addEventListener("timeout", () => this.#lost(upload));
    request.send(upload.file);
  }

  /** @param {Upload} upload @param {XMLHttpRequest} request */
  #answered(upload, request) {
    if (!this.#running.has(upload)) return;
    const answer = request.response ?? {};
    if (request.status >= 500 || request.status === 429) {
      this.#lost(upload);
      return;
    }
    this.#running.delete(upload);
    this.#waitS = FIRST_WAIT_S;
    if (request.status === 200 || request.status === 201) {
      upload.photo = answer;
      this.#end(upload, answer.already_there ? "there" : "filed", "");
    } else {
      this.#end(upload, "refused", answer.detail ?? `Refused (${request.status}).`);
    }
    this.#fill();
  }

  /** Nobody answered, or nobody could: wait, longer every time. @param {Upload} upload */
  #lost(upload) {
    if (!this.#running.delete(upload)) return;
    this.#wait(upload);
    if (this.lostForS > 0) return;
    this.lostForS = this.#waitS;
    this.#waitS = Math.min(LONGEST_WAIT_S, this.#waitS * 2);
    this.#countDown();
  }

  #countDown() {
    this.#onChange(null);
    if (this.lostForS <= 0) {
      this.#fill();
      return;
    }
    this.#timer = window.setTimeout(() => {
      this.lostForS -= 1;
      this.#countDown();
    }, 1000);
  }

  /** @param {Upload} upload */
  #wait(upload) {
    upload.state = "waits";
    upload.sent = 0;
    upload.reason = "";
    this.#onChange(upload);
  }

  /** @param {Upload} upload @param {State} state @param {string} reason */
  #end(upload, state, reason) {
    upload.state = state;
    upload.reason = reason;
    upload.sent = state === "stopped" ? 0 : 1;
    this.#onChange(upload);
  }
}

/** @param {Uploads} uploads @returns {string} where they are, in words */
export function wordsOf(uploads) {
  const arrived = uploads.count("filed") + uploads.count("there");
  const videos = uploads.all.filter(({ kind }) => kind === "video").length;
  const noun = videos === 0 ? "photo" : videos === uploads.all.length ? "video" : "file";
  const parts = [`${arrived} of ${uploads.all.length} ${uploads.all.length === 1 ? noun : `${noun}s`} arrived`];
  if (uploads.count("there") > 0) parts.push(`${uploads.count("there")} there already`);
  if (uploads.count("refused") > 0) parts.push(`${uploads.count("refused")} refused`);
  if (uploads.count("stopped") > 0) parts.push(`${uploads.count("stopped")} stopped`);
  const lost = uploads.lostForS > 0 ? ` ${NO_CONNECTION}; trying again in ${uploads.lostForS} s.` : "";
  return `${parts.join(", ")}.${lost}`;
}
