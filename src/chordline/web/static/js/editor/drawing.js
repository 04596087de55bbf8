/**
 * The body line over the picture: stroke, hairline chord, bow, band of uncertainty, labels.
 *
 * It is drawn in screen px, so lines keep their weight at every zoom; colours come from the
 * `--cl-photo-…` tokens, since over a photo the picture counts and not the theme.
 *
 * @typedef {import("./model.js").Model} Model
 * @typedef {import("./viewport.js").Viewport} Viewport
 * @typedef {import("../geometry/angles.js").Point} Point
 */

import { curveOf, CURVES, MIN_CURVE_POINTS } from "../geometry/body.js";
import { fitCurve, pointAt } from "../geometry/curve.js";
import { VERDICTS } from "../geometry/verdict.js";
import { ChordSnap } from "./chord_snap.js";
import { placeLabels, textWidth } from "./labels.js";
import { pathOf, svg } from "./svg.js";
import { SD_95, signed, spoken } from "./wording.js";

const LABEL_EM = 17;
/** Radius of a landmark's ring [screen px]. */
const RING_PX = 7.5;
/** Longest hair from a label to its landmark that is not drawn [em]. */
const LEADER_EM = 3;

export class Drawing {
  #viewport;
  #lines = /** @type {Record<string, SVGElement>} */ ({});
  #curves = /** @type {Record<string, SVGElement>} */ ({});
  #rings = svg("g", { class: "cl-rings" });
  #labels = svg("g", { class: "cl-labels" });
  #leaders = svg("path", { class: "cl-leader" });
  #offsets = /** @type {Map<string, Point>} */ (new Map());
  #snap;
  #last = /** @type {Model | null} */ (null);

  /** @param {Viewport} viewport */
  constructor(viewport) {
    this.#viewport = viewport;
    const line = (/** @type {string} */ name, rim = false) => {
      const path = svg("path", { class: `cl-${name}` });
      this.#lines[name] = path;
      if (!rim) return [path];
      const halo = svg("path", { class: `cl-halo cl-halo-${name}` });
      this.#lines[`${name}-halo`] = halo;
      return [halo, path];
    };
    for (const curve of CURVES) this.#curves[curve] = svg("path", { class: "cl-curve" });
    const hatch = svg("pattern", {
      id: "cl-hatch", width: 8, height: 8, patternUnits: "userSpaceOnUse",
      patternTransform: "rotate(45)",
    }, svg("line", { x1: 0, y1: 0, x2: 0, y2: 8, class: "cl-hatching" }));
    this.element = /** @type {SVGSVGElement} */ (svg(
      "svg", { class: "cl-drawing", "aria-hidden": "true" },
      svg("defs", {}, hatch),
      ...line("wash"), ...line("band"), this.#rings, ...Object.values(this.#curves),
      ...line("theirs", true), ...line("bows", true), ...line("chord", true),
      this.#leaders, ...line("stroke", true), this.#labels,
    ));
    this.#snap = new ChordSnap((ends) => this.#drawChord(ends));
  }

  /**
   * @param {Model} model
   * @param {object} how
   * @param {string | null} how.active landmark that is held or focused
   * @param {boolean} how.live a finger is down: labels keep their place beside the landmark
   * @param {Model | null} how.theirs marks that somebody else saved meanwhile
   */
  draw(model, { active, live, theirs }) {
    const to = (/** @type {Point} */ p) => this.#viewport.toScreen(p);
    const points = model.path.map((name) => to(model.body.points[name]));
    const bow = model.lines.find((line) => line.name === "bow_max_pct");
    const undecided = bow?.verdict === VERDICTS.CANNOT_TELL;
    this.#set("wash", model.chord ? pathOf(points, true) : "");
    // Not by class: a page's base address must not come between the pattern and its use.
    this.#lines.wash.style.fill = undecided ? "url(#cl-hatch)" : "";
    this.#set("band", pathOf(this.#bandOutline(model), true));
    this.#set("bows", model.bows.map(({ at, foot }) => pathOf([to(at), to(foot)])).join(""));
    this.#set("stroke", points.slice(1).map((p, i) => pathOf(betweenRings(points[i], p))).join(""));
    this.#set("theirs", theirs ? pathOf(theirs.path.map((name) => to(theirs.body.points[name]))) : "");
    for (const curve of CURVES) this.#drawCurve(model, curve);
    this.#drawRings(model, active);
    this.#drawLabels(model, { points, active, live });
    const ends = model.chord && /** @type {[Point, Point]} */ (model.chord.map(to));
    const moved = this.#last !== null && this.#last.marks !== model.marks && !live;
    this.#snap.to(ends, { animate: moved });
    this.#last = model;
  }

