/** HTML elements in one call. */

/**
 * @param {string} tag
 * @param {Record<string, unknown>} [properties] `on…` listens, `class` and `aria-…` are attributes,
 *   a null leaves out
 * @param {...(Node | string)} children
 * @returns {any}
 */
export function html(tag, properties = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(properties)) {
    if (value === null || value === undefined) continue;
    if (name.startsWith("on")) made.addEventListener(name.slice(2), /** @type {any} */ (value));
    else if (name === "hidden") made.hidden = Boolean(value);
    else made.setAttribute(name, String(value));
  }
  made.append(...children);
  return made;
}

/** Write a text only where it differs: the page is not laid out for nothing. */
export function say(/** @type {Element} */ element, /** @type {string} */ text) {
  if (element.textContent !== text) element.textContent = text;
}
