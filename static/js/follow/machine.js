// The follow-along as a state machine. It knows no page and no timer: every call is told `now`, in
// milliseconds of a clock that only goes forward, and answers with what happened up to then.
//
// A step begins exactly where the one before it ended, however late the call that notices: lateness
// never adds up.
//
// No step of a watched exercise runs until somebody has said that a grown-up is here, however it was
// reached: by the clock, by going back, as the easier option, after a kill. Whoever was there is asked
// for again once another exercise has come between, or the session stood for long; a rest is neither.

import { isResting, stepsOf, visitsOf, withEasier, without } from "./visits.js";

/** A silence longer than this is a sleeping phone, not a slow tab, which is woken once a minute. */
export const LONGEST_SILENCE = 90_000;
const BACK_TO_START = 2_000;
const HALF_WAY_FROM = 20;
const COUNTED_FROM = 4;

export class Machine {
  /** `data` is what the server says of the session; `taps`: repetitions wait to be tapped done. */
  constructor(data, { taps = false } = {}) {
    this.data = data;
    this.taps = taps;
    this.state = "ready"; // ready, running, paused, hurt, finished
    this.changes = [];
    this.done = {};
    this.index = 0;
    this.held = 0; // milliseconds into the step while the clock stands
    this.lived = 0; // milliseconds the session has run
    this.waited = 0; // of them, at this step, for a grown-up
    this.isAsking = false; // whether a grown-up was asked for at this step
    this.watched = null; // the exercise for which a grown-up is here
    this.stoodSince = 0;
    this.lay(visitsOf(data.steps));
    this.asked = countBouts(this.visits);
  }

  lay(visits) {
    this.visits = visits;
    this.steps = stepsOf(visits);
    this.starts = [0];
    for (const step of this.steps) this.starts.push(this.starts.at(-1) + step.seconds * 1000);
  }

  get step() {
    return this.steps[this.index];
  }

  /** What is being done or comes next: the exercise as written, or its easier option. */
  exercise(step = this.step) {
    const slot = this.data.slots[this.visits[step.visit].slot];
    return this.visits[step.visit].easier ? slot.easier : slot;
  }

  /** What coaches say of it: to this child, and to everybody who does it. */
  note() {
    const slot = this.data.slots[this.visits[this.step.visit].slot];
    return [slot.note, ...(this.exercise().notes ?? [])].filter(Boolean).join(" ");
  }

  isOpen(step = this.step) {
    return this.endsByTap(step) && !this.isWaiting(step);
  }

  endsByTap(step = this.step) {
    return this.taps && step?.kind === "work" && this.exercise(step).measure !== "seconds";
  }

  /** Whether nothing goes on until a grown-up is here. */
  isWaiting(step = this.step) {
    if (!step || isResting(step) || !this.exercise(step).watch) return false;
    return this.watched !== this.nameOf(step);
  }

  nameOf(step) {
    const { slot, easier } = this.visits[step.visit];
    return `${slot}${easier ? ".easier" : ""}`;
  }

  // ---- the clock

  start(now) {
    if (this.state === "finished" || this.state === "running") return [];
    if (!this.steps.length) return this.finish(now);
    if (now - this.stoodSince > LONGEST_SILENCE) this.watched = null;
    this.state = "running";
    this.last = now;
    this.isAsking = false;
    this.begun = now - this.held;
    this.reached = this.held > 0 ? this.held : -1;
    return this.advance(now);
  }

  pause(now, state = "paused") {
    const events = this.advance(now);
    if (this.state === "running") Object.assign(this, { held: now - this.begun, stoodSince: now });
    if (this.state !== "finished") this.state = state;
    return events;
  }

  hurt(now) {
    return this.pause(now, "hurt");
  }

  advance(now) {
    if (this.state !== "running") return [];
    if (this.isWaiting()) return this.wait(now);
    if (now < this.last) this.begun += now - this.last;
    else if (now - this.last > LONGEST_SILENCE) return this.interrupt();
    else this.lived += now - this.last;
    this.last = now;
    const events = [];
    while (this.state === "running") {
      if (this.isWaiting()) return [...events, ...this.wait(now)];
      events.push(...this.marksUpTo(now - this.begun));
      const length = this.step.seconds * 1000;
      if (this.isOpen() || now - this.begun < length) break;
      this.record(this.step, Infinity);
      this.begun += length;
      events.push(...this.enter(this.index + 1, now));
    }
    return events;
  }

