/**
 * Where the words stand so that the photo becomes as large as possible: beside it or under it.
 *
 * @typedef {import("./viewport.js").Box} Box
 * @typedef {import("./model.js").Model} Model
 */

/** Width of the panel beside the photo [screen px]. */
const SIDE_PX = 320;
/** Least and most height of the one under it, wide and narrow; and on a phone [screen px]. */
const STRIP_PX = { least: 190, wide: 236, tall: 350 };
const PHONE_STRIP_PX = 316;
/** Below these widths the strip holds fewer columns, and its two parts stand on one another. */
const TALL_BELOW_PX = 900;
const PHONE_BELOW_PX = 640;
/** The photo's least share of the height: a lying body leaves room for words, but not for all. */
const PHOTO_SHARE = 0.66;
/** Room for the tools, a column on the left or on a phone a row, and for a label at the edge [screen px]. */
const INSET = Object.freeze({ left: 68, right: 24, top: 24, bottom: 24 });
const PHONE_INSET = Object.freeze({ left: 16, right: 16, top: 24, bottom: 68 });
const MARGIN = 0.07;

/**
 * @param {Model} model
 * @param {{width_px: number, height_px: number}} photo
 * @returns {Box} the body with air around it, inside the photo [photo px]
 */
export function bodyBox({ body, missing }, { width_px, height_px }) {
  const points = Object.values(body.points);
  // What is not set yet may be anywhere.
  if (missing.length > 0) return { left: 0, top: 0, right: width_px, bottom: height_px };
  const x = points.map((point) => point.x);
  const y = points.map((point) => point.y);
  const [width, height] = [Math.max(...x) - Math.min(...x), Math.max(...y) - Math.min(...y)];
  const air = MARGIN * Math.max(width, height);
  return {
    left: Math.max(0, Math.min(...x) - air),
    top: Math.max(0, Math.min(...y) - air),
    right: Math.min(width_px, Math.max(...x) + air),
    bottom: Math.min(height_px, Math.max(...y) + air),
  };
}

/**
 * Set the panel's place on the root element.
 *
 * @param {HTMLElement} root
 * @param {Box} box that is to be shown large [photo px]
 * @returns {Box} room at the stage's edges that the tools cover [screen px]
 */
export function placePanel(root, box) {
  const [width, height] = [root.clientWidth, root.clientHeight];
  const scale = (/** @type {number} */ w, /** @type {number} */ h) =>
    Math.min(
      (w - INSET.left - INSET.right) / (box.right - box.left),
      (h - INSET.top - INSET.bottom) / (box.bottom - box.top),
    );
  const phone = width < PHONE_BELOW_PX;
  const under = phone ? PHONE_STRIP_PX : STRIP_PX.least;
  const beside = !phone && scale(width - SIDE_PX, height) > scale(width, height - under);
  const lying = scale(width, height - under) * (box.bottom - box.top) + INSET.top + INSET.bottom;
  const spare = height - Math.max(lying, PHOTO_SHARE * height);
  const most = width < TALL_BELOW_PX ? STRIP_PX.tall : STRIP_PX.wide;
  const strip = phone ? under : Math.min(most, Math.max(under, spare));
  root.dataset.panel = beside ? "side" : phone ? "narrow" : "strip";
  root.style.setProperty("--cl-side", `${SIDE_PX}px`);
  root.style.setProperty("--cl-strip", `${strip}px`);
  return phone ? PHONE_INSET : INSET;
}
