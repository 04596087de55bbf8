/**
 * The editor without a pointer. Keys that a button, a list or a dialog needs stay theirs.
 *
 * @typedef {object} KeyActions
 * @property {(name: string, dx: number, dy: number) => void} move by photo px
 * @property {(name: string) => void} remove
 * @property {() => void} confirm it is right: save, then the next photo
 * @property {() => void} next
 * @property {() => void} previous
 * @property {() => void} undo
 * @property {() => void} redo
 * @property {() => void} save
 * @property {() => void} flip
 * @property {(factor: number) => void} zoom
 * @property {() => void} fit
 * @property {() => void} help
 * @property {() => void} escape
 */

import { nameOf } from "./handles.js";

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const STEP_PX = 1;
const LONG_STEP_PX = 10;
const ZOOM = 1.3;

/**
 * @param {HTMLElement} root of the editor
 * @param {KeyActions} actions
 * @param {{signal: AbortSignal}} life
 */
export function listenToKeys(root, actions, { signal }) {
  document.addEventListener(
    "keydown",
    (event) => {
      const target = /** @type {HTMLElement} */ (event.target);
      const ours = target === document.body || root.contains(target);
      if (!ours || event.defaultPrevented || root.querySelector("dialog[open]")) return;
      if (target.matches("input, textarea, select, [contenteditable]")) return;
      const landmark = nameOf(target);
      const act = event.ctrlKey || event.metaKey ? chord(event, actions) : plain(event, actions, landmark, target);
      if (!act) return;
      event.preventDefault();
      act();
    },
    { signal },
  );
}

/** @param {KeyboardEvent} event @param {KeyActions} actions */
function chord(event, actions) {
  const key = event.key.toLowerCase();
  if (key === "z") return event.shiftKey ? actions.redo : actions.undo;
  if (key === "y") return actions.redo;
  if (key === "s") return actions.save;
  return null;
}

/**
 * @param {KeyboardEvent} event
 * @param {KeyActions} actions
 * @param {string | null} landmark that has the focus
 * @param {HTMLElement} target
 */
function plain(event, actions, landmark, target) {
  if (event.altKey) return null;
  if (landmark !== null) {
    const arrow = ARROWS[event.key];
    const step = event.shiftKey ? LONG_STEP_PX : STEP_PX;
    if (arrow) return () => actions.move(landmark, arrow[0] * step, arrow[1] * step);
    if (event.key === "Delete" || event.key === "Backspace") return () => actions.remove(landmark);
  }
  if (event.key === "Enter") {
    const itsOwn = landmark === null && target.closest("button, summary, a");
    return itsOwn || event.repeat ? null : actions.confirm;
  }
  switch (event.key) {
    case "Escape": return actions.escape;
    case "+": case "=": return () => actions.zoom(ZOOM);
    case "-": return () => actions.zoom(1 / ZOOM);
    case "0": return actions.fit;
    case "u": return actions.undo;
    case "f": return actions.flip;
    case "n": return actions.next;
    case "p": return actions.previous;
    case "?": return actions.help;
    default: return null;
  }
}