  /** The step's clock stands. As time lived counts no more of it than setting up was given. */
  wait(now) {
    const isFirst = !this.isAsking;
    this.isAsking = true;
    if (isFirst && this.reached < 0) this.begun = now;
    const passed = isFirst ? 0 : now - this.last;
    const { kind, seconds } = this.step;
    const most = (kind === "set_up" ? seconds * 1000 : 0) - this.waited;
    const counted = Math.max(0, Math.min(passed, most));
    this.waited += counted;
    this.lived += counted;
    this.begun += passed;
    this.last = now;
    return isFirst ? [{ type: "waiting", step: this.step, at: now }] : [];
  }

  interrupt() {
    this.held = this.last - this.begun;
    this.watched = null;
    this.state = "paused";
    return [{ type: "interrupted", at: this.last }];
  }

  enter(index, now) {
    this.index = index;
    this.reached = -1;
    this.waited = 0;
    this.isAsking = false;
    const step = this.step;
    if (step && !isResting(step) && this.nameOf(step) !== this.watched) this.watched = null;
    return index < this.steps.length ? [] : this.finish(now);
  }

  finish(now) {
    this.index = this.steps.length;
    this.held = 0;
    this.state = "finished";
    return [{ type: "finished", at: now }];
  }

  marksUpTo(elapsed) {
    const passed = this.marks().filter(
      (mark) => mark.after > this.reached && mark.after <= elapsed,
    );
    this.reached = elapsed;
    return passed.map((mark) => ({ ...mark, step: this.step, at: this.begun + mark.after }));
  }

  /** What is to be said or sounded in the current step, by milliseconds after its start. */
  marks() {
    const { kind, seconds } = this.step;
    const marks = [{ type: "step", after: 0 }];
    if (this.isOpen()) return marks;
    const exercise = this.exercise();
    const isCounted = kind === "work" && exercise.measure === "repetitions";
    if (isCounted) {
      for (let n = 0; n < exercise.amount; n++)
        marks.push({ type: "repetition", after: n * exercise.unit * 1000, n: n + 1 });
      return marks;
    }
    if (kind === "work" && seconds >= HALF_WAY_FROM)
      marks.push({ type: "half", after: seconds * 500 });
    if (seconds >= COUNTED_FROM)
      for (const n of [3, 2, 1]) marks.push({ type: "count", after: (seconds - n) * 1000, n });
    return marks;
  }

  // ---- what a child can do

  back(now) {
    this.settle(now);
    if (this.state === "finished") return [];
    const isFresh = this.held < BACK_TO_START && this.index > 0;
    return this.jump(isFresh ? this.index - 1 : this.index, now);
  }

  skip(now) {
    this.settle(now);
    if (this.state === "finished") return [];
    this.recordHere();
    return this.jump(this.isWaiting() ? this.afterIt() : this.index + 1, now);
  }

  /** A grown-up is here: what waited for one goes on. */
  here(now) {
    if (this.state !== "running" || !this.isWaiting()) return [];
    this.wait(now);
    this.watched = this.nameOf(this.step);
    return this.step.kind === "set_up" ? this.jump(this.index + 1, now) : this.advance(now);
  }

  /** Where it goes on without this exercise and all its rounds in a row: nobody is there for them. */
  afterIt() {
    const { slot } = this.visits[this.step.visit];
    const later = this.steps.slice(this.index);
    const next = later.find((step) => this.visits[step.visit].slot !== slot);
    return next ? this.steps.indexOf(next) : this.steps.length;
  }

  /** Ends the session here, with what was done of the current step. */
  end(now) {
    this.settle(now);
    if (this.state !== "finished") this.recordHere();
    return this.finish(now);
  }

  /** The tap of “tap when done”. */
  tap(now) {
    if (this.state !== "running" || !this.isOpen()) return [];
    this.settle(now);
    this.record(this.step, Infinity);
    return this.jump(this.index + 1, now);
  }

  /** Whether there is an easier option to change to. */
  get canBeEasier() {
    if (this.state === "finished" || !this.step) return false;
    const visit = this.visits[this.step.visit];
    return !visit.easier && Boolean(this.data.slots[visit.slot].easier);
  }

  easier(now) {
    this.settle(now);
    if (!this.canBeEasier) return [];
    this.changes.push({ easier: true, step: this.step.id });
    const moved = this.makeEasier();
    return moved ? this.jump(this.index, now) : [];
  }

