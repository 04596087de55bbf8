/** The shape in words and the angles in large type. */

const SIGNS = /** @type {Record<string, string>} */ ({ deg: "°", pct: " %" });
/** Spoken at most so often: a voice that never stops is not listened to. */
const SPEAK_EVERY_MS = 4000;
const ORIGINS = /** @type {Record<string, string>} */ ({
  given: "as you said",
  test: "as the test says",
  guessed: "as it looks",
});

export class Readings {
  #headline;
  #list;
  #side;
  #spoken;
  #spokenAt = -Infinity;

  /** @param {{headline: HTMLElement, list: HTMLElement, side: HTMLElement, spoken: HTMLElement}} parts */
  constructor({ headline, list, side, spoken }) {
    this.#headline = headline;
    this.#list = list;
    this.#side = side;
    this.#spoken = spoken;
  }

  /** @param {string} words */
  clear(words) {
    this.#head(words, "unknown");
    this.#list.replaceChildren();
    this.#side.textContent = "";
  }

  /** @param {import("./link.js").Told} told @param {boolean} mirrored */
  draw(told, mirrored) {
    this.#head(headlineOf(told), told.tone);
    while (this.#list.children.length > told.measures.length) this.#list.lastElementChild?.remove();
    told.measures.forEach((measure, index) => this.#row(index, measure));
    this.#side.textContent = sideInWords(told, mirrored);
    const now = performance.now();
    const words = told.reason === null && told.look_at ? `${told.headline}: ${told.look_at}` : told.headline;
    if (now - this.#spokenAt < SPEAK_EVERY_MS || this.#spoken.textContent === words) return;
    this.#spoken.textContent = words;
    this.#spokenAt = now;
  }

  /** @param {string} words @param {string} tone */
  #head(words, tone) {
    if (this.#headline.textContent !== words) this.#headline.textContent = words;
    this.#headline.dataset.tone = tone;
  }

  /** @param {number} index @param {import("./link.js").Measure} measure */
  #row(index, measure) {
    let row = /** @type {HTMLElement | undefined} */ (this.#list.children[index]);
    if (row === undefined) {
      row = document.createElement("div");
      row.className = "reading";
      const number = document.createElement("dd");
      number.append("", document.createElement("small"));
      row.append(document.createElement("dt"), number);
      this.#list.append(row);
    }
    const [words, number] = row.children;
    const sign = SIGNS[measure.unit] ?? "";
    row.dataset.tone = measure.tone ?? "unknown";
    words.textContent = `${measure.label} ${measure.words}`;
    const [value, error] = number.childNodes;
    value.textContent = `${Math.abs(Math.round(measure.value))}${sign}`;
    error.textContent = `± ${Math.round(measure.plus_minus)}${sign}`;
  }
}

/** @param {import("./link.js").Told} told @returns {string} the shape in a word, and what no row shows */
function headlineOf({ reason, headline, look_at: lookAt, measures }) {
  if (reason !== null) return reason === "settling" ? "Hold still" : "Cannot tell yet";
  const isShown = measures.some(({ label, words }) => `${label} ${words}` === lookAt);
  return lookAt !== "" && !isShown ? lookAt : headline;
}

/** @param {import("./link.js").Told} told @param {boolean} mirrored @returns {string} on what every sign rests */
export function sideInWords({ near_side: near, front, side_origin: origin }, mirrored) {
  if (near === null || front === null) return "";
  const swapped = mirrored ? { left: "right", right: "left", up: "up", down: "down" }[front] : front;
  return `Her ${near} side is near, her front faces ${swapped}: ${ORIGINS[origin] ?? origin}.`;
}
