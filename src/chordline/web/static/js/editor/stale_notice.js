/**
 * Somebody else changed these marks while they were open here: both are shown, none is lost.
 *
 * @typedef {import("./model.js").Model} Model
 */

import { html, say } from "./dom.js";
import { spoken } from "./wording.js";

export class StaleNotice {
  #title = html("h2", { id: "cl-stale-title", tabindex: -1 });
  #rows = html("tbody", {});
  #where = html("p", {});

  /** @param {{keep: () => void, take: () => void}} actions */
  constructor({ keep, take }) {
    const column = (/** @type {string[]} */ ...names) =>
      html("tr", {}, ...names.map((name) => html("th", { scope: "col" }, name)));
    this.element = html(
      "section", { class: "cl-stale", "aria-labelledby": "cl-stale-title", tabindex: 0, hidden: true },
      html("div", {},
        this.#title,
        html("p", {}, "Nothing is lost: yours is the full line on the photo, theirs the broken one."),
        html("div", { class: "cl-row" },
          html("button", { type: "button", class: "cl-button cl-primary", onclick: keep }, "Keep mine"),
          html("button", { type: "button", class: "cl-button", onclick: take }, "Take theirs")),
        this.#where),
      html("table", {}, html("thead", {}, column("Measure", "Yours", "Theirs")), this.#rows),
    );
  }

  /** Where the eye and the ear should go; not a button, so that a second Enter decides nothing. */
  focus() {
    this.#title.focus();
  }

  /** @param {Model} ours @param {Model | null} theirs @param {string} [author] */
  draw(ours, theirs, author) {
    this.element.hidden = theirs === null;
    if (!theirs) return;
    say(this.#title, `${author ?? "Somebody else"} changed these marks meanwhile`);
    const judged = ours.lines.filter((line) => line.verdict !== null);
    this.#rows.replaceChildren(
      ...judged.map((line) => {
        const other = theirs.lines.find(({ name }) => name === line.name);
        return html("tr", {}, html("th", { scope: "row" }, line.label), html("td", {}, line.words), html("td", {}, other?.words ?? "not set"));
      }),
    );
    say(this.#where, differences(ours, theirs));
  }
}

/** @param {Model} ours @param {Model} theirs @returns {string} which marks stand elsewhere. */
function differences(ours, theirs) {
  const names = new Set([...Object.keys(ours.body.points), ...Object.keys(theirs.body.points)]);
  const told = [...names].flatMap((name) => {
    const [a, b] = [ours.body.points[name], theirs.body.points[name]];
    if (a && b) {
      const px = Math.round(Math.hypot(a.x - b.x, a.y - b.y));
      return px > 0 ? [`${spoken(name)} ${px} px apart`] : [];
    }
    return [`${spoken(name)} only in ${a ? "yours" : "theirs"}`];
  });
  if (ours.marks.nearSide !== theirs.marks.nearSide) told.push("near side differs");
  return told.length > 0 ? `${told.join(", ")}.` : "The marks are the same.";
}