  /** @param {[Point, Point] | null} ends [screen px] */
  #drawChord(ends) {
    this.#set("chord", ends ? pathOf(betweenRings(...ends)) : "");
  }

  /** @param {string} name @param {string} data */
  #set(name, data) {
    this.#lines[name].setAttribute("d", data);
    this.#lines[`${name}-halo`]?.setAttribute("d", data);
  }

  /** 95 % of each landmark's own error to either side, perpendicular to the chord. */
  #bandOutline(/** @type {Model} */ { path, chord, front, body, marks }) {
    if (!chord) return [];
    const side = (/** @type {string} */ name, /** @type {number} */ sign) => {
      const { x, y } = body.points[name];
      const half = sign * SD_95 * marks.landmarks[name].sd_px;
      return this.#viewport.toScreen({ x: x + half * front.x, y: y + half * front.y });
    };
    return [...path.map((name) => side(name, 1)), ...[...path].reverse().map((name) => side(name, -1))];
  }

  /** @param {Model} model @param {string} curve */
  #drawCurve({ body }, curve) {
    const points = body.curves[curve].map((name) => body.points[name]);
    let shown = points;
    if (points.length >= MIN_CURVE_POINTS) {
      const fitted = fitCurve(points.map((p) => p.x), points.map((p) => p.y), curve === "belly" ? 2 : 3);
      shown = Array.from({ length: 25 }, (_, i) => pointAt(fitted, i / 24));
    }
    this.#curves[curve].setAttribute("d", pathOf(shown.map((p) => this.#viewport.toScreen(p))));
    this.#curves[curve].classList.toggle("is-short", points.length < MIN_CURVE_POINTS);
  }

  /** The soft ring of the landmark in hand: where the joint may be, 19 times in 20. */
  #drawRings(/** @type {Model} */ { body, marks, path }, /** @type {string | null} */ active) {
    const names = Object.keys(body.points).filter((name) => curveOf(name) === null);
    while (this.#rings.childElementCount < names.length) this.#rings.append(svg("circle"));
    [...this.#rings.children].forEach((ring, i) => {
      const name = names[i];
      const shown = name !== undefined && (name === active || path.includes(name));
      ring.setAttribute("visibility", shown ? "visible" : "hidden");
      if (!shown) return;
      const { x, y } = this.#viewport.toScreen(body.points[name]);
      ring.setAttribute("cx", x.toFixed(2));
      ring.setAttribute("cy", y.toFixed(2));
      ring.setAttribute("r", (SD_95 * marks.landmarks[name].sd_px * this.#viewport.scale).toFixed(2));
      ring.classList.toggle("is-active", name === active);
    });
  }

  /** @param {Model} model @param {{points: Point[], active: string | null, live: boolean}} how */
  #drawLabels(model, { points, active, live }) {
    const names = [...model.path];
    if (active && !names.includes(active) && active in model.body.points) names.push(active);
    const joints = names.map((name) => ({ name, text: labelOf(name, model) }));
    if (!live) this.#placeLabels(model, joints, points);
    const { width, height } = this.#viewport;
    while (this.#labels.childElementCount < joints.length) this.#labels.append(svg("text"));
    let leaders = "";
    [...this.#labels.children].forEach((label, i) => {
      const joint = joints[i];
      const offset = joint && (this.#offsets.get(joint.name) ?? { x: 0, y: -1.6 * LABEL_EM });
      // The loupe has the label of the mark in hand.
      const shown = joint && Number.isFinite(offset.x) && !(live && joint.name === active);
      label.setAttribute("visibility", shown ? "visible" : "hidden");
      if (!shown) return;
      const at = this.#viewport.toScreen(model.body.points[joint.name]);
      const half = textWidth(joint.text, LABEL_EM) / 2;
      const x = Math.min(width - half, Math.max(half, at.x + offset.x));
      const y = Math.min(height - LABEL_EM, Math.max(LABEL_EM, at.y + offset.y));
      if (label.textContent !== joint.text) label.textContent = joint.text;
      label.setAttribute("x", x.toFixed(1));
      label.setAttribute("y", (y + 0.36 * LABEL_EM).toFixed(1));
      label.classList.toggle("is-active", joint.name === active);
      const near = { x: Math.min(Math.max(at.x, x - half), x + half), y };
      if (Math.hypot(near.x - at.x, near.y - at.y) > LEADER_EM * LABEL_EM) leaders += pathOf([at, near]);
    });
    this.#leaders.setAttribute("d", leaders);
  }

  /** @param {Model} model @param {{name: string, text: string}[]} joints @param {Point[]} points */
  #placeLabels(model, joints, points) {
    const { width, height } = this.#viewport;
    const bow = new Map(model.bows.map(({ name, at, foot }) => [name, { x: at.x - foot.x, y: at.y - foot.y }]));
    const order = [...joints].sort((a, b) => size(bow.get(b.name)) - size(bow.get(a.name)));
    const back = { x: -model.front.x, y: -model.front.y };
    const wishes = order.map(({ name, text }) => {
      const off = bow.get(name);
      const inFront = off ? off.x * model.front.x + off.y * model.front.y > 0 : false;
      const away = size(model.front) > 0 ? (inFront ? model.front : back) : { x: 0, y: -1 };
      return { text, at: this.#viewport.toScreen(model.body.points[name]), away };
    });
    /** @type {[Point, Point][]} */
    const avoid = points.slice(1).map((point, i) => [points[i], point]);
    if (points.length > 1) avoid.push([points[0], points[points.length - 1]]);
    for (const point of Object.values(model.body.points)) {
      avoid.push(acrossHandle(this.#viewport.toScreen(point)));
    }
    const { left, bottom } = this.#viewport.inset;
    const frame = { left, top: 8, right: width - 8, bottom: height - Math.max(8, bottom - 16) };
    const places = placeLabels(wishes, { em: LABEL_EM, frame, avoid });
    this.#offsets.clear();
    order.forEach(({ name }, i) => {
      const place = places[i];
      const { at } = wishes[i];
      this.#offsets.set(name, place ? { x: place.x - at.x, y: place.y - at.y } : { x: NaN, y: NaN });
    });
  }
}

/** A line that leaves the ring at either end open: the joint stays in sight. @param {Point} a @param {Point} b */
function betweenRings(a, b) {
  const length = Math.hypot(b.x - a.x, b.y - a.y);
  if (length < 3 * RING_PX) return [a, b];
  const step = { x: ((b.x - a.x) / length) * RING_PX, y: ((b.y - a.y) / length) * RING_PX };
  return [{ x: a.x + step.x, y: a.y + step.y }, { x: b.x - step.x, y: b.y - step.y }];
}

/** @param {Point} at @returns {[Point, Point]} */
function acrossHandle({ x, y }) {
  return [{ x: x - 12, y }, { x: x + 12, y }];
}

/** @param {Point | undefined} vector */
function size(vector) {
  return vector ? Math.hypot(vector.x, vector.y) : 0;
}

/** @param {string} name @param {Model} model @returns {string} `Hip −18°` */
export function labelOf(name, model) {
  const opening = model.reading[`${name}_opening_deg`];
  return opening ? `${spoken(name)} ${signed(opening.value, "deg")}` : spoken(name);
}
