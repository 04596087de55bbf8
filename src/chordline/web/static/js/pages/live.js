/**
 * The mirror beside the mat. Pictures go to the server one by one and are forgotten there; one is
 * kept only by a press, and then as an ordinary photo.
 */

import { Camera, CameraError } from "../live/camera.js";
import { Hum } from "../live/hum.js";
import { LinePicture } from "../live/line_picture.js";
import { Link } from "../live/link.js";
import { Readings } from "../live/readings.js";
import { pageData, RefusedError } from "./answers.js";
import { findMeant, labelOf, suggestGymnasts } from "./gymnast_field.js";
import { Uploads } from "./uploads.js";

const AGAIN_AFTER_MS = 1000;
const KEPT_QUALITY = 0.92;
const KEPT_PX = 4096;
const PACED = 20;

/** @param {string} name @returns {any} */
const part = (name) => document.querySelector(`[data-${name}]`);
/** @param {number} ms */
const pause = (ms) => new Promise((resolve) => window.setTimeout(resolve, ms));

const data = pageData("live-data");
const stage = /** @type {HTMLElement} */ (part("stage"));
const test = /** @type {HTMLSelectElement} */ (part("test"));
const gymnast = /** @type {HTMLInputElement} */ (part("gymnast"));
const kept = /** @type {HTMLElement} */ (part("kept"));
const cameras = /** @type {HTMLSelectElement} */ (part("camera"));
/** Each start has a link of its own. */
let link = new Link();
const hum = new Hum();
const line = new LinePicture(part("line"));
const readings = new Readings({
  headline: part("headline"),
  list: part("readings"),
  side: part("side-told"),
  spoken: part("spoken"),
});
const camera = new Camera(part("video"), {
  onEnd() {
    stop();
    fault("The camera went away. Look at its plug, and tap again.");
  },
});
const uploads = new Uploads({ mostBytes: data.mostBytes, onChange: (changed) => changed && tellKept(changed) });
/** Counts the starts, so that a run that was stopped does nothing any more. */
let run = 0;
let isRunning = false;
let isMirrored = true;
let seenAt = -Infinity;
/** @type {{ms: number, at: number}[]} */
let paces = [];
/** @type {WakeLockSentinel | null} */
let awake = null;

/** @param {string} words what to do; empty = nothing is wrong */
function fault(words) {
  part("fault").hidden = words === "";
  part("fault").textContent = words;
}

/** @param {string} words over the picture */
function say(words) {
  part("do").hidden = words === "";
  if (part("do").textContent !== words) part("do").textContent = words;
}

function nearSide() {
  return /** @type {HTMLInputElement | null} */ (document.querySelector("[data-near]:checked"))?.value ?? "";
}

function drawState() {
  stage.classList.toggle("idle", !isRunning);
  part("tap").setAttribute("aria-label", isRunning ? "Stop" : "Start");
  part("tap-words").textContent = "Tap to start";
  part("keep").disabled = !isRunning;
}

async function stayAwake() {
  if (!("wakeLock" in navigator)) return;
  if (isRunning && document.visibilityState === "visible") {
    if (awake === null || awake.released) awake = await navigator.wakeLock.request("screen").catch(() => null);
  } else {
    await awake?.release().catch(() => undefined);
    awake = null;
  }
}

async function start() {
  const mine = ++run;
  const own = new Link();
  link = own;
  isRunning = true;
  fault("");
  say("");
  paces = [];
  readings.clear("Looking for her");
  drawState();
  try {
    await camera.open(cameras.value);
    await own.open();
  } catch (error) {
    if (mine !== run) return;
    stop();
    fault(error instanceof CameraError || error instanceof RefusedError ? error.message : "The camera does not open. Tap again.");
    return;
  }
  if (mine !== run) {
    // Stopped while the browser still asked.
    if (!isRunning) camera.close();
    return;
  }
  void listCameras();
  void stayAwake();
  await follow(mine);
}

function stop() {
  run += 1;
  isRunning = false;
  camera.close();
  link.close();
  hum.play("unknown");
  line.clear();
  say("");
  readings.clear("Stopped");
  part("pace").textContent = "Tap the picture, or press space, to start and to stop.";
  drawState();
  void stayAwake();
}

/** @param {number} mine which start this belongs to */
async function follow(mine) {
  while (mine === run) {
    const from = performance.now();
    const picture = await camera.picture(data.framePx, data.frameQuality);
    if (mine !== run) return;
    if (picture === null) {
      await pause(data.leastGapMs);
      continue;
    }
    const shape = { width: camera.width, height: camera.height };
    // No answer, no tone: she must not hear of a shape that nobody looks at.
    const silence = window.setTimeout(() => hum.play("unknown"), data.holdMs);
    try {
      const told = await link.look(picture, { at_ms: from, test: test.value, near: nearSide() });
      if (mine !== run) return;
      if (!told.late) show(told, shape);
      pace(from);
      fault("");
      await pause(Math.max(0, data.leastGapMs - (performance.now() - from)));
    } catch (error) {
      if (mine !== run) return;
      line.clear();
      readings.clear("Cannot tell yet");
      hum.play("unknown");
      fault(error instanceof RefusedError ? error.message : "chordline does not answer; trying again.");
      await pause(AGAIN_AFTER_MS);
    } finally {
      window.clearTimeout(silence);
    }
  }
}