  /** Goes over to the easier option; whether the current step was left for another. */
  makeEasier() {
    const { visit, id } = this.step;
    const bouts = this.steps.filter((step) => step.visit === visit && step.kind === "work");
    const here = this.starts[this.index];
    const done = bouts.filter((step) => this.starts[this.steps.indexOf(step) + 1] <= here).length;
    const isBegun = ["work", "change_side"].includes(this.step.kind);
    const before = this.steps.filter((step) => step.visit < visit).length;
    const kept = before + this.visits[visit].lead.length + 2 * done;
    this.lay(
      withEasier(this.visits, visit, {
        done,
        isBegun,
        slots: this.data.slots,
        pace: this.data.pace,
      }),
    );
    this.index = isBegun ? kept : this.steps.findIndex((step) => step.id === id);
    if (isBegun || isResting(this.step ?? {})) return isBegun;
    const own = this.steps.filter((step) => step.visit === visit && !isResting(step));
    const setUp = own.find((step) => step.kind === "set_up");
    if (this.step && !setUp) return false;
    this.index = this.steps.indexOf(setUp ?? own[0]);
    return true;
  }

  /** Leaves exercises out from here on, the current one too if it is among them. `sore` are those
   *  that would have to be left out if all began anew: what is over already may be among them. */
  leaveOut(slots, now, sore = slots) {
    this.settle(now);
    if (this.state === "finished") return [];
    this.changes.push({ without: slots, sore, step: this.step.id });
    if (slots.includes(this.visits[this.step.visit].slot)) this.recordHere();
    const from = this.makeWithout(slots);
    return from === null ? [] : this.jump(from, now);
  }

  /** What must not come back where the session is begun anew. */
  get sore() {
    return [
      ...new Set(this.changes.flatMap(({ without = [], sore = [] }) => [...without, ...sore])),
    ];
  }

  makeWithout(slots) {
    const { visit, id } = this.step;
    const dropped = new Set(slots);
    const before = this.steps.filter((step) => step.visit < visit).length;
    const isHere = dropped.has(this.visits[visit].slot);
    const from = isHere ? visit : visit + 1;
    this.lay(without(this.visits, from, dropped, this.data.pace));
    this.index = isHere ? before : this.steps.findIndex((step) => step.id === id);
    return isHere ? before : null;
  }

  settle(now) {
    if (this.state !== "running") return;
    if (this.isWaiting()) this.wait(now);
    this.lived += Math.max(0, Math.min(now - this.last, LONGEST_SILENCE));
    this.last = now;
    this.held = now - this.begun;
  }

  jump(index, now) {
    this.held = 0;
    this.begun = now;
    const events = this.enter(index, now);
    return this.state === "running" ? [...events, ...this.advance(now)] : events;
  }

  // ---- what was done

  recordHere() {
    this.record(this.step, this.endsByTap() ? null : this.held / 1000);
  }

  /** `worked` in seconds: Infinity for all of it, null where nobody can know. */
  record(step, worked) {
    if (step?.kind !== "work") return;
    const { amount, unit } = this.exercise(step);
    const { slot, round } = this.visits[step.visit];
    const did = worked === null ? null : Math.min(amount, Math.floor(worked / unit + 1e-9));
    this.done[`${slot}.${round}.${step.side ?? ""}`] = {
      slot,
      round,
      side: step.side,
      did,
      asked: amount,
      easier: step.easier,
    };
  }

  /** By exercise, for the log: its state, the amounts of its last round, and whether it was eased. */
  summary() {
    const results = {};
    for (const slot of Object.keys(this.data.slots)) {
      const bouts = Object.values(this.done).filter((bout) => bout.slot === slot);
      const whole = bouts.filter((bout) => bout.did !== null && bout.did >= bout.asked).length;
      const any = bouts.some((bout) => bout.did === null || bout.did > 0);
      const isAll = whole >= this.asked[slot] - this.spared(slot);
      results[slot] = {
        state: any ? (isAll ? "done" : "some") : "not",
        easier: bouts.some((bout) => bout.easier),
        ...amounts(bouts),
      };
    }
    const states = new Set(Object.values(results).map((each) => each.state));
    const state = states.size > 1 ? "some" : ([...states][0] ?? "not");
    return { state, results, minutes: Math.max(1, Math.round(this.lived / 60_000)) };
  }

