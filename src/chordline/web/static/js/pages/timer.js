/**
 * The evening's timer. Everything it needs stands in the page: once open, it wants no network. Where
 * it stands is kept on this device, so that a page that was closed by mistake goes on.
 */

import { Bell } from "../timer/bell.js";
import { Clock, inDigits } from "../timer/clock.js";

const TICK_MS = 200;
/** From here on the digits are told apart: finish, and get ready to change. */
const LAST_MS = 30_000;
const COUNTED_MS = 3_000;
const MINUTE_MS = 60_000;

/** @param {string} name @returns {HTMLElement} */
const part = (name) => /** @type {HTMLElement} */ (document.querySelector(`[data-${name}]`));

const evening = JSON.parse(part("evening").textContent ?? "{}");
// Of the session, however often its stations are dealt: who comes late does not stop the clock.
const memory = `chordline-timer-${evening.session_id}`;
const rounds = /** @type {HTMLElement[]} */ ([...document.querySelectorAll("[data-round]")]);
const clock = new Clock([
  ...(evening.warm_up_min > 0
    ? [{ name: "Warm-up", round: null, length_ms: evening.warm_up_min * MINUTE_MS }]
    : []),
  ...rounds.map((_, index) => ({
    name: `Round ${index + 1} of ${rounds.length}`,
    round: index,
    length_ms: evening.round_min * MINUTE_MS,
  })),
]);
const bell = new Bell();
let counted = Infinity;
let shownPart = -1;
/** @type {WakeLockSentinel | null} */
let awake = null;

function remember() {
  try {
    localStorage.setItem(memory, JSON.stringify(clock.keep()));
  } catch {
    // A device that keeps nothing still tells the time.
  }
}

function recall() {
  try {
    clock.takeUp(JSON.parse(localStorage.getItem(memory) ?? "null"));
  } catch {
    // Nothing was kept.
  }
}

/** Keep the screen on while the clock runs, where the device allows it. */
async function stayAwake() {
  if (!("wakeLock" in navigator)) return;
  if (clock.isRunning && document.visibilityState === "visible") {
    if (awake === null || awake.released) awake = await navigator.wakeLock.request("screen").catch(() => null);
  } else {
    await awake?.release().catch(() => undefined);
    awake = null;
  }
}

function drawPart() {
  if (shownPart === clock.at) return;
  shownPart = clock.at;
  const { name, round } = clock.part;
  part("part").textContent = name;
  // During the warm-up the first round is shown: who is ready knows where to go.
  const shown = round ?? 0;
  rounds.forEach((one, index) => {
    one.hidden = index !== shown;
  });
  const next = rounds[shown + 1];
  part("next").hidden = round === null || next === undefined;
  part("first").hidden = round !== null;
  for (const one of document.querySelectorAll("[data-follows]")) {
    /** @type {HTMLElement} */ (one).hidden = Number(/** @type {HTMLElement} */ (one).dataset.follows) !== shown + 1;
  }
  part("back").toggleAttribute("disabled", clock.at === 0);
  part("on").toggleAttribute("disabled", clock.isLast);
}

function draw() {
  const left = clock.leftMs(Date.now());
  const digits = part("digits");
  const text = inDigits(left);
  if (digits.textContent !== text) digits.textContent = text;
  digits.classList.toggle("last", left <= LAST_MS);
  part("hurry").hidden = left > LAST_MS;
  part("hurry").textContent = left > 0 ? "Finish, then change" : clock.isLast ? "The end" : "Change";
  part("start").textContent = clock.isRunning ? "Pause" : left === 0 ? "Ended" : "Start";
  part("start").toggleAttribute("disabled", left === 0 && clock.isLast);
  drawPart();
}

/** @param {string} words */
function speak(words) {
  part("spoken").textContent = words;
}

function step() {
  const now = Date.now();
  const ended = clock.tick(now);
  if (ended > 0) {
    bell.end();
    counted = Infinity;
    speak(clock.isRunning ? `${clock.part.name}. Change the station.` : "The end of the last round.");
    remember();
    void stayAwake();
  } else if (clock.isRunning) {
    const second = Math.ceil(clock.leftMs(now) / 1000);
    if (second * 1000 <= COUNTED_MS && second < counted) {
      counted = second;
      bell.tick();
    }
  }
  draw();
}

/** @param {() => void} change */
function act(change) {
  change();
  counted = Infinity;
  remember();
  draw();
  void stayAwake();
}

const actions = {
  start: () =>
    act(() => {
      if (clock.isRunning) clock.pause(Date.now());
      else clock.start(Date.now());
      speak(clock.isRunning ? `${clock.part.name}.` : "Paused.");
    }),
  back: () => act(() => clock.goTo(clock.at - 1, Date.now())),
  on: () => act(() => clock.goTo(clock.at + 1, Date.now())),
  sound: () => {
    const on = bell.toggle();
    part("sound").setAttribute("aria-pressed", String(on));
  },
  large: () => {
    const on = document.body.classList.toggle("only-time");
    part("large").setAttribute("aria-pressed", String(on));
  },
  whole: () => {
    if (document.fullscreenElement) void document.exitFullscreen();
    else void document.documentElement.requestFullscreen().catch(() => undefined);
  },
};
const KEYS = { " ": "start", ArrowLeft: "back", ArrowRight: "on", s: "sound", t: "large", f: "whole" };

for (const [name, run] of Object.entries(actions)) part(name).addEventListener("click", run);
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const onButton = event.target instanceof HTMLButtonElement || event.target instanceof HTMLAnchorElement;
  if (event.key === " " && onButton) return;
  const name = /** @type {keyof typeof actions | undefined} */ (KEYS[/** @type {keyof typeof KEYS} */ (event.key)]);
  if (name === undefined || part(name).hasAttribute("disabled")) return;
  event.preventDefault();
  actions[name]();
});
document.addEventListener("visibilitychange", () => {
  step();
  void stayAwake();
});

recall();
clock.tick(Date.now());
part("controls").hidden = false;
part("scriptless").hidden = true;
if (!document.fullscreenEnabled) part("whole").hidden = true;
draw();
void stayAwake();
window.setInterval(step, TICK_MS);
