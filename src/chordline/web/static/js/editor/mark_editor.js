/**
 * The mark editor: landmarks over a photo, to be checked and moved.
 *
 *     const editor = mountEditor(element, { photoUrl, photo, landmarks, … });
 *     …
 *     editor.destroy();
 *
 * The element needs a size; `css/tokens.css` and `css/editor.css` belong to it.
 *
 * @typedef {object} EditorOptions
 * @property {string} photoUrl the upright picture
 * @property {{width_px: number, height_px: number}} photo
 * @property {Record<string, import("./store.js").Mark>} landmarks [photo px]
 * @property {"left" | "right"} nearSide
 * @property {"up" | "down" | "left" | "right"} front
 * @property {import("./model.js").Test} test
 * @property {import("./wording.js").Words} words
 * @property {unknown} version what `onSave` gets back, so that a stale save is noticed
 * @property {(record: import("./saver.js").Record, version: unknown) => Promise<import("./saver.js").Saved>} onSave
 *   `confirmed` in the record tells 'it is right' from a save on the way; a rejection's message is
 *   shown to the coach
 * @property {() => void} [onNext]
 * @property {() => void} [onPrevious]
 * @property {import("../geometry/body.js").Frame} [frame] gravity, floor and scale, where known
 * @property {import("../geometry/systematic.js").View} [view] where the phone stood, for the ±;
 *   without it ± holds the random error only, and says so
 * @property {number} [handSdPx] error of a mark that a hand set [photo px], 4 where not given
 */

import { labelOf } from "./drawing.js";
import { Editing } from "./editing.js";
import { listenToKeys } from "./keyboard.js";
import { PointerTools } from "./pointer_tools.js";

/** @param {HTMLElement} element @param {EditorOptions} options */
export function mountEditor(element, options) {
  const editing = new Editing(options);
  const { shell, store, viewport, placing, saver } = editing;
  const life = new AbortController();
  const { signal } = life;
  element.append(shell.root);

  const measure = () => editing.measureStage();
  shell.stage.addEventListener("pointerdown", measure, { capture: true, signal });
  shell.stage.addEventListener("wheel", measure, { capture: true, passive: true, signal });
  const pointers = new PointerTools(shell.stage, viewport, pointerActions(editing), { signal });
  listenToKeys(shell.root, keyActions(editing, options, pointers), { signal });
  const resizing = new ResizeObserver(() => editing.resize());
  resizing.observe(shell.root);
  window.addEventListener("beforeunload", (event) => store.dirty && event.preventDefault(), { signal });
  editing.resize();

  return {
    /** @returns {import("./saver.js").Record} the marks as they would be saved now. */
    record: () => ({ ...editing.toRecord(store.marks), confirmed: false }),
    /** @returns {import("../geometry/reading.js").Reading} */
    measures: () => editing.model.reading,
    /** @returns {import("./wording.js").Line[]} */
    lines: () => editing.model.lines,
    /** @param {string} landmark @returns its place on the stage [screen px] */
    placeOf: (landmark) => viewport.toScreen(editing.model.body.points[landmark]),
    isDirty: () => store.dirty,
    isPlacing: () => placing.target !== null,
    save: () => saver.save({ confirmed: false }),
    destroy() {
      life.abort();
      resizing.disconnect();
      shell.announcer.stop();
      shell.root.remove();
    },
  };
}

/** @param {Editing} editing @returns {import("./pointer_tools.js").PointerActions} */
function pointerActions(editing) {
  const { shell, store, placing } = editing;
  const { handles, loupe } = shell;
  return {
    landmarkAt: (at, type) => handles.nearest(at, editing.model, type),
    isPlacing: (at, type) =>
      placing.target !== null && !placing.takesHold(handles.nearest(at, editing.model, type)),
    place: (at) => placing.placeAt(at),
    placeOf: (name) => editing.model.body.points[name],
    onGrab: (name) => handles.focus(name),
    onDrag(name, at, finger, type) {
      editing.dragTo(name, at);
      loupe.show(editing.model.body.points[name], finger, type, labelOf(name, editing.model));
    },
    onDrop(name, how) {
      loupe.hide();
      editing.drop(name, how);
    },
    onCancel() {
      loupe.hide();
      store.cancel();
    },
    onView: () => editing.onView(),
  };
}

/**
 * @param {Editing} editing
 * @param {EditorOptions} options
 * @param {PointerTools} pointers
 * @returns {import("./keyboard.js").KeyActions}
 */
function keyActions(editing, options, pointers) {
  return {
    move: (name, dx, dy) => editing.moveBy(name, dx, dy),
    remove: (name) => editing.remove(name),
    confirm: () => editing.confirm(),
    next: () => editing.leave(options.onNext),
    previous: () => editing.leave(options.onPrevious),
    undo: () => editing.step("undo"),
    redo: () => editing.step("redo"),
    save: () => void editing.saver.save({ confirmed: false }),
    flip: () => editing.flip(),
    zoom: (factor) => editing.zoom(factor),
    fit: () => editing.fit(),
    help: () => editing.shell.help.open(),
    escape() {
      if (pointers.isDragging) pointers.cancelDrag();
      else editing.placing.aim(null);
    },
  };
}