  /** Bouts the easier option does without, as where it works both sides at once. */
  spared(slot) {
    const now = countBouts(this.visits)[slot] ?? 0;
    const isEased = this.visits.some((visit) => visit.slot === slot && visit.easier);
    return isEased ? Math.max(0, this.asked[slot] - now) : 0;
  }

  // ---- what is shown

  view(now) {
    if (this.state === "finished") return { state: this.state };
    const step = this.step;
    const elapsed = this.state === "running" ? Math.max(0, now - this.begun) : this.held;
    const within = this.isOpen() ? Math.min(elapsed, step.seconds * 1000) : elapsed;
    const ending = this.starts.at(-1);
    return {
      state: this.state,
      step,
      exercise: this.exercise(),
      note: this.note(),
      isOpen: this.isOpen(),
      isWaiting: this.isWaiting(),
      elapsed: elapsed / 1000,
      left: Math.max(0, Math.ceil(step.seconds - within / 1000 - 1e-6)),
      sessionLeft: Math.ceil((ending - this.starts[this.index] - within) / 1000),
      share: ending ? (this.starts[this.index] + within) / ending : 0,
      ...beat(step, this.exercise(), elapsed / 1000, this.isOpen()),
      ...this.next(),
    };
  }

  next() {
    const later = this.steps.slice(this.index + 1).filter((step) => step.kind === "work");
    const own = later.find((step) => step.visit === this.step.visit);
    const other = later.find((step) => step.visit !== this.step.visit);
    return { nextSide: own?.side ?? null, nextName: other ? this.exercise(other).name : null };
  }

  /** Seconds of each part, in order, as the session now stands. */
  parts() {
    const seconds = new Map();
    for (const step of this.steps)
      seconds.set(step.part, (seconds.get(step.part) ?? 0) + step.seconds);
    return [...seconds].map(([part, length]) => ({ part, seconds: length }));
  }

  // ---- coming back

  snapshot(now) {
    const held = this.state === "running" ? Math.max(0, now - this.begun) : this.held;
    const { changes, done, lived } = this;
    return {
      print: this.data.fingerprint,
      step: this.step?.id ?? null,
      held,
      changes,
      done,
      lived,
    };
  }

  /** The machine as it was, standing still; null where the session is no longer the same. */
  static restore(data, kept, options) {
    if (!kept || kept.print !== data.fingerprint) return null;
    const machine = new Machine(data, options);
    for (const change of kept.changes) {
      if (!machine.find(change.step)) return null;
      if (change.easier) machine.makeEasier();
      else machine.makeWithout(change.without);
    }
    Object.assign(machine, { changes: kept.changes, done: kept.done, lived: kept.lived });
    if (kept.step === null) machine.finish(0);
    else if (machine.find(kept.step)) Object.assign(machine, { held: kept.held, state: "paused" });
    else return null;
    return machine;
  }

  find(id) {
    const index = this.steps.findIndex((step) => step.id === id);
    if (index >= 0) this.index = index;
    return index >= 0;
  }
}

function countBouts(visits) {
  const counts = {};
  for (const visit of visits) {
    counts[visit.slot] =
      (counts[visit.slot] ?? 0) + visit.bouts.filter((step) => step.kind === "work").length;
  }
  return counts;
}

function amounts(bouts) {
  const last = Math.max(...bouts.map((bout) => bout.round));
  const names = { left: "amount_left", right: "amount_right" };
  const known = bouts.filter((bout) => bout.round === last && bout.did !== null);
  return Object.fromEntries(known.map((bout) => [names[bout.side] ?? "amount", bout.did]));
}

/** The repetition being done, its phase and, where sides swap with each, its side. */
function beat(step, exercise, elapsed, isOpen) {
  const side = step.side;
  if (step.kind !== "work" || isOpen || exercise.measure !== "repetitions") return { side };
  const repetition = Math.min(exercise.amount, Math.floor(elapsed / exercise.unit + 1e-9) + 1);
  const swapped = repetition % 2 ? "left" : "right";
  let into = elapsed - (repetition - 1) * exercise.unit;
  let phase = exercise.phases.length - 1;
  for (const [n, { seconds }] of exercise.phases.entries()) {
    if (into < seconds) {
      phase = n;
      break;
    }
    into -= seconds;
  }
  return { repetition, phase, side: exercise.sides === "alternating" ? swapped : side };
}
