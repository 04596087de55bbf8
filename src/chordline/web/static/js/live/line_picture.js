/** The body line over the picture: one stroke over a hairline chord, the bow between them filled. */

const NAMESPACE = "http://www.w3.org/2000/svg";
/** Where each measure is ringed when it is what to look at. */
const PLACES = /** @type {Record<string, string>} */ ({
  shoulder_opening_deg: "shoulder",
  hip_opening_deg: "hip",
  knee_opening_deg: "knee",
  line_from_vertical_deg: "malleolus",
});

export class LinePicture {
  #svg;

  /** @param {SVGSVGElement} svg */
  constructor(svg) {
    this.#svg = svg;
  }

  clear() {
    this.#svg.replaceChildren();
    this.#svg.classList.remove("fading");
  }

  /** What was drawn last, for the moment in which she cannot be seen. */
  fade() {
    this.#svg.classList.add("fading");
  }

  /** @param {import("./link.js").Told} told @param {number} width @param {number} height of the picture */
  draw(told, width, height) {
    this.#svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    const points = told.chord.map((name) => told.landmarks[name]).map(([x, y]) => [x * width, y * height]);
    const all = points.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`);
    const chord = [all[0], all[all.length - 1]].join(" ");
    const radius = 0.008 * Math.max(width, height);
    const rung = told.measures.filter(({ tone }) => tone === "off").map(({ name }) => PLACES[name]);
    const drawn = [
      this.#poly("polygon", "bow", all.join(" ")),
      this.#poly("polyline", "chord-halo", chord),
      this.#poly("polyline", "chord", chord),
      this.#poly("polyline", "halo", all.join(" ")),
      this.#poly("polyline", "body-line", all.join(" ")),
    ];
    told.chord.forEach((name, index) => {
      const [x, y] = points[index];
      drawn.push(this.#circle("joint", x, y, radius));
      if (rung.includes(name)) {
        drawn.push(this.#circle("ring", x, y, 3.2 * radius), this.#circle("ring", x, y, 3.2 * radius));
      }
    });
    this.#svg.replaceChildren(...drawn);
    this.#svg.classList.remove("fading");
  }

  /** @param {string} tag @param {string} kind @param {string} points */
  #poly(tag, kind, points) {
    const shape = document.createElementNS(NAMESPACE, tag);
    shape.setAttribute("class", kind);
    shape.setAttribute("points", points);
    return shape;
  }

  /** @param {string} kind @param {number} x @param {number} y @param {number} radius */
  #circle(kind, x, y, radius) {
    const shape = document.createElementNS(NAMESPACE, "circle");
    shape.setAttribute("class", kind);
    shape.setAttribute("cx", x.toFixed(1));
    shape.setAttribute("cy", y.toFixed(1));
    shape.setAttribute("r", radius.toFixed(1));
    return shape;
  }
}
