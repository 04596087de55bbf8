/**
 * One photo of a study, marked without seeing any mark: kept once it is said to be right.
 */

import { mountEditor } from "../editor/mark_editor.js";
import { ask, NO_CONNECTION, pageData, RefusedError } from "./answers.js";

const data = pageData("study-data");
/** What is set but not yet said to be right, on this device and for this photo only. */
const draftKey = `study-task-${data.task}`;
const place = /** @type {HTMLElement} */ (document.querySelector("[data-editor]"));

const editor = mountEditor(place, {
  ...data.editor,
  landmarks: readDraft(),
  onNext: () => location.assign(`/studies/${data.study}/mark`),
  async onSave(record) {
    if (!record.confirmed) {
      keepDraft();
      return { version: 0 };
    }
    const landmarks = Object.fromEntries(
      Object.entries(record.landmarks).map(([name, { x_px, y_px }]) => [name, { x_px, y_px }]),
    );
    try {
      await ask(`/api/studies/${data.study}/tasks/${data.task}`, {
        method: "PUT",
        headers: { "Content-Type": "application/json" },
        body: JSON.stringify({ landmarks }),
      });
    } catch (error) {
      const refusal = /** @type {RefusedError} */ (error);
      if (refusal.status === 0) throw new Error(`${NO_CONNECTION}; your marks are still here.`);
      throw error;
    }
    sessionStorage.removeItem(draftKey);
    return { version: 0 };
  },
});
document.addEventListener("visibilitychange", () => document.hidden && keepDraft());
window.addEventListener("pagehide", keepDraft);
// The editor takes the keys at once: five joints, five taps, Enter.
/** @type {HTMLElement | null} */ (place.querySelector(".cl-stage"))?.focus();

function keepDraft() {
  if (editor.isDirty()) sessionStorage.setItem(draftKey, JSON.stringify(editor.record().landmarks));
}

function readDraft() {
  try {
    return JSON.parse(sessionStorage.getItem(draftKey) ?? "{}");
  } catch {
    return {};
  }
}
