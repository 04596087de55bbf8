/**
 * What if she had more of something: sliders that ask the server for the line that would give.
 *
 * The page is complete without them. Only the newest question counts: an older one is aborted, and
 * an answer that is late all the same is dropped.
 */

import { ask, RefusedError } from "./answers.js";

/** So long nobody moves a slider before the server is asked [ms]. */
const SETTLED_MS = 180;

/**
 * @typedef {{asked: string, headline: string, posture: string, chances: string, gain: string}} Words
 */

const form = /** @type {HTMLFormElement | null} */ (document.querySelector("[data-what-if]"));
const section = /** @type {HTMLElement | null} */ (form?.closest("section") ?? null);
if (form && section) offer(form, section);

/** @param {HTMLFormElement} form @param {HTMLElement} section */
function offer(form, section) {
  const levers = /** @type {HTMLInputElement[]} */ ([...form.querySelectorAll("input[type=range]")]);
  /** @type {AbortController | null} */
  let asking = null;
  let timer = 0;

  form.reset(); // a browser may remember where the sliders were, but not the drawing
  form.hidden = false;
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("input", settle);
  // The sliders go back only after the event.
  form.addEventListener("reset", () => setTimeout(settle));

  function settle() {
    for (const lever of levers) say(lever);
    asking?.abort();
    clearTimeout(timer);
    timer = setTimeout(tryIt, SETTLED_MS);
  }

  async function tryIt() {
    const mine = new AbortController();
    asking = mine;
    section.setAttribute("aria-busy", "true");
    try {
      const answer = await ask(address(form, levers), { signal: mine.signal });
      if (asking !== mine || mine.signal.aborted) return;
      if (answer.words) show(section, answer.words, answer.drawing);
      tell(form, "");
    } catch (error) {
      if (asking !== mine || mine.signal.aborted) return;
      tell(form, error instanceof RefusedError ? error.message : "This could not be drawn.");
    } finally {
      if (asking === mine) section.removeAttribute("aria-busy");
    }
  }
}

/** @param {HTMLInputElement} lever */
function say(lever) {
  const output = lever.parentElement?.querySelector("output");
  if (output) output.textContent = `+${lever.value}${lever.dataset.sign ?? ""}`;
  lever.setAttribute("aria-valuetext", `${lever.value} ${lever.dataset.spoken ?? ""} more`);
}

/** @param {HTMLFormElement} form @param {HTMLInputElement[]} levers @returns {string} */
function address(form, levers) {
  const moved = levers.filter((lever) => Number(lever.value) !== 0);
  const gains = moved.map((lever) => `&${encodeURIComponent(lever.name)}=${Number(lever.value)}`);
  return `${form.dataset.ask}${gains.join("")}`;
}

/** @param {HTMLElement} section @param {Words} words @param {string} drawing */
function show(section, words, drawing) {
  const svg = readSvg(drawing);
  section.querySelector("[data-lines]")?.replaceChildren(svg);
  for (const [name, sentence] of Object.entries(words)) {
    const place = /** @type {HTMLElement | null} */ (section.querySelector(`[data-words="${name}"]`));
    if (!place) continue;
    place.textContent = name === "asked" ? `${sentence}:` : sentence;
    place.hidden = sentence === "";
  }
  // What holds of today would be misread beside what is tried.
  for (const place of section.querySelectorAll("[data-today]")) {
    /** @type {HTMLElement} */ (place).hidden = words.asked !== "";
  }
  const announcer = section.querySelector("[data-announce]");
  if (announcer) announcer.textContent = `${words.asked || "Today"}: ${words.headline}`;
}

/**
 * @param {string} text
 * @returns {Element} a drawing of this page; rejects whatever is no SVG or could do more than show
 */
function readSvg(text) {
  const root = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  if (root.localName !== "svg" || root.querySelector("parsererror, script, foreignObject")) {
    throw new Error("no drawing");
  }
  return document.importNode(root, true);
}

/** @param {HTMLFormElement} form @param {string} sentence */
function tell(form, sentence) {
  const told = /** @type {HTMLElement | null} */ (form.querySelector("[data-refused]"));
  if (!told) return;
  told.textContent = sentence;
  told.hidden = sentence === "";
}
