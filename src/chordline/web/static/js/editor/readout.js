/**
 * What the marks say, words first: a headline, the judged measures, then all the others.
 *
 * @typedef {import("./model.js").Model} Model
 * @typedef {import("./wording.js").Line} Line
 */

import { VERDICTS } from "../geometry/verdict.js";
import { html, say } from "./dom.js";
import { svg } from "./svg.js";
import { withError } from "./wording.js";

/** Height of the little bow before a word; a symbol, not a measurement [of a 34 × 24 field]. */
const SYMBOL_BOW = {
  [VERDICTS.ON_THE_LINE]: 0,
  [VERDICTS.CLOSE]: 5,
  [VERDICTS.SHORT]: 13,
  [VERDICTS.CANNOT_TELL]: 13,
};

export class Readout {
  #headline = html("h2", { class: "cl-headline" });
  #judged = html("ul", { class: "cl-lines" });
  #others = html("ul", { class: "cl-lines" });
  #more;
  #note = html("p", { class: "cl-note" });
  #rows = /** @type {Map<string, ReturnType<typeof makeRow>>} */ (new Map());

  /** @param {{hasView: boolean}} how */
  constructor({ hasView }) {
    this.#more = html("details", { class: "cl-more" }, html("summary", {}, "All measures"), this.#others, this.#note);
    say(
      this.#note,
      hasView
        ? "± holds the true value 19 times in 20: setting the landmarks and where the phone stood."
        : "± holds what another setting of the landmarks would say, 19 times in 20.",
    );
    this.element = html(
      "div", { class: "cl-readout", tabindex: 0, role: "region", "aria-label": "What the marks say" },
      this.#headline, this.#judged, this.#more,
    );
  }

  /** @param {Model} model */
  draw(model) {
    say(this.#headline, unbroken(model.headline));
    const judged = model.lines.filter((line) => line.verdict !== null);
    const others = model.lines.filter((line) => line.verdict === null);
    this.#fill(this.#judged, judged);
    this.#fill(this.#others, others);
    this.#more.hidden = others.length === 0;
  }

  /** @param {HTMLElement} list @param {Line[]} lines */
  #fill(list, lines) {
    lines.forEach((line, i) => {
      let row = this.#rows.get(line.name);
      if (!row) this.#rows.set(line.name, (row = makeRow(line.verdict !== null)));
      if (list.children[i] !== row.element) list.insertBefore(row.element, list.children[i] ?? null);
      row.draw(line);
    });
    while (list.childElementCount > lines.length) list.lastElementChild?.remove();
  }
}

/** A number stays with its unit. @param {string} text */
function unbroken(text) {
  return text.replaceAll(/(\d) (%|cm|s\b)/g, "$1\u00a0$2");
}

/** @param {boolean} isJudged */
function makeRow(isJudged) {
  const label = html("b", {});
  const words = html("span", {});
  const number = html("span", { class: "cl-number" });
  const verdict = html("span", { class: "cl-verdict" });
  const mark = isJudged ? verdictMark() : null;
  const element = html(
    "li", {},
    ...(mark ? [mark.element] : []),
    html("span", { class: "cl-said" }, label, " ", words),
    html("span", { class: "cl-small" }, verdict, number),
  );
  return {
    element,
    draw(/** @type {Line} */ line) {
      element.dataset.measure = line.name;
      say(label, line.label);
      say(words, unbroken(line.words));
      say(verdict, line.verdict ?? "");
      say(number, unbroken(withError(line.value, line.plusMinus, line.unit)));
      if (mark && line.verdict) mark.draw(line.verdict);
    },
  };
}

/** The more it bows the further from the line; *cannot tell yet* is hatched. */
function verdictMark() {
  const fill = svg("path", { class: "cl-mark-fill" });
  const stroke = svg("path", { class: "cl-mark-stroke" });
  const dot = svg("circle", { class: "cl-mark-look", cx: 17, r: 3.6 });
  const chord = svg("path", { class: "cl-mark-chord", d: "M2 19H32" });
  const element = svg("svg", { class: "cl-mark", viewBox: "0 0 34 24", width: 34, height: 24, "aria-hidden": "true" },
    fill, chord, stroke, dot);
  let shown = "";
  return {
    element,
    draw(/** @type {string} */ verdict) {
      if (verdict === shown) return;
      shown = verdict;
      const top = 19 - SYMBOL_BOW[verdict];
      const line = `M2 19L10 ${0.6 * top + 7.6}L17 ${top}L24 ${0.6 * top + 7.6}L32 19`;
      stroke.setAttribute("d", line);
      const unsure = verdict === VERDICTS.CANNOT_TELL;
      fill.setAttribute("d", unsure ? "M8 19l3 -5M13 19l6 -12M19 19l5 -9M25 19l2 -3" : line);
      fill.classList.toggle("is-hatch", unsure);
      dot.setAttribute("cy", String(top));
      dot.setAttribute("visibility", verdict === VERDICTS.SHORT ? "visible" : "hidden");
    },
  };
}
