/**
 * Signed angles of plane points; the same formulas as `chordline.core.geometry.angles`.
 *
 * Photo frame: x right, y down. `facing` is +1 with the left side near the camera, −1 with the
 * right. Never `acos`: it folds at straight and reads a straight joint as bent.
 *
 * @typedef {{x: number, y: number}} Point A place or a vector in the photo frame [px].
 */

export const DEG_PER_RAD = 180 / Math.PI;

/** @param {Point} a @param {Point} b @returns {number} z component of a × b. */
export function cross(a, b) {
  return a.x * b.y - a.y * b.x;
}

/** @param {Point} to @param {Point} from @returns {Point} the vector between two places [px]. */
export function subtract(to, from) {
  return { x: to.x - from.x, y: to.y - from.y };
}

/**
 * How far a joint opens the front of the body beyond straight.
 *
 * @param {Point} caudal neighbour towards the feet [px]
 * @param {Point} joint [px]
 * @param {Point} cranial neighbour towards the hands [px]
 * @param {number} facing
 * @returns {number} [rad], 0 = straight, positive = the joint stands out towards the front;
 *   NaN where a neighbour lies on the joint.
 */
export function jointOpening(caudal, joint, cranial, facing) {
  const toCaudal = subtract(caudal, joint);
  const toCranial = subtract(cranial, joint);
  if (!hasLength(toCaudal) || !hasLength(toCranial)) return NaN;
  const dot = toCaudal.x * toCranial.x + toCaudal.y * toCranial.y;
  return Math.atan2(facing * cross(toCranial, toCaudal), -dot);
}

/**
 * Angle from a reference direction to another, positive towards the front.
 *
 * @param {Point} reference pointing towards the head
 * @param {Point} direction pointing towards the head
 * @param {number} facing
 * @returns {number} [rad]; NaN where a direction has no length.
 */
export function turnTowardsFront(reference, direction, facing) {
  if (!hasLength(reference) || !hasLength(direction)) return NaN;
  const dot = reference.x * direction.x + reference.y * direction.y;
  return Math.atan2(facing * cross(direction, reference), dot);
}

/**
 * Unit vector to which the belly faces, for a direction towards the head.
 *
 * @param {Point} cranial direction towards the head, not zero
 * @param {number} facing
 * @returns {Point}
 */
export function frontOf(cranial, facing) {
  const length = Math.hypot(cranial.x, cranial.y);
  return { x: (facing * cranial.y) / length, y: (-facing * cranial.x) / length };
}

/** @param {Point} vector */
function hasLength(vector) {
  return vector.x !== 0 || vector.y !== 0;
}
