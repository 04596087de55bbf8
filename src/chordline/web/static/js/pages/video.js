/**
 * One video: picture, line, bar of time and traces that show one moment; trimming; progress.
 */

import { say } from "../editor/dom.js";
import { Film, Stills } from "../video/film.js";
import { LineOver } from "../video/line_over.js";
import { listenToKeys, Player } from "../video/player.js";
import { watchProgress } from "../video/progress.js";
import { Scrubber } from "../video/scrubber.js";
import { moment } from "../video/time_words.js";
import { Timeline } from "../video/timeline.js";
import { Traces } from "../video/traces.js";
import { Track } from "../video/track.js";
import { Trim } from "../video/trim.js";
import { ask, pageData } from "./answers.js";
import { suggestGymnasts } from "./gymnast_field.js";

const PLAY = "M7 4.5v15l12-7.5Z";
const PAUSE = "M6.5 4.5h4v15h-4Z M13.5 4.5h4v15h-4Z";
/** Long side of a frame that the server reads [px]. */
const STILL_PX = 960;
/** A browser that has said nothing of a video after so long cannot play it [ms]. */
const PATIENCE_MS = 20000;

/** @param {string} selector @returns {any} */
const find = (selector) => document.querySelector(selector);

const data = pageData("video-data");
const field = /** @type {HTMLInputElement | null} */ (find("[data-gymnasts]"));
if (field) suggestGymnasts(field);
if (data.state === "waiting") watchProgress(data.id);
void open();

async function open() {
  const video = /** @type {HTMLVideoElement | null} */ (find("[data-video]"));
  const read = (/** @type {string} */ what) => (data.measured ? ask(`/api/videos/${data.id}/${what}`).catch(() => null) : null);
  const [plays, track, traces] = await Promise.all([video ? canPlay(video) : false, read("track"), read("traces")]);
  if (!video && !track) {
    find("[data-stage]").hidden = true;
    return;
  }
  const times = track?.t_s ?? [];
  const long = plays && video && Number.isFinite(video.duration) ? video.duration : 0;
  const end_s = Math.max(long, data.duration_s ?? 0, times[times.length - 1] ?? 0, 0.1);
  mount({ video: plays ? video : null, track: track && new Track(track), traces, end_s });
}

/** @param {{video: HTMLVideoElement | null, track: Track | null, traces: any, end_s: number}} parts */
function mount({ video, track, traces, end_s }) {
  const section = /** @type {HTMLElement} */ (find("[data-film]"));
  const stage = /** @type {HTMLElement} */ (find("[data-stage]"));
  for (const part of document.querySelectorAll("[data-live]")) part.toggleAttribute("hidden", false);
  stage.style.setProperty("--aspect", String(data.width_px / data.height_px));

  const player = new Player({ end_s, rate_hz: data.rate_hz });
  const timeline = new Timeline(end_s);
  const scrubber = new Scrubber(find("[data-scrub]"), { timeline, player, ends: find("[data-ends]") });
  const along = { in_shape: traces?.in_shape ?? [], break_s: traces?.break_s ?? null, key_s: traces?.key_s ?? null, arrived_s: traces?.arrived_s ?? null };
  scrubber.show(along);
  const shown = traces && new Traces(find("[data-traces]"), traces, { order: data.order, words: data.words, broke: data.broke, timeline, player });
  if (shown) find("[data-traces-key]").hidden = false;
  if (track) {
    player.stepAlong(track.t_s);
    const line = new LineOver(find("[data-line]"), find("[data-lost]"), { track, path: data.path, broke: data.broke, alone: !data.file });
    stage.style.setProperty("--aspect", String(line.frame.width / line.frame.height));
    player.onShown((t_s) => line.draw(t_s));
  }
  player.onMoved((t_s) => {
    section.style.setProperty("--at", String(timeline.share(t_s)));
    section.classList.toggle("is-outside", !timeline.shows(t_s));
    say(find("[data-time]"), moment(t_s));
    scrubber.say(shown ? shown.tell(t_s) : "");
  });
  timeline.onChange(() => section.style.setProperty("--at", String(timeline.share(player.at_s))));

  stand(player, video, { end_s, line: track !== null });
  listenToKeys(section, player, end_s);
  addButtons(section, player);
  const trim = addTrim(timeline, player);
  showPart(timeline, track, trim);
  player.seek(along.key_s ?? (track ? track.t_s[0] : (data.from_s ?? 0)));
}