/** @param {import("../live/link.js").Told} told @param {{width: number, height: number}} shape */
function show(told, shape) {
  hum.play(told.tone);
  const now = performance.now();
  if (told.chord.every((name) => name in told.landmarks)) {
    seenAt = now;
    line.draw(told, shape.width, shape.height);
  } else if (now - seenAt < data.holdMs) {
    // Somebody crosses: what was told stands for a moment, visibly not of now.
    line.fade();
    return;
  } else {
    line.clear();
  }
  say(told.reason === null || told.reason === "settling" ? "" : told.headline);
  readings.draw(told, isMirrored);
}

/** @param {number} from when the picture was taken */
function pace(from) {
  const now = performance.now();
  paces = [...paces.slice(1 - PACED), { ms: now - from, at: now }];
  if (paces.length < PACED / 2) return;
  const middle = paces.map(({ ms }) => ms).sort((a, b) => a - b)[paces.length >> 1];
  const rate = (1000 * (paces.length - 1)) / (now - paces[0].at);
  const late = (middle + data.lagMs) / 1000;
  part("pace").textContent =
    `${Math.round(middle)} ms there and back, ${rate.toFixed(0)} pictures a second; the line is about ${late.toFixed(1)} s late. Space or a tap stops.`;
}

async function listCameras() {
  const all = await camera.all().catch(() => []);
  part("camera-field").hidden = all.length < 2;
  cameras.replaceChildren(...all.map(({ id, label }) => new Option(label, id, false, id === camera.id)));
}

async function keep() {
  const picture = await camera.picture(KEPT_PX, KEPT_QUALITY);
  if (picture === null) {
    kept.textContent = "There is no picture to keep; start first.";
    return;
  }
  /** @type {Record<string, string>} */
  const said = { test: test.value };
  gymnast.removeAttribute("aria-invalid");
  if (gymnast.value.trim() !== "") {
    try {
      const her = await findMeant(gymnast.value.trim());
      gymnast.value = labelOf(her);
      said.gymnast_id = String(her.id);
    } catch (error) {
      gymnast.setAttribute("aria-invalid", "true");
      kept.textContent = error instanceof RefusedError ? error.message : "That is nobody.";
      gymnast.focus();
      return;
    }
  }
  uploads.add([new File([picture], `${test.value}.jpg`, { type: "image/jpeg" })], said);
}

/** @param {import("./uploads.js").Upload} upload */
function tellKept(upload) {
  if (upload.state === "waits" || upload.state === "goes") {
    kept.textContent = uploads.lostForS > 0 ? "There is no connection; it is sent as soon as there is one." : "On its way …";
  } else if (upload.photo !== null) {
    const open = document.createElement("a");
    open.href = `/photos/${upload.photo.id}`;
    open.textContent = "See it";
    const whose = upload.said.gymnast_id ? ` as a photo of ${gymnast.value}` : "; her card says whose it is, or To look at asks";
    kept.replaceChildren(`Kept${whose}. `, open);
  } else {
    kept.textContent = upload.reason;
  }
}

function drawTest() {
  const now = data.tests.find((/** @type {any} */ one) => one.id === test.value);
  part("how").textContent = now.how;
  part("care").textContent = now.care;
  part("back").href = `/screening?${new URLSearchParams({ test: test.value })}`;
}

const toggle = () => (isRunning ? stop() : void start());
part("tap").addEventListener("click", toggle);
part("sound").addEventListener("click", () => part("sound").setAttribute("aria-pressed", String(hum.toggle())));
part("flip").addEventListener("click", () => {
  isMirrored = !isMirrored;
  part("flip").setAttribute("aria-pressed", String(isMirrored));
  part("turned").classList.toggle("mirrored", isMirrored);
});
part("keep-form").addEventListener("submit", (/** @type {Event} */ event) => {
  event.preventDefault();
  void keep();
});
test.addEventListener("change", () => {
  // What was said of her side belongs to the test before.
  /** @type {HTMLInputElement} */ (document.querySelector("[data-near]")).checked = true;
  drawTest();
});
cameras.addEventListener("change", () => {
  if (!isRunning) return;
  stop();
  void start();
});
document.addEventListener("keydown", (event) => {
  const there = /** @type {HTMLElement} */ (event.target);
  if (event.key !== " " || event.ctrlKey || event.metaKey || event.altKey) return;
  if (there.closest("button, a, input, select, summary, textarea")) return;
  event.preventDefault();
  toggle();
});
document.addEventListener("visibilitychange", () => {
  // A camera that nobody looks at is off.
  if (document.visibilityState === "hidden" && isRunning) stop();
});
window.addEventListener("pagehide", () => link.close());

part("scriptless").hidden = true;
part("mirror-of").hidden = false;
part("controls").hidden = false;
part("turned").classList.toggle("mirrored", isMirrored);
suggestGymnasts(gymnast);
drawTest();
drawState();
