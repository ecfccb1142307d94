// The screen: what the machine says, put where it is seen from two metres. Writes only what changed.

import { Figure } from "./figure.js";
import { cueOf, whatToSetUp } from "./sound.js";

const WAIT = "Wait for a grown-up.";
const RESTING = { rest: "Rest", breather: "Breathe", drink: "Drink" };
const SVG = "http://www.w3.org/2000/svg";

const root = document.querySelector("[data-follow]");
const part = (name) => root.querySelector(`[data-${name}]`);
const figure = new Figure(part("figure"));

export function write(name, text) {
  const element = part(name);
  if (element.textContent !== text) element.textContent = text;
}

/** Shows one screen: ready, running, paused, hurt, caution, finished or saved. */
export function show(screen) {
  root.dataset.follow = screen;
  const shown = root.querySelector(`.follow-sheet[data-screen="${screen}"]`);
  const first = { running: "[data-do=pause]", paused: "[data-screen=paused] [data-do=start]" }[
    screen
  ];
  (first ? root.querySelector(first) : shown).focus({ preventScroll: true });
  shown?.scrollTo(0, 0);
}

export const clock = (seconds) =>
  `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;

export function paint(machine, now) {
  const seen = machine.view(now);
  if (seen.state === "finished") return;
  const { step, exercise } = seen;
  const isResting = step.kind in RESTING;
  write("where", step.rounds > 1 ? `round ${step.round} of ${step.rounds}` : "");
  write("left", `${clock(seen.sessionLeft)} left`);
  write("name", isResting ? RESTING[step.kind] : exercise.name);
  write("side", isResting ? `then ${exercise.name}` : under(seen));
  write("next", seen.isWaiting ? "" : next(seen));
  write("skip", seen.isWaiting ? "Go on without it" : "Skip");
  showWhatToMind(seen, isResting);
  const [number, unit] = count(seen);
  write("count", number);
  write("unit", unit);
  root.classList.toggle("is-long", number.length > 2);
  root.classList.toggle("is-open", seen.isOpen);
  root.classList.toggle("is-asking", seen.isWaiting);
  part("lane")
    .querySelector(".is-done")
    .setAttribute("width", String(seen.share * 1000));
  if (exercise.photo) figure.showPhoto(exercise.photo);
  else figure.show(exercise.figure?.[seen.side ?? "left"] ?? "");
  const second = figureTime(seen);
  figure.keepTime(second, seen.state === "running" && second === seen.elapsed);
}

/** What to set up, before it begins, and what to mind for as long as it lasts. */
function showWhatToMind({ step, exercise, note, isWaiting }, isResting) {
  const isSetUp = step.kind === "set_up" || isWaiting;
  const texts = {
    "to-set-up": isSetUp ? whatToSetUp(exercise) : "",
    "how-to-set-up": isSetUp ? exercise.setup : "",
    caution: isResting ? "" : (exercise.caution ?? ""),
    note: isResting ? "" : note,
  };
  for (const [name, text] of Object.entries(texts)) {
    write(name, text);
    part(name).hidden = !text;
  }
  part("mind").hidden = !Object.values(texts).some(Boolean);
}

function under({ step, exercise, side, repetition, phase, isOpen, isWaiting }) {
  if (isWaiting) return WAIT;
  const doing = {
    set_up: "set it up",
    work: repetition ? exercise.phases[phase].word : isOpen ? exercise.dose : cueOf(step, exercise),
    change_side: "change side",
    get_ready: `get ready: ${exercise.dose}`,
    move_on: `next: ${exercise.dose}`,
  };
  return [side, doing[step.kind]].filter(Boolean).join(" · ");
}

function count({ step, exercise, left, repetition, isOpen }) {
  if (isOpen)
    return [
      String(exercise.amount),
      exercise.measure === "metres" ? "metres, then Done" : "then tap Done",
    ];
  if (repetition) return [String(repetition), `of ${exercise.amount}`];
  if (step.kind === "work" && exercise.measure === "metres")
    return [String(left), `seconds for ${exercise.amount} metres`];
  return [String(left), left === 1 ? "second" : "seconds"];
}

function next({ nextSide, nextName }) {
  if (nextSide) return `then ${nextSide}${nextName ? `, then ${nextName}` : ""}`;
  return nextName ? `then ${nextName}` : "then you are done";
}

/** The session's parts as a strip, as long as they last. */
export function drawLane(machine) {
  const lane = part("lane");
  const parts = machine.parts();
  const total = parts.reduce((sum, each) => sum + each.seconds, 0) || 1;
  lane.replaceChildren(bar(0, 0, "is-done"));
  let x = 0;
  for (const { seconds } of parts.slice(0, -1)) {
    x += (1000 * seconds) / total;
    lane.append(bar(x - 1, 2, "is-edge"));
  }
}

function bar(x, width, name) {
  const rect = document.createElementNS(SVG, "rect");
  for (const [key, value] of Object.entries({ x, y: 0, width, height: 12, class: name }))
    rect.setAttribute(key, value);
  return rect;
}

/** The second of its loop that the figure should be at: a hold, once taken, is held. */
function figureTime({ step, exercise, elapsed }) {
  const isHeld = step.kind === "work" && exercise.figure?.held != null;
  return isHeld ? Math.min(elapsed, exercise.figure.held) : elapsed;
}
