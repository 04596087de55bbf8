/**
 * The list of photos and videos on their way in, with one answer each.
 *
 * @typedef {import("./uploads.js").Upload} Upload
 */

import { wordsOf } from "./uploads.js";

const STATES = { waits: "waits", goes: "goes up", filed: "filed", there: "was there already", refused: "Refused.", stopped: "" };
const SPOKEN_EVERY_MS = 5000;

export class UploadList {
  #section;
  #rows = /** @type {Map<number, {row: HTMLLIElement, told: HTMLElement}>} */ (new Map());
  #spokenAt = 0;
  #drawing = 0;

  /** @param {HTMLElement} section @param {{stop: () => void, again: () => void}} on */
  constructor(section, on) {
    this.#section = section;
    this.#part("stop").addEventListener("click", on.stop);
    this.#part("again").addEventListener("click", on.again);
  }

  /** @param {string} name @returns {HTMLElement} */
  #part(name) {
    return /** @type {HTMLElement} */ (this.#section.querySelector(`[data-${name}]`));
  }

  /** @param {import("./uploads.js").Uploads} uploads @param {Upload | null} changed */
  draw(uploads, changed) {
    if (changed) this.#drawRow(changed);
    if (this.#drawing) return;
    this.#drawing = requestAnimationFrame(() => {
      this.#drawing = 0;
      this.#drawWhole(uploads);
    });
  }

  /** @param {import("./uploads.js").Uploads} uploads */
  #drawWhole(uploads) {
    this.#section.hidden = uploads.all.length === 0;
    const bar = /** @type {HTMLProgressElement} */ (this.#part("bar"));
    bar.value = uploads.share;
    const words = wordsOf(uploads);
    this.#part("words").textContent = words;
    this.#part("stop").hidden = !uploads.busy;
    const failed = uploads.count("refused") + uploads.count("stopped");
    this.#part("again").hidden = uploads.busy || failed === 0;
    const now = performance.now();
    if (uploads.busy && now - this.#spokenAt < SPOKEN_EVERY_MS) return;
    this.#spokenAt = now;
    const spoken = this.#part("spoken");
    if (spoken.textContent !== words) spoken.textContent = words;
  }

  /** @param {Upload} upload */
  #drawRow(upload) {
    const { row, told } = this.#rows.get(upload.key) ?? this.#addRow(upload);
    const refused = upload.state === "refused";
    const percent = upload.state === "goes" ? ` ${Math.round(upload.sent * 100)} %` : "";
    told.className = refused || upload.state === "stopped" ? "look" : "soft";
    told.textContent = `${STATES[upload.state]}${percent} ${upload.reason}`.trim();
    if (upload.photo && !row.querySelector("a")) {
      const link = document.createElement("a");
      link.href = pageOf(upload);
      link.append(...row.querySelector("b")?.childNodes ?? []);
      row.querySelector("b")?.append(link);
      if (upload.photo.gymnast) told.append(`, ${upload.photo.gymnast.name}`);
      if (upload.kind === "video" && upload.photo.state === "arrived") {
        const trim = document.createElement("a");
        trim.className = "button";
        trim.href = pageOf(upload);
        trim.textContent = "Trim and measure";
        row.append(trim);
      }
    }
    // What failed comes first, and stays there.
    if (refused) row.parentElement?.prepend(row);
  }

  /** @param {Upload} upload */
  #addRow(upload) {
    const row = document.createElement("li");
    const name = document.createElement("b");
    const told = document.createElement("span");
    name.textContent = upload.file.name;
    row.append(name, told);
    this.#part("list").append(row);
    const parts = { row, told };
    this.#rows.set(upload.key, parts);
    return parts;
  }
}

/** @param {Upload} upload that is filed @returns {string} its page */
export function pageOf({ kind, photo }) {
  return `/${kind === "video" ? "videos" : "photos"}/${photo.id}`;
}
