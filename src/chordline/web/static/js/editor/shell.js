/**
 * The editor's parts and how they stand in the page: photo, tools at its edge, words beside it.
 *
 * @typedef {ReturnType<typeof buildShell>} Shell
 */

import { Announcer } from "./announcer.js";
import { Controls } from "./controls.js";
import { html } from "./dom.js";
import { Drawing } from "./drawing.js";
import { ExtraMarks } from "./extra_marks.js";
import { Handles } from "./handles.js";
import { Help } from "./help.js";
import { Loupe } from "./loupe.js";
import { PromptBar } from "./prompt_bar.js";
import { Readout } from "./readout.js";
import { StaleNotice } from "./stale_notice.js";

/**
 * @param {import("./mark_editor.js").EditorOptions} options
 * @param {import("./viewport.js").Viewport} viewport
 * @param {object} on
 * @param {(name: string | null) => void} on.focus
 * @param {(action: string, byKey: boolean) => void} on.prompt
 * @param {(target: import("./placing.js").Target, byKey: boolean) => void} on.add
 * @param {import("./controls.js").ControlActions} on.controls
 * @param {{keep: () => void, take: () => void}} on.stale
 */
export function buildShell({ photoUrl, photo, test, view }, viewport, on) {
  const picture = html("img", {
    class: "cl-picture", src: photoUrl, alt: "", draggable: "false", width: photo.width_px, height: photo.height_px,
  });
  const drawing = new Drawing(viewport);
  const handles = new Handles(viewport, on.focus);
  const loupe = new Loupe(picture, viewport);
  const prompt = new PromptBar(on.prompt);
  const readout = new Readout({ hasView: Boolean(view) });
  const extra = new ExtraMarks(on.add);
  const controls = new Controls(on.controls, extra.element);
  const stale = new StaleNotice(on.stale);
  const help = new Help();
  const announcer = new Announcer();
  const stage = html("div", { class: "cl-stage" }, picture, drawing.element, handles.element, loupe.element);
  const root = html(
    "div", { class: "cl-editor", role: "group", "aria-label": `Marks: ${test.title}` },
    html("div", { class: "cl-frame" }, stage, prompt.element, controls.tools),
    html(
      "div", { class: "cl-panel" },
      html("div", { class: "cl-told" }, html("p", { class: "cl-test" }, test.title), stale.element, readout.element),
      controls.finish,
    ),
    help.element,
    announcer.element,
  );
  return { root, stage, picture, drawing, handles, loupe, prompt, readout, extra, controls, stale, help, announcer };
}
