// The follow-along page: it binds the machine to the screen, the sounds and what the phone keeps.

import {
  forgetPlace,
  keepChoices,
  keepPlace,
  keepSore,
  keptChoices,
  keptPlace,
  localDay,
  soreOf,
} from "../keeping.js";
import { Machine } from "./machine.js";
import { queue, sendStraight, sendWaiting, stateOf } from "./outbox.js";
import { Sound, sentence } from "./sound.js";
import { clock, drawLane, paint, show, write } from "./view.js";

const TICK = 50; // half of what the figure and the voice may be apart
const STALE = 1500; // ms after which a cue helps nobody

const root = document.querySelector("[data-follow]");
const data = JSON.parse(document.getElementById("follow-data").textContent);
const { child, session, owner, inbox } = root.dataset;
const form = (name) => root.querySelector(`[data-${name}]`);
const button = (name) => root.querySelector(`[data-do=${name}]`);
const ownPlace = `${owner}-${session}`;
const ownChild = `${owner}-${child}`;
const now = () => performance.now();
const sound = new Sound();
let machine;
let leftOut = []; // from here on
let sore = []; // from the beginning
let lastKept = "";
let isBegun = false;
let doneOn = localDay(); // the day on which it was last under way
let isHeldBack = false; // something was reported here that holds every session back

// ---- the clock

setInterval(tick, TICK);

function tick() {
  if (machine.state === "running") react(machine.advance(now()));
}

function react(events) {
  for (const event of events) {
    if (now() - event.at < STALE) sound.give(event, machine);
    if (["step", "waiting", "finished", "interrupted"].includes(event.type))
      write("spoken", sentence(event, machine));
    if (event.type === "interrupted")
      trouble("The phone slept, so the session waited at this second.");
  }
  repaint();
}

function repaint() {
  paint(machine, now());
  button("easier").disabled = !machine.canBeEasier;
  if (machine.state !== screenOf()) goTo(machine.state);
  const second = `${machine.index} ${Math.floor(machine.snapshot(now()).held / 1000)} ${machine.state}`;
  if (machine.state !== "ready" && second !== lastKept) keepHere();
  lastKept = second;
}

const screenOf = () => root.dataset.follow;

function goTo(screen) {
  if (screen === "finished") {
    prefill();
    for (const [name, text] of [
      ["name", "Done"],
      ["side", data.name],
      ["where", ""],
      ["left", ""],
    ])
      write(name, text);
  }
  if (screen === "hurt")
    for (const [name, text] of [
      ["name", "Stopped"],
      ["side", ""],
      ["where", ""],
      ["left", ""],
    ])
      write(name, text);
  if (screen === "paused") write("setup", howTo(machine.exercise(), machine.note()));
  show(screen);
  stayAwake(screen === "running");
}

const howTo = ({ setup, stop, caution }, note) =>
  [setup, stop, caution, note].filter(Boolean).join(" ");

function keepHere() {
  if (machine.state === "running") doneOn = localDay();
  keepPlaceOf(machine);
}

function keepPlaceOf(there) {
  if (!keepPlace(ownPlace, there.snapshot(now()), child, doneOn)) trouble(NO_ROOM);
}

const NO_ROOM =
  "This phone has no room left to keep the place. Leave this page open until you have logged it.";

/** Says what became of something: "good", "look" or "note". */
function report(name, tint, text) {
  root.querySelector(`p[data-${name}]`).className = `notice notice-${tint}`;
  write(name, text);
}

function trouble(text) {
  for (const element of root.querySelectorAll("[data-trouble]")) {
    element.textContent = text;
    element.hidden = !text;
  }
}

// ---- what can be tapped

const acts = {
  start() {
    sound.wake();
    if (!isBegun) tell("started", {});
    isBegun = true;
    trouble("");
    react(machine.start(now()));
  },
  anew() {
    const stillSore = machine.sore;
    begin(null);
    if (stillSore.length) goWithout(stillSore);
    acts.start();
  },
  pause() {
    sound.hush();
    react(machine.pause(now()));
  },
  back: () => react(machine.back(now())),
  skip: () => react(machine.skip(now())),
  tap: () => react(machine.tap(now())),
  here: () => react(machine.here(now())),
  end: () => react(machine.end(now())),
  easier() {
    const { slot, round } = machine.visits[machine.step.visit];
    tell("easier", { slot, round: String(round) });
    react(machine.easier(now()));
    drawLane(machine);
    if (machine.step.kind !== "set_up" && !machine.isWaiting())
      sound.give({ type: "step", step: { ...machine.step, kind: "get_ready" } }, machine);
  },
  hurt() {
    sound.hush();
    machine.hurt(now());
    form("hurt").reset();
    askWhatBelongs();
    askForNothing();
    goTo("hurt");
  },
  unhurt() {
    machine.pause(now());
    repaint();
  },
  without() {
    machine.pause(now());
    goWithout(leftOut, sore);
    if (machine.state !== "finished") acts.start();
  },
};

