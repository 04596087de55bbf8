/**
 * Talking to the server: one place that knows how an answer and a refusal look.
 */

/** What is said where nobody answers. */
export const NO_CONNECTION = "There is no connection to chordline";

/** A refusal in the server's words. */
export class RefusedError extends Error {
  /** @param {string} message @param {number} status @param {Record<string, unknown>} [answer] */
  constructor(message, status, answer = {}) {
    super(message);
    this.status = status;
    this.answer = answer;
  }
}

/**
 * @param {string} address @param {RequestInit} [how]
 * @returns {Promise<any>} the answer; rejects with a `RefusedError`, status 0 where nobody answered
 */
export async function ask(address, how) {
  let response;
  try {
    response = await fetch(address, { ...how, headers: { ...how?.headers, ...formKey() } });
  } catch {
    throw new RefusedError(`${NO_CONNECTION}. Try again.`, 0);
  }
  const answer = await response.json().catch(() => ({}));
  if (!response.ok) {
    throw new RefusedError(answer.detail ?? `Refused (${response.status}).`, response.status, answer);
  }
  return answer;
}

/** @returns {Record<string, string>} the header that says which login's page this is */
export function formKey() {
  const key = document.querySelector('meta[name="form-key"]')?.getAttribute("content");
  return key ? { "X-Form-Key": key } : {};
}

/** @param {string} id @returns {any} what the page hands to its script. */
export function pageData(id) {
  return JSON.parse(document.getElementById(id)?.textContent ?? "{}");
}
