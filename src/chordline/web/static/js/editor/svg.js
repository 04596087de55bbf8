/**
 * SVG elements that are made once and only change their attributes afterwards.
 *
 * @typedef {import("../geometry/angles.js").Point} Point
 */

const NS = "http://www.w3.org/2000/svg";

/** @param {string} tag @param {Record<string, string | number>} [attributes] @param {...Element} children */
export function svg(tag, attributes = {}, ...children) {
  const made = document.createElementNS(NS, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, String(value));
  made.append(...children);
  return made;
}

/** @param {readonly Point[]} points @param {boolean} [closed] @returns {string} path data */
export function pathOf(points, closed = false) {
  if (points.length === 0) return "";
  const steps = points.map(({ x, y }) => `${x.toFixed(2)} ${y.toFixed(2)}`);
  return `M${steps.join("L")}${closed ? "Z" : ""}`;
}

/** A 24 px icon from path data, drawn in the colour of the text. @param {string} data */
export function icon(data) {
  const path = svg("path", {
    d: data,
    fill: "none",
    stroke: "currentColor",
    "stroke-width": 2,
    "stroke-linecap": "round",
    "stroke-linejoin": "round",
  });
  return svg("svg", { viewBox: "0 0 24 24", width: 24, height: 24, "aria-hidden": "true" }, path);
}