root.addEventListener("click", (event) => {
  const tapped = event.target.closest("[data-do]");
  if (tapped) acts[tapped.dataset.do]();
});

const KEYS = {
  " ": "pause",
  ArrowLeft: "back",
  ArrowRight: "skip",
  Enter: "tap",
  g: "here",
  e: "easier",
  h: "hurt",
};

document.addEventListener("keydown", (event) => {
  const name = KEYS[event.key];
  const isElsewhere =
    event.target.closest("input, textarea, select, a") ||
    (event.target.closest("button") && [" ", "Enter"].includes(event.key));
  if (!name || isElsewhere || event.ctrlKey || event.metaKey || event.altKey || event.repeat)
    return;
  const isOff = name === "easier" && !machine.canBeEasier;
  if (screenOf() === "running" && !isOff) acts[name]();
  else if (["ready", "paused"].includes(screenOf()) && [" ", "h"].includes(event.key))
    acts[name === "pause" ? "start" : name]();
  else return;
  event.preventDefault();
});

// ---- choices

function choose() {
  const chosen = Object.fromEntries(new FormData(form("choices")));
  sound.choice = chosen.sound;
  machine.taps = chosen.pace === "tap";
  keepChoices(chosen);
}

function showChoices() {
  for (const [name, value] of Object.entries(keptChoices())) {
    const chosen = form("choices").querySelector(`[name=${name}][value=${value}]`);
    if (chosen) chosen.checked = true;
  }
  form("no-voice").hidden = sound.hasVoice;
}

form("choices").addEventListener("change", choose);
globalThis.speechSynthesis?.addEventListener?.("voiceschanged", () => {
  form("no-voice").hidden = sound.hasVoice;
});

// ---- something hurts

function askForNothing() {
  for (const each of form("hurt").querySelectorAll("[data-missing]")) each.hidden = true;
}

function goWithout(slots, sore) {
  react(machine.leaveOut(slots, now(), sore));
  drawLane(machine);
}

/** The first question without an answer, shown and asked for; null once all have one. */
function unanswered() {
  const questions = [...form("hurt").querySelectorAll("fieldset:not([data-may-be-empty])")];
  askForNothing();
  const first = questions.find((each) => !each.hidden && !each.querySelector(":checked")) ?? null;
  if (first) {
    first.querySelector("[data-missing]").hidden = false;
    first.scrollIntoView();
    first.querySelector("input").focus({ preventScroll: true });
  }
  return first;
}

/** Only a place has a side and a level. */
function askWhatBelongs() {
  const isSymptom = Boolean(form("hurt").querySelector("[data-symptom]:checked"));
  for (const each of form("hurt").querySelectorAll("[data-of-a-place]")) each.hidden = isSymptom;
}

form("hurt").addEventListener("change", askWhatBelongs);

form("hurt").addEventListener("submit", async (event) => {
  event.preventDefault();
  if (unanswered()) return;
  const told = new FormData(event.target);
  const said = { ...Object.fromEntries(told), hurt_signs: told.getAll("hurt_signs").join(",") };
  const here = machine.step ? machine.visits[machine.step.visit].slot : "";
  const isWorking = ["work", "change_side"].includes(machine.step?.kind);
  const fields = { ...said, hurt_id: crypto.randomUUID(), hurt_slot: isWorking ? here : "" };
  keepSore(ownChild, { id: fields.hurt_id, region: said.hurt_region, isWarning: isWarning(said) });
  judge(said, isWorking ? here : null);
  show("caution");
  report("told", "note", "Kept. Telling the coach…");
  const stopped = await tell("pain", fields);
  report("told", stopped ? "look" : "good", TOLD[stopped] ?? stopped);
});

