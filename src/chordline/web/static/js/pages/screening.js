/**
 * The page in the gym: photos and videos come in from a drop, a folder or the camera; measuring is
 * watched.
 */

import { pageData, RefusedError } from "./answers.js";
import { filesOf, onlyMeasurable } from "./dropped_files.js";
import { kindOf } from "./file_kind.js";
import { findMeant, labelOf, suggestGymnasts } from "./gymnast_field.js";
import { MeasuringWatch } from "./measuring_watch.js";
import { Shooting } from "./shooting.js";
import { pageOf, UploadList } from "./upload_list.js";
import { Uploads } from "./uploads.js";

/** @param {string} selector @returns {any} */
const find = (selector) => document.querySelector(selector);

const data = pageData("screening-data");
const form = /** @type {HTMLFormElement} */ (find("[data-screening]"));
const day = /** @type {HTMLInputElement} */ (find("#day"));
const test = /** @type {HTMLSelectElement} */ (find("#test"));
const gymnast = /** @type {HTMLInputElement} */ (find("[data-gymnast]"));
const gymnastTold = /** @type {HTMLElement} */ (find("[data-gymnast-told]"));
const drop = /** @type {HTMLElement} */ (find("[data-drop]"));
const brought = /** @type {HTMLElement} */ (find("[data-brought]"));
const byCard = gymnastTold.textContent ?? "";

for (const part of document.querySelectorAll("[data-live]")) part.toggleAttribute("hidden", false);
for (const part of document.querySelectorAll("[data-plain]")) part.remove();

const uploads = new Uploads({
  mostBytes: data.mostBytes,
  onChange(changed) {
    list.draw(uploads, changed);
    if (changed && (changed.state === "filed" || changed.state === "there")) {
      watch.look();
      goOnWith(changed);
    }
  },
});
const list = new UploadList(find("[data-uploads]"), { stop: () => uploads.stop(), again: () => uploads.again() });
const watch = new MeasuringWatch(find("[data-measuring]"), {
  titles: new Map(data.tests.map((/** @type {any} */ one) => [one.id, one.title])),
  isSending: () => uploads.busy,
});
const shooting = new Shooting(find(".shoot"), { tests: data.tests, test, gymnast });

form.addEventListener("submit", (event) => event.preventDefault());
test.addEventListener("change", () => {
  /** @type {HTMLAnchorElement} */ (find("[data-mirror]")).href = test.value ? `/live?${new URLSearchParams({ test: test.value })}` : "/live";
});
suggestGymnasts(gymnast);
gymnast.addEventListener("change", () => void meant());
if (gymnast.value !== "") void meant();
window.addEventListener("beforeunload", (event) => uploads.busy && event.preventDefault());

/** Who is meant by what stands in the field. @returns {Promise<Record<string, string> | null>} */
async function meant() {
  const text = gymnast.value.trim();
  gymnast.removeAttribute("aria-invalid");
  shooting.showWho("");
  if (text === "") {
    gymnastTold.textContent = byCard;
    return {};
  }
  try {
    const her = await findMeant(text);
    gymnast.value = labelOf(her);
    gymnastTold.textContent = `All of these are of ${her.name}.`;
    shooting.showWho(her.name);
    return { gymnast_id: String(her.id) };
  } catch (error) {
    gymnast.setAttribute("aria-invalid", "true");
    gymnastTold.textContent = error instanceof RefusedError ? error.message : "That is nobody.";
    return null;
  }
}

/** One video that came alone is trimmed next. @param {import("./uploads.js").Upload} upload */
function goOnWith(upload) {
  if (upload.kind === "video" && uploads.all.length === 1) location.assign(pageOf(upload));
}

/** @param {File[]} files @param {{leftOut?: number, shot?: boolean}} [how] */
async function bring(files, { leftOut = 0, shot = false } = {}) {
  if (files.length === 0) {
    if (leftOut > 0) brought.textContent = "There is no photo or video in this folder.";
    return;
  }
  const whose = await meant();
  if (whose === null) {
    gymnast.focus();
    return;
  }
  const said = { ...whose };
  if (day.value) said.day = day.value;
  if (test.value) said.test = test.value;
  for (const file of files) {
    const kind = await kindOf(file);
    // Whether a video stays is said where it is trimmed.
    uploads.add([file], kind === "video" ? { ...said, keep_file: "1" } : said, kind);
  }
  watch.look();
  if (shot) shooting.tell(test.value ? "Taken. Once more, or the next." : "Taken. It will ask which test it is.");
  const others = leftOut === 1 ? "1 file that is no photo or video was" : `${leftOut} files that are no photos or videos were`;
  brought.textContent = leftOut > 0 ? `${others} left out.` : "";
}

for (const input of /** @type {NodeListOf<HTMLInputElement>} */ (document.querySelectorAll("[data-pick]"))) {
  input.addEventListener("change", () => {
    const files = [...(input.files ?? [])];
    // The same file may be chosen again afterwards.
    input.value = "";
    if (input.dataset.pick === "folder") {
      const { files: found, leftOut } = onlyMeasurable(files);
      void bring(found, { leftOut });
    } else {
      void bring(files, { shot: input.dataset.pick === "camera" });
    }
  });
}

let over = 0;
document.addEventListener("dragenter", () => drop.classList.toggle("is-over", (over += 1) > 0));
document.addEventListener("dragleave", () => drop.classList.toggle("is-over", (over -= 1) > 0));
document.addEventListener("dragover", (event) => event.preventDefault());
document.addEventListener("drop", async (event) => {
  event.preventDefault();
  over = 0;
  drop.classList.remove("is-over");
  if (!event.dataTransfer) return;
  const { files, leftOut } = await filesOf(event.dataTransfer);
  void bring(files, { leftOut });
});
