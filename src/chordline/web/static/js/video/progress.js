/** Measuring a video, watched: how far it is, and the page anew when it is over. */

import { say } from "../editor/dom.js";
import { ask } from "../pages/answers.js";

const OFTEN_MS = 1000;
const SPOKEN_EVERY_MS = 10000;

/** @param {number} id of the video */
export function watchProgress(id) {
  const bar = /** @type {HTMLProgressElement | null} */ (document.querySelector("[data-progress]"));
  const words = document.querySelector("[data-progress-words]");
  const spoken = document.querySelector("[data-progress-spoken]");
  let spokenAt = performance.now();
  const look = async () => {
    if (!document.hidden) {
      const now = await ask(`/api/videos/${id}`).catch(() => null);
      if (now && now.state !== "waiting") {
        location.reload();
        return;
      }
      if (now?.progress && bar && words) {
        bar.value = now.progress.share ?? 0;
        const told = progressInWords(now.progress);
        say(words, told);
        if (spoken && performance.now() - spokenAt > SPOKEN_EVERY_MS) {
          spokenAt = performance.now();
          say(spoken, told);
        }
      }
    }
    setTimeout(look, OFTEN_MS);
  };
  setTimeout(look, OFTEN_MS);
}

/** @param {{share: number | null, said: string}} progress @returns {string} */
function progressInWords({ share, said }) {
  const done = share !== null && share > 0 ? `${Math.floor(100 * share)} % of it is read` : "It waits its turn";
  return said ? `${done}: ${said}` : `${done}.`;
}