const TOLD = {
  "": "The coach is told.",
  offline: "No connection just now: the coach is told as soon as there is one.",
  "not taken": "The coach could not be told from here. Tell the coach yourself, please.",
  "signed out": "You are signed out: sign in again, and the coach is told.",
  "no room":
    "This phone has no room to keep it, and it could not be sent. Tell the coach yourself, please.",
};

/** Whether no exercise can be chosen around it: every session waits until a coach has answered. */
const isWarning = ({ hurt_region: place, hurt_signs: signs }) =>
  place in data.symptoms || signs !== "";

/** What a family does first, "" where the caution says enough. */
function firstToDo({ hurt_region: place, hurt_signs: signs }) {
  if (place in data.symptoms) return data.symptoms[place];
  const chosen = signs.split(",");
  const isMeant = ({ sign, regions }) => chosen.includes(sign) && regions.includes(place);
  return data.calls.find(isMeant)?.text ?? "";
}

/** Ends the session where it must; else offers to leave out all that the sore place carries. */
function judge(said, here) {
  const { hurt_region: region, hurt_level: level } = said;
  const isOver =
    isWarning(said) || Number(level) >= data.endsFrom || data.endsWhere.includes(region);
  write("first-to-do", firstToDo(said));
  form("first-to-do").hidden = !firstToDo(said);
  const ahead = new Map();
  for (const step of machine.steps.slice(machine.index))
    ahead.set(machine.visits[step.visit].slot, machine.exercise(step));
  const hurting = (exercises) =>
    exercises
      .filter(([slot, exercise]) => slot === here || exercise.spares.includes(region))
      .map(([slot]) => slot);
  leftOut = hurting([...ahead]);
  sore = hurting(Object.entries(data.slots));
  const names = [...new Set(leftOut.map((slot) => ahead.get(slot).name))];
  const canGoOn = !isOver && leftOut.length < ahead.size;
  keepWhatIsLeft(canGoOn);
  const list = new Intl.ListFormat("en-GB").format(names);
  button("without").hidden = !canGoOn;
  button("without").textContent = names.length
    ? `Go on without ${names.length > 1 ? "them" : "it"}`
    : "Go on";
  const spared = names.length ? `Left out from here: ${list}. ` : "";
  write(
    "verdict",
    canGoOn
      ? `${spared}The rest may be done if it does not hurt. Stop for good when it does.`
      : "That is enough for today. Well noticed, and well said.",
  );
}

/** From here on the place kept is what may still be done: a tab killed now does not come back to
 *  what hurts, nor to a session that is over. */
function keepWhatIsLeft(canGoOn) {
  const then = Machine.restore(data, machine.snapshot(now()));
  if (canGoOn) then.leaveOut(leftOut, now(), sore);
  else then.end(now());
  keepPlaceOf(then);
}

// ---- the log

function prefill() {
  const { state, results, minutes } = machine.summary();
  const log = form("log");
  const radio = log.querySelector(`[name=state][value=${state}]`);
  if (radio) radio.checked = true;
  log.elements.minutes.value = minutes;
  log.elements.told_on.value = doneOn;
  for (const old of log.querySelectorAll("[data-result]")) old.remove();
  for (const [slot, result] of Object.entries(results)) {
    hide(log, `${slot}-state`, result.state);
    if (result.easier) hide(log, `${slot}-easier`, "on");
    for (const name of result.state === "not" ? [] : data.slots[slot].amounts) {
      if (name in result) hide(log, `${slot}-${name}`, result[name]);
    }
  }
  const done = Object.values(results).filter((each) => each.state !== "not").length;
  const on = doneOn === localDay() ? "" : `, on ${inWords(doneOn)}`;
  const took = `${minutes} minute${minutes === 1 ? "" : "s"}, ${done} of ${Object.keys(results).length} exercises${on}.`;
  write(
    "did",
    done
      ? `${took} How hard was it, and then save.`
      : "Nothing done today, and that is fine. Save it, and the coach knows.",
  );
}

const inWords = (day) =>
  new Date(`${day}T12:00`).toLocaleDateString("en-GB", {
    weekday: "long",
    day: "numeric",
    month: "long",
  });

function hide(log, name, value) {
  const input = Object.assign(document.createElement("input"), { type: "hidden", name, value });
  input.dataset.result = "";
  log.append(input);
}

