/**
 * How far a backup is, looked at every second while one is made; the page is read anew at its end.
 */

import { ask } from "./answers.js";

const OFTEN_MS = 1000;
const SELDOM_MS = 15000;

const section = /** @type {HTMLElement} */ (document.querySelector("[data-backing-up]"));
const now = /** @type {HTMLElement} */ (section.querySelector("[data-now]"));
const start = /** @type {HTMLElement} */ (section.querySelector("[data-start]"));
const words = /** @type {HTMLElement} */ (section.querySelector("[data-words]"));
const bar = /** @type {HTMLProgressElement} */ (section.querySelector("[data-bar]"));
const ended = Number(section.dataset["ended"]);

async function look() {
  const told = document.hidden ? null : await ask("/api/backing-up").catch(() => null);
  if (told && told.ended !== ended && !told.running) {
    location.replace("/settings/backups");
    return;
  }
  if (told) show(told);
  setTimeout(look, told?.running ? OFTEN_MS : SELDOM_MS);
}

/** @param {{running: boolean, words: string, done: number, total: number}} told */
function show(told) {
  now.hidden = !told.running;
  start.hidden = told.running;
  if (!told.running) return;
  if (words.textContent !== told.words) words.textContent = told.words;
  if (told.total > 0) {
    bar.max = told.total;
    bar.value = told.done;
  } else {
    bar.removeAttribute("value");
  }
}

setTimeout(look, section.dataset["running"] === "yes" ? OFTEN_MS : SELDOM_MS);
