/**
 * Fixed points with the moments of a standard normal, for measures that are not straight.
 *
 * `chordline.core.geometry.propagation.gaussian_points` takes 8192 from a seeded generator. These
 * are other points of the same kind: an additive recurrence on the roots of x^(d+1) = x + 1, through
 * the normal quantile, each with its mirror image, the whole set scaled to unit covariance. Moments
 * of a linear measure are exact; those of a bent one agree with Python's within its own sampling
 * error (shared vectors: tests/unit/web/test_measure_vectors.py).
 */

/** Points for a few dimensions (the bows), and for the many coordinates of a curve. */
export const FEW_DIMENSIONS = 8192;
export const MANY_DIMENSIONS = 16384;
/**
 * The few-dimensional points are spread wider than a normal by this factor and weighted down again:
 * a far bow that takes over once in ten thousand still moves the error of the largest one.
 */
const REACH = 1.6;

/**
 * @typedef {{at: Float64Array, weight: Float64Array}} PointSet
 *   count × dimension numbers, point after point, and one weight a point; the weights sum to 1.
 */

/** @type {Map<string, PointSet>} */
const made = new Map();

/**
 * @param {number} dimension
 * @param {number} count even
 * @returns {PointSet} not to be written to.
 */
export function gaussianPoints(dimension, count) {
  const key = `${dimension}/${count}`;
  let points = made.get(key);
  if (!points) {
    points = makePoints(dimension, count, count === FEW_DIMENSIONS ? REACH : 1);
    made.set(key, points);
  }
  return points;
}

/** @param {number} dimension @param {number} count @param {number} reach */
function makePoints(dimension, count, reach) {
  const at = new Float64Array(count * dimension);
  const weight = new Float64Array(count);
  const half = count / 2;
  let root = 2;
  for (let i = 0; i < 64; i += 1) root = (1 + root) ** (1 / (dimension + 1));
  for (let i = 0; i < half; i += 1) {
    let far = 0;
    for (let axis = 0; axis < dimension; axis += 1) {
      const value = reach * normalQuantile((0.5 + root ** -(axis + 1) * (i + 1)) % 1);
      at[i * dimension + axis] = value;
      at[(i + half) * dimension + axis] = -value;
      far += value * value;
    }
    weight[i] = Math.exp(-0.5 * far * (1 - 1 / (reach * reach)));
    weight[i + half] = weight[i];
  }
  const total = weight.reduce((sum, one) => sum + one, 0);
  for (let i = 0; i < count; i += 1) weight[i] /= total;
  whiten(at, weight, dimension);
  return { at, weight };
}

/** Scale the points in place to unit covariance, by forward substitution with its root. */
function whiten(/** @type {Float64Array} */ at, /** @type {Float64Array} */ weight, /** @type {number} */ d) {
  const root = new Float64Array(d * d);
  for (let i = 0; i < d; i += 1) {
    for (let j = 0; j <= i; j += 1) {
      let sum = 0;
      for (let n = 0; n < weight.length; n += 1) sum += weight[n] * at[n * d + i] * at[n * d + j];
      for (let k = 0; k < j; k += 1) sum -= root[i * d + k] * root[j * d + k];
      root[i * d + j] = i === j ? Math.sqrt(sum) : sum / root[j * d + j];
    }
  }
  for (let n = 0; n < weight.length; n += 1) {
    for (let i = 0; i < d; i += 1) {
      let value = at[n * d + i];
      for (let k = 0; k < i; k += 1) value -= root[i * d + k] * at[n * d + k];
      at[n * d + i] = value / root[i * d + i];
    }
  }
}

/**
 * The normal quantile by Acklam's rational approximation (from memory; relative error 1e-9).
 *
 * @param {number} p probability, 0 < p < 1
 */
function normalQuantile(p) {
  if (p > 0.5) return -normalQuantile(1 - p);
  if (p < 0.02425) {
    const q = Math.sqrt(-2 * Math.log(Math.max(p, 1e-12)));
    return (
      (((((-7.784894002430293e-3 * q - 0.3223964580411365) * q - 2.400758277161838) * q -
        2.549732539343734) * q + 4.374664141464968) * q + 2.938163982698783) /
      ((((7.784695709041462e-3 * q + 0.3224671290700398) * q + 2.445134137142996) * q +
        3.754408661907416) * q + 1)
    );
  }
  const q = p - 0.5;
  const r = q * q;
  return (
    ((((((-39.69683028665376 * r + 220.9460984245205) * r - 275.9285104469687) * r +
      138.357751867269) * r - 30.66479806614716) * r + 2.506628277459239) * q) /
    (((((-54.47609879822406 * r + 161.5858368580409) * r - 155.6989798598866) * r +
      66.80131188771972) * r - 13.28068155288572) * r + 1)
  );
}