form("log").addEventListener("submit", async (event) => {
  event.preventDefault();
  const log = event.target;
  const { csrfmiddlewaretoken, ...fields } = Object.fromEntries(new FormData(log));
  log.dataset.id ??= crypto.randomUUID();
  const stopped = await tell("log", fields, log.dataset.id);
  if (stopped === "no room") {
    trouble(
      "This phone has no room to keep the log, and it could not be sent. Leave this page open, and save it again once there is a connection.",
    );
    return;
  }
  forgetPlace(ownPlace);
  show("saved");
  const hasHurt = data.spared.length || soreOf(ownChild, data.reported).length;
  const said = !stopped && hasHurt ? LOGGED_WITH_PAIN : (SAVED[stopped] ?? stopped);
  report("saved", stopped ? "look" : "good", said);
});

const LOGGED_WITH_PAIN = "Logged. When something hurts, telling the coach is just right.";
const SAVED = {
  "": "Logged. Well done for today.",
  offline: "Logged on this phone. It is sent as soon as there is a connection.",
  "signed out": "Logged on this phone. Sign in again, and it is sent.",
  "not taken": "Not written down yet. All of it is kept: see below.",
};

/** Puts something in the queue and tries to send it, or sends it straight where there is no room.
 *  Resolves to why it could not, or "" once the server has written it. */
async function tell(kind, fields, id = crypto.randomUUID()) {
  const item = { id, kind, owner, child, session, fields, name: data.name };
  try {
    await queue(item);
  } catch {
    return sendStraight(item, inbox);
  }
  return (await sendWaiting(root)) || ((await stateOf(id)) ? "not taken" : "");
}

// ---- staying, leaving, coming back

let lock = null;

async function stayAwake(isWanted) {
  try {
    if (isWanted && !lock) lock = await navigator.wakeLock?.request("screen");
    else if (!isWanted && lock) {
      await lock.release();
      lock = null;
    }
  } catch {
    lock = null; // a phone that saves its battery may say no
  }
}

document.addEventListener("visibilitychange", () => {
  if (!document.hidden || machine.state !== "running") return;
  lock = null; // the browser lets go of it by itself
  acts.pause();
  trouble("The session waited at this second while you were away.");
});
window.addEventListener("online", () => sendWaiting(root));
window.addEventListener("pagehide", () => {
  if (machine.state !== "ready" && !["caution", "saved"].includes(screenOf())) keepHere();
});

function begin(kept) {
  machine = Machine.restore(data, kept) ?? new Machine(data);
  if (machine.state !== "ready") doneOn = kept.doneOn ?? doneOn;
  choose();
  spareWhatHurts();
  drawLane(machine);
}

/** What hurts and is not answered is left out of an older copy, too: of what the server knew when
 *  it made this page, and of what was reported on this phone since. And whatever the child may not
 *  do any more. */
function spareWhatHurts() {
  const here = soreOf(ownChild, data.reported);
  const regions = [...data.spared, ...here.map(({ region }) => region)];
  const slots = Object.entries(data.slots)
    .filter(([, exercise]) => exercise.spares.some((region) => regions.includes(region)))
    .map(([slot]) => slot)
    .concat(data.forbidden ?? [])
    .filter((slot) => !machine.sore.includes(slot));
  isHeldBack = here.some((each) => each.isWarning);
  if (slots.length && machine.state !== "finished") machine.leaveOut(slots, now());
}

showChoices();
const kept = keptPlace(ownPlace);
begin(kept);
isBegun = machine.state !== "ready";
if (kept && machine.state === "ready")
  trouble("The coach has changed this session since you began it. It starts anew.");
if (machine.state === "finished") goTo("finished");
if (machine.state === "paused") {
  const { exercise, sessionLeft } = machine.view(now());
  root.querySelector("[data-again]").textContent =
    `You were at ${exercise.name}, with ${clock(sessionLeft)} left.`;
  root.querySelector("[data-again]").hidden = false;
  button("anew").hidden = Object.keys(data.slots).every((slot) => machine.sore.includes(slot));
  button("start").textContent = "Go on from there";
}
if (isHeldBack) {
  write(
    "verdict",
    "Something was reported that holds every session back. The coach answers first.",
  );
  for (const each of root.querySelectorAll("[data-screen=caution] button")) each.hidden = true;
  show("caution");
}
root.classList.add("is-live");
sendWaiting(root);
