/** Looks how far a plan is, and shows the new one once it is there. */

import { ask } from "./answers.js";

const OFTEN_MS = 700;
const section = /** @type {HTMLElement | null} */ (document.querySelector("[data-making]:not([data-ended])"));

/** @param {HTMLElement} shown */
function watch(shown) {
  const bar = /** @type {HTMLProgressElement} */ (shown.querySelector("[data-share]"));
  const spoken = /** @type {HTMLElement} */ (shown.querySelector("[data-spoken]"));
  /** @type {HTMLElement} */ (shown.querySelector("[data-again]")).hidden = true;
  let quarter = 0;
  const look = async () => {
    const now = await ask(shown.dataset.making ?? "").catch(() => null);
    if (now !== null && !now.busy) {
      location.reload();
      return;
    }
    if (now !== null) {
      bar.value = now.share;
      if (Math.floor(now.share * 4) > quarter) {
        quarter = Math.floor(now.share * 4);
        spoken.textContent = `${quarter * 25} per cent of the plan is made.`;
      }
    }
    window.setTimeout(look, OFTEN_MS);
  };
  void look();
}

if (section !== null) watch(section);