/**
 * Put what the browser can show under the line.
 *
 * @param {Player} player @param {HTMLVideoElement | null} video
 * @param {{end_s: number, line: boolean}} how whether there is a line that can move by itself
 */
function stand(player, video, { end_s, line }) {
  const still = /** @type {HTMLImageElement} */ (find("[data-still]"));
  if (video) {
    video.controls = false;
    player.standOn(new Film(video, player.ears));
    // It began well and turns out to be damaged farther on.
    video.addEventListener("error", () => stand(player, null, { end_s, line }), { once: true });
    return;
  }
  find("[data-video]")?.remove();
  const address = data.file ? (/** @type {number} */ t_s) => `/api/videos/${data.id}/frame?${new URLSearchParams({ t_s: t_s.toFixed(3), px: String(STILL_PX) })}` : null;
  if (address) {
    const note = find("[data-note]");
    const alone = line ? " While it runs you see the line alone." : "";
    note.textContent = `This browser cannot play the video, so you see it picture by picture.${alone}`;
    note.hidden = false;
  }
  find("[data-play]").hidden = !line;
  find("[data-stage]").classList.add("is-plain");
  player.standOn(new Stills(still, { address, end_s, on: player.ears }));
}

/** @param {HTMLVideoElement} video @returns {Promise<boolean>} whether the browser shows its picture, not its sound alone */
function canPlay(video) {
  return new Promise((done) => {
    const answer = () => {
      if (video.error) done(false);
      else if (video.readyState >= HTMLMediaElement.HAVE_METADATA) done(video.videoWidth > 0);
    };
    for (const event of ["loadedmetadata", "error"]) video.addEventListener(event, answer, { once: true });
    setTimeout(() => done(false), PATIENCE_MS);
    answer();
  });
}

/** @param {HTMLElement} section @param {Player} player */
function addButtons(section, player) {
  const play = /** @type {HTMLElement} */ (find("[data-play]"));
  play.addEventListener("click", () => player.toggle());
  player.onChanged(() => {
    play.setAttribute("aria-label", player.playing ? "Pause" : "Play");
    find("[data-play-shape]").setAttribute("d", player.playing ? PAUSE : PLAY);
  });
  for (const button of /** @type {NodeListOf<HTMLElement>} */ (section.querySelectorAll("[data-step]"))) {
    button.addEventListener("click", () => player.step(Number(button.dataset.step)));
  }
  for (const button of /** @type {NodeListOf<HTMLElement>} */ (section.querySelectorAll("[data-jump]"))) {
    button.addEventListener("click", () => {
      player.pause();
      player.seek(Number(button.dataset.jump));
    });
  }
  find("[data-stage]").addEventListener("click", () => play.hidden || player.toggle());
}

/** @param {Timeline} timeline @param {Player} player @returns {Trim | null} */
function addTrim(timeline, player) {
  const fields = { from: find("[data-from]"), to: find("[data-to]") };
  if (!fields.from || !data.file) return null;
  const trim = new Trim(find("[data-trim]"), { strip: find("[data-scrub]"), fields, timeline, player });
  for (const button of /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("[data-here]"))) {
    button.addEventListener("click", () => trim.setHere(button.dataset.here === "to" ? "to" : "from"));
  }
  find("[data-whole]").addEventListener("click", () => trim.clear());
  return trim;
}

/** The measured part fills the width; while somebody trims, the whole video does. @param {Timeline} timeline @param {Track | null} track @param {Trim | null} trim */
function showPart(timeline, track, trim) {
  const again = /** @type {HTMLDetailsElement | null} */ (find("[data-again]"));
  const draw = () => {
    const trimming = trim !== null && (again === null || again.open);
    trim?.show(trimming);
    find("[data-film]").classList.toggle("is-trimming", trimming);
    if (track && !trimming) timeline.showPart(track.t_s[0], track.t_s[track.t_s.length - 1]);
    else timeline.showAll();
  };
  again?.addEventListener("toggle", draw);
  draw();
}
