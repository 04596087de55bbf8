/**
 * Words before numbers; see `chordline.core.body.verdict`.
 *
 * @typedef {"closing" | "opening" | "both"} Sense which side is short of the line
 * @typedef {"on the line" | "close" | "short of the line" | "cannot tell yet"} Verdict
 */

/** @type {Readonly<Record<string, Verdict>>} */
export const VERDICTS = Object.freeze({
  ON_THE_LINE: "on the line",
  CLOSE: "close",
  SHORT: "short of the line",
  CANNOT_TELL: "cannot tell yet",
});

/**
 * The word that a measure deserves.
 *
 * @param {number} value signed distance from the aligned shape
 * @param {object} how
 * @param {number} how.sd total error, > 0
 * @param {Sense} how.sense
 * @param {number} how.on_line largest shortfall that still counts as on the line
 * @param {number} how.close largest shortfall that still counts as close
 * @param {number} how.certainty smallest probability with which a word is said
 * @returns {Verdict}
 */
export function judge(value, { sd, sense, on_line, close, certainty }) {
  const within = (/** @type {number} */ limit) => {
    const below = sense === "closing" ? 1 : normalShare((limit - value) / sd);
    const above = sense === "opening" ? 1 : normalShare((limit + value) / sd);
    return below + above - 1;
  };
  const onLine = within(on_line);
  const isClose = within(close);
  /** @type {[Verdict, number][]} */
  const chances = [
    [VERDICTS.ON_THE_LINE, onLine],
    [VERDICTS.CLOSE, isClose - onLine],
    [VERDICTS.SHORT, 1 - isClose],
  ];
  const [word, chance] = chances.reduce((best, one) => (one[1] > best[1] ? one : best));
  return chance >= certainty ? word : VERDICTS.CANNOT_TELL;
}

/**
 * Share of a standard normal below z, by the Chebyshev form of erfc in Numerical Recipes (from
 * memory; relative error below 1.2e-7).
 *
 * @param {number} z
 */
export function normalShare(z) {
  const x = Math.abs(z) / Math.SQRT2;
  const t = 1 / (1 + 0.5 * x);
  const tail =
    0.5 * t *
    Math.exp(
      -x * x - 1.26551223 +
        t * (1.00002368 + t * (0.37409196 + t * (0.09678418 + t * (-0.18628806 +
        t * (0.27886807 + t * (-1.13520398 + t * (1.48851587 + t * (-0.82215223 +
        t * 0.17087277)))))))),
    );
  return z >= 0 ? 1 - tail : tail;
}
