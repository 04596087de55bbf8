/**
 * A text field with suggestions: a card number or the beginning of a name. What is typed is
 * understood by the server as well, so that nothing depends on this list.
 */

import { ask } from "./answers.js";

const PAUSE_MS = 160;
const SUGGESTED = 12;

/** @typedef {{id: number, name: string, card: number | null}} Gymnast */

/** @param {Gymnast} her @returns {string} how she is written where she is chosen. */
export function labelOf({ name, card }) {
  return card === null ? name : `${name}, card ${card}`;
}

/** @param {Record<string, string>} query @returns {Promise<Gymnast[]>} */
export async function findGymnasts(query) {
  return (await ask(`/api/gymnasts?${new URLSearchParams(query)}`)).gymnasts;
}

/** @param {string} text a card number or a name @returns {Promise<Gymnast>} who is meant */
export function findMeant(text) {
  return ask(`/api/meant?${new URLSearchParams({ text })}`);
}

/** @param {HTMLInputElement} field with a `list` */
export function suggestGymnasts(field) {
  let timer = 0;
  let asked = "";
  field.addEventListener("input", () => {
    clearTimeout(timer);
    timer = window.setTimeout(async () => {
      const text = field.value.trim();
      if (text === "" || text === asked || text.includes(", card ")) return;
      asked = text;
      try {
        const found = await findGymnasts({ search: text, limit: String(SUGGESTED) });
        const options = found.map((her) => new Option(labelOf(her), labelOf(her)));
        if (asked === text) field.list?.replaceChildren(...options);
      } catch { /* typing goes on without suggestions */ }
    }, PAUSE_MS);
  });
}
