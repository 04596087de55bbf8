/**
 * What happens in the editor: actions change the marks, and the marks are drawn.
 *
 * @typedef {import("./mark_editor.js").EditorOptions} EditorOptions
 * @typedef {import("./store.js").Marks} Marks
 */

import { flipSide, placeMark, removeMark } from "./edits.js";
import { bodyBox, placePanel } from "./layout.js";
import { createModelling } from "./model.js";
import { Placing } from "./placing.js";
import { Saver } from "./saver.js";
import { buildShell } from "./shell.js";
import { Store } from "./store.js";
import { Viewport } from "./viewport.js";
import { spoken } from "./wording.js";

const HAND_SD_PX = 4;
const ZOOM = 1.3;

export class Editing {
  #options;
  #edit;
  #modelOf;
  #active = /** @type {string | null} */ (null);
  #goesOn = false;
  #theirs = /** @type {import("./model.js").Model | null} */ (null);
  /** What the view was fitted to; null once the coach has moved it. */
  #fitted = /** @type {"body" | "whole" | null} */ ("body");

  /** @param {EditorOptions} options */
  constructor(options) {
    this.#options = options;
    const { photo, landmarks, nearSide, version, onSave } = options;
    this.#edit = { photo, sdPx: options.handSdPx ?? HAND_SD_PX };
    this.store = new Store({ landmarks: { ...landmarks }, nearSide }, version);
    this.#modelOf = createModelling(options);
    this.model = this.#modelOf(this.store.marks);
    this.viewport = new Viewport(photo);
    this.placing = new Placing(this.store, { ...this.#edit, onChange: () => this.#drawAround() });
    this.saver = new Saver(this.store, {
      onSave,
      toRecord: (marks) => this.toRecord(marks),
      onChange: () => this.#onSaving(),
    });
    this.shell = buildShell(options, this.viewport, {
      focus: (name) => this.#onFocus(name),
      prompt: (action, byKey) => this.#onPrompt(action, byKey),
      add: (target, byKey) => this.#aim(target, byKey),
      controls: {
        undo: () => this.step("undo"),
        redo: () => this.step("redo"),
        zoomIn: () => this.zoom(ZOOM),
        zoomOut: () => this.zoom(1 / ZOOM),
        fit: () => this.fit(),
        help: () => this.shell.help.open(),
        flip: () => this.flip(),
        confirm: () => this.confirm(),
        next: () => this.leave(options.onNext),
        previous: () => this.leave(options.onPrevious),
        save: () => void this.saver.save({ confirmed: false }),
      },
      stale: {
        keep: () => void this.#keepOurs(),
        take: () => this.saver.takeTheirs(),
      },
    });
    this.store.onChange(({ live }) => this.#onMarks(live));
    if (this.model.missing.length > 0) this.placing.aim({ kind: "landmark", name: this.model.missing[0] });
  }

  /** @param {Marks} marks @returns {Omit<import("./saver.js").Record, "confirmed">} */
  toRecord(marks) {
    const { frontWord } = marks === this.model.marks ? this.model : this.#modelOf(marks);
    return { near_side: marks.nearSide, front: frontWord, landmarks: { ...marks.landmarks } };
  }

  // Marks

  /** @param {string} name @param {number} dx [photo px] @param {number} dy [photo px] */
  moveBy(name, dx, dy) {
    const { x_px, y_px } = this.store.marks.landmarks[name];
    const moved = placeMark(this.store.marks, name, { x: x_px + dx, y: y_px + dy }, this.#edit);
    this.store.apply(moved, { merge: `move ${name}` });
    if (this.viewport.reveal(this.model.body.points[name])) this.onView();
    this.shell.announcer.say(this.#toldOf(name), { rest: true });
  }

  /** @param {string} name @param {{x: number, y: number}} at [photo px] */
  dragTo(name, at) {
    this.store.preview(placeMark(this.store.marks, name, at, this.#edit));
  }

  /** @param {string} name @param {{moved: boolean, placed: boolean}} how */
  drop(name, { moved, placed }) {
    this.store.commit();
    if (placed) this.placing.placed(this.model.missing);
    if (moved) this.shell.announcer.say(this.#toldOf(name));
  }

  /** Only marks that the line can do without. @param {string} name */
  remove(name) {
    if (this.#options.test.chord.includes(name)) {
      this.shell.announcer.say(`The line needs the ${spoken(name).toLowerCase()}`);
      return;
    }
    this.store.apply(removeMark(this.store.marks, name));
    this.shell.announcer.say(`${spoken(name)} taken away`);
  }

  flip() {
    this.store.apply(flipSide(this.store.marks));
    this.shell.announcer.say(`${this.store.marks.nearSide} side near. ${this.model.headline}`);
  }

  /** @param {"undo" | "redo"} which */
  step(which) {
    const done = which === "undo" ? this.store.undo() : this.store.redo();
    const word = which === "undo" ? "Undone" : "Redone";
    this.shell.announcer.say(done ? `${word}. ${this.model.headline}` : `Nothing to ${which}`);
  }

  // Setting what is not there

  /** @param {import("./placing.js").Target} target @param {boolean} byKey */
  #aim(target, byKey) {
    this.placing.aim(target);
    if (byKey) this.#placeByKey();
  }

  #placeByKey() {
    const { width, height } = this.viewport;
    const name = this.placing.placeByKey(this.viewport.toPhoto({ x: width / 2, y: height / 2 }));
    if (name === null) return;
    this.placing.placed(this.model.missing);
    this.shell.handles.focus(name);
    this.shell.announcer.say(`${spoken(name)} set in the middle. Move it with the arrows.`);
  }

  /** @param {string} action @param {boolean} byKey */
  #onPrompt(action, byKey) {
    if (action === "set it") this.#aim({ kind: "landmark", name: this.model.missing[0] }, byKey);
    else if (action === "add a point") this.#placeByKey();
    else if (action === "take it away" && this.#active) this.remove(this.#active);
    else this.placing.aim(null);
  }

  // Finishing

  /** One key when it is right: save, then the next photo. */
  confirm() {
    if (this.saver.stale) {
      this.shell.stale.focus();
      return;
    }
    if (this.model.missing.length > 0) {
      if (!this.placing.target) this.placing.aim({ kind: "landmark", name: this.model.missing[0] });
      this.#placeByKey();
      return;
    }
    const unseen = this.placing.unseen;
    if (unseen) {
      this.shell.handles.focus(unseen);
      this.shell.announcer.say(`Move the ${spoken(unseen).toLowerCase()} to its place first`);
      return;
    }
    void this.#goOnAfter(this.saver.save({ confirmed: true }), this.#options.onNext);
  }

  /** Another photo without a word on this one; what was changed is saved. */
  leave(/** @type {(() => void) | undefined} */ go) {
    const saving = this.store.dirty ? this.saver.save({ confirmed: false }) : Promise.resolve(true);
    void this.#goOnAfter(saving, go);
  }

  #keepOurs() {
    const confirmed = this.saver.stale?.confirmed ?? false;
    return this.#goOnAfter(this.saver.keepOurs(), confirmed ? this.#options.onNext : undefined);
  }

  /**
   * Once, however often the key was pressed meanwhile: no photo is skipped unseen.
   *
   * @param {Promise<boolean>} saving @param {(() => void) | undefined} go
   */
  async #goOnAfter(saving, go) {
    if (this.#goesOn) return;
    this.#goesOn = true;
    const saved = await saving;
    this.#goesOn = false;
    if (saved && !this.store.dirty) go?.();
  }

  #onSaving() {
    const { stale, state, reason } = this.saver;
    this.#theirs = stale
      ? this.#modelOf({ landmarks: stale.current.landmarks, nearSide: stale.current.near_side })
      : null;
    if (state === "failed") this.shell.announcer.say(`Not saved. ${reason}`);
    this.#draw(false);
    if (state === "stale") this.shell.stale.focus();
  }

  // The view

  /** @param {number} factor */
  zoom(factor) {
    const held = this.#active && this.model.body.points[this.#active];
    const { width, height } = this.viewport;
    this.viewport.zoomAt(held ? this.viewport.toScreen(held) : { x: width / 2, y: height / 2 }, factor);
    this.onView();
  }

  /** Her body as large as it fits; once more the whole photo. */
  fit() {
    this.#fitted = this.#fitted === "body" ? "whole" : "body";
    this.#fitNow();
  }

  /** The stage has another size. */
  resize() {
    this.viewport.inset = placePanel(this.shell.root, bodyBox(this.model, this.#options.photo));
    this.measureStage();
    if (this.#fitted) this.#fitNow();
    else this.#draw(false);
  }

  /** Where the browser shows the stage; scrolling and CSS transforms move it without a word. */
  measureStage() {
    const { stage } = this.shell;
    this.viewport.place(stage.clientWidth, stage.clientHeight, stage.getBoundingClientRect());
  }

  onView() {
    this.#fitted = null;
    this.#draw(false);
  }

  #fitNow() {
    if (this.#fitted === "whole") this.viewport.fitWhole();
    else this.viewport.fit(bodyBox(this.model, this.#options.photo));
    this.#draw(false);
  }

  // Drawing

  /** @param {boolean} live */
  #onMarks(live) {
    this.model = this.#modelOf(this.store.marks, { live });
    this.#draw(live);
  }

  /** @param {string | null} name */
  #onFocus(name) {
    if (name === this.#active) return;
    this.#active = name;
    if (name && this.viewport.reveal(this.model.body.points[name])) this.#fitted = null;
    this.#draw(false);
  }

  /** @param {boolean} live */
  #draw(live) {
    const { picture, drawing, handles, readout } = this.shell;
    picture.style.transform = this.viewport.pictureTransform;
    drawing.draw(this.model, { active: this.#active, live, theirs: this.#theirs });
    handles.draw(this.model);
    readout.draw(this.model);
    if (!live) this.#drawAround();
  }

  #drawAround() {
    const { controls, prompt, extra, stale, handles, stage, root } = this.shell;
    const { store, saver, model } = this;
    handles.settle(model);
    controls.draw({
      canUndo: store.canUndo,
      canRedo: store.canRedo,
      nearSide: store.marks.nearSide,
      front: model.frontWord,
      dirty: store.dirty,
      saving: saver.state,
      reason: saver.reason,
    });
    prompt.draw(this.placing.prompt({ missing: model.missing, active: this.#active, needed: model.body.chord }));
    extra.draw(this.placing.offers());
    stale.draw(model, this.#theirs, saver.stale?.current.author);
    root.classList.toggle("is-stale", this.#theirs !== null);
    stage.classList.toggle("is-placing", this.placing.target !== null);
  }

  /** What moving a landmark did, in words. @param {string} name */
  #toldOf(name) {
    const line =
      this.model.lines.find((each) => each.name === `${name}_opening_deg`) ??
      this.model.lines.find((each) => each.name === "bow_max_pct");
    if (!line) return this.model.headline;
    return `${line.label} ${line.words}${line.verdict ? `, ${line.verdict}` : ""}`;
  }
}
