/**
 * The photos that were walked through in this tab: 'previous' is the one looked at before, although
 * it has left the queue since.
 */

const KEY = "chordline-trail";
const MOST = 200;

/** @returns {number[]} */
function read() {
  try {
    const ids = JSON.parse(sessionStorage.getItem(KEY) ?? "[]");
    return Array.isArray(ids) ? ids.filter(Number.isInteger) : [];
  } catch {
    return [];
  }
}

/** Start anew. */
export function forgetTrail() {
  try {
    sessionStorage.removeItem(KEY);
  } catch { /* a browser that keeps nothing has nothing to forget */ }
}

/**
 * Note that a photo is looked at.
 *
 * @param {number} id
 * @returns {{previous: number | null, next: number | null}} the photos looked at around it
 */
export function follow(id) {
  let ids = read();
  if (!ids.includes(id)) {
    ids = [...ids, id].slice(-MOST);
    try {
      sessionStorage.setItem(KEY, JSON.stringify(ids));
    } catch { /* then 'previous' is the queue's own */ }
  }
  const at = ids.indexOf(id);
  return { previous: ids[at - 1] ?? null, next: ids[at + 1] ?? null };
}
