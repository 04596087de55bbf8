/**
 * One photo: the editor with its callbacks, or waiting until there is something to edit.
 */

import { mountEditor } from "../editor/mark_editor.js";
import { ask, NO_CONNECTION, pageData, RefusedError } from "./answers.js";
import { suggestGymnasts } from "./gymnast_field.js";
import { follow } from "./trail.js";

const LOOK_AGAIN_MS = 700;

const data = pageData("photo-data");
const walked = data.walks ? follow(data.id) : { previous: null, next: null };
const field = /** @type {HTMLInputElement | null} */ (document.querySelector("[data-gymnasts]"));
if (field) suggestGymnasts(field);
document.querySelector('a[href="#about"]')?.addEventListener("click", () => {
  document.querySelector("[data-about]")?.setAttribute("open", "");
});
let filling = false;
document.querySelector("[data-file]")?.addEventListener("input", () => {
  filling = true;
});
if (data.waiting) setTimeout(lookAgain, LOOK_AGAIN_MS);
if (data.editor) openEditor(/** @type {HTMLElement} */ (document.querySelector("[data-editor]")));

/** Show the photo once it is measured; what was typed into the form meanwhile is not lost for it. */
async function lookAgain() {
  if (!document.hidden && !filling) {
    const now = await ask(`/api/photos/${data.id}`).catch(() => null);
    if (now && now.photo.state !== "waiting") {
      location.reload();
      return;
    }
  }
  setTimeout(lookAgain, LOOK_AGAIN_MS);
}

/** @param {HTMLElement} place */
function openEditor(place) {
  let unmeasured = "";
  const editor = mountEditor(place, {
    ...data.editor,
    onNext: () => (unmeasured ? tell(unmeasured) : go(nextAddress())),
    onPrevious: () => go(previousAddress()),
    async onSave(record, version) {
      try {
        const saved = await ask(`/api/photos/${data.id}/marks`, {
          method: "PUT",
          headers: { "Content-Type": "application/json" },
          body: JSON.stringify({ ...record, version }),
          keepalive: true,
        });
        const refused = saved.state === "refused";
        unmeasured = refused ? `The marks are kept, but cannot be measured: ${saved.reason}.` : "";
        tell(unmeasured);
        return { version: saved.version };
      } catch (error) {
        const refusal = /** @type {RefusedError} */ (error);
        if (refusal.status === 409 && refusal.answer.current) {
          return { stale: /** @type {any} */ (refusal.answer.current) };
        }
        if (refusal.status === 0) throw new Error(`${NO_CONNECTION}; your marks are still here.`);
        throw error;
      }
    },
  });
  // A tablet that is put down, or a page that is left, must not cost the marks.
  document.addEventListener("visibilitychange", () => {
    if (document.hidden && editor.isDirty()) void editor.save();
  });
  place.querySelector("img")?.addEventListener("load", () => {
    if (data.nextPicture) new Image().src = data.nextPicture;
  });
}

/** @param {string} sentence */
function tell(sentence) {
  const told = document.querySelector("[data-told]");
  if (!(told instanceof HTMLElement)) return;
  told.textContent = sentence;
  told.hidden = sentence === "";
}

/** @param {string} address */
function go(address) {
  location.assign(address);
}

function nextAddress() {
  if (!data.walks) return data.home;
  const next = data.inQueue ? data.next : (walked.next ?? data.next);
  return next === null ? "/look?said=That was the last one in the queue." : photoAddress(next);
}

function previousAddress() {
  const previous = walked.previous ?? data.previous;
  return previous === null ? data.home : photoAddress(previous);
}

/** @param {number} id */
function photoAddress(id) {
  return `/photos/${id}?queue=1`;
}
