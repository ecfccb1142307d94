// What has to be set up, and who has to be there, before an exercise begins.

import assert from "node:assert/strict";
import { test } from "node:test";

import { LONGEST_SILENCE, Machine } from "../../static/js/follow/machine.js";
import { sentence } from "../../static/js/follow/sound.js";
import { circuit, EXERCISES, run, session } from "./sessions.js";

const HOUR = 3_600_000;
const at = (machine) => [machine.step?.kind, machine.exercise().name, machine.isWaiting()];
const straight = (slots, rounds) =>
  slots.flatMap((slot, n) => circuit([slot], rounds, { part: `p${n}` }));

/** Taps “A grown-up is here” and runs until it waits again or ends. */
function throughTheNext(machine, now) {
  machine.here(now);
  let later = now;
  while (machine.state === "running" && !machine.isWaiting()) {
    later += 100;
    machine.advance(later);
  }
  return later;
}

test("a watched exercise waits for a grown-up, and no time carries it past", () => {
  const machine = new Machine(session(circuit(["row"], 1)));
  const events = run(machine, { until: HOUR, every: 1000 });
  assert.deepEqual(
    events.map((event) => [event.type, event.at]),
    [["waiting", 0]],
  );
  assert.deepEqual(at(machine), ["set_up", "Towel row", true]);
  assert.equal(machine.view(HOUR).isWaiting, true);
  assert.deepEqual(machine.summary().results.row, { state: "not", easier: false });
});

test("once a grown-up is here it is got ready for as ever, and done", () => {
  const machine = new Machine(session(circuit(["row"], 1)));
  run(machine, { until: 60_000 });
  machine.here(60_000);
  assert.deepEqual(at(machine), ["get_ready", "Towel row", false]);
  assert.equal(machine.view(60_000).left, 10);
  const events = run(machine, { now: 60_000 });
  assert.equal(events.at(-1).noticed, 60_000 + 30_000);
  assert.equal(machine.summary().results.row.state, "done");
});

test("nobody is asked for where nothing waits", () => {
  const machine = new Machine(session(circuit(["plank"], 1)));
  run(machine, { until: 12_000 });
  assert.deepEqual(machine.here(12_000), []);
  assert.equal(machine.view(12_000).left, 18);
});

test("after a mere rest the grown-up is still there", () => {
  const machine = new Machine(session(circuit(["row"], 3)));
  machine.start(0);
  throughTheNext(machine, 1000);
  assert.equal(machine.state, "finished");
  assert.equal(machine.summary().results.row.state, "done");
});

test("with another exercise between, a grown-up is asked for anew in every round", () => {
  const machine = new Machine(session(circuit(["row", "plank"], 3)));
  machine.start(0);
  let now = 0;
  const asked = [];
  while (machine.state === "running") {
    asked.push([machine.step.kind, machine.step.seconds, machine.step.round]);
    now = throughTheNext(machine, now + 1000);
  }
  assert.deepEqual(asked, [
    ["set_up", 90, 1],
    ["set_up", 10, 2],
    ["set_up", 10, 3],
  ]);
  assert.equal(machine.summary().state, "done");
});

test("going on without it leaves out all rounds of it in a row, and logs it as not done", () => {
  const machine = new Machine(session(straight(["row", "plank"], 3)));
  machine.start(0);
  machine.skip(5_000);
  assert.deepEqual(at(machine), ["get_ready", "Front plank", false]);
  run(machine, { now: 5_000 });
  const { state, results } = machine.summary();
  assert.deepEqual([state, results.row.state, results.plank.state], ["some", "not", "done"]);
});

test("going on without the last exercise ends the session", () => {
  const machine = new Machine(session(straight(["plank", "row"], 2)));
  run(machine, { until: 200_000 });
  assert.equal(machine.isWaiting(), true);
  assert.equal(machine.skip(200_000).at(-1).type, "finished");
});

test("going on without it in a circuit asks again in the next round", () => {
  const machine = new Machine(session(circuit(["row", "plank"], 2)));
  machine.start(0);
  machine.skip(1_000);
  assert.equal(machine.exercise().name, "Front plank");
  run(machine, { now: 1_000, until: 100_000 });
  assert.deepEqual(at(machine), ["set_up", "Towel row", true]);
  throughTheNext(machine, 100_000);
  assert.equal(machine.summary().results.row.state, "some");
});

test("there is no way back into it past the grown-up", () => {
  const machine = new Machine(session(straight(["row", "plank"], 2)));
  machine.start(0);
  machine.skip(1_000);
  machine.back(1_500);
  assert.deepEqual([machine.exercise().name, machine.isWaiting()], ["Towel row", true]);
  run(machine, { now: 1_500, until: HOUR, every: 1000 });
  assert.equal(machine.isWaiting(), true);
  machine.here(HOUR);
  assert.equal(machine.isWaiting(), false);
});

test("back from getting ready is the wait, which is over, and has its time again", () => {
  const machine = new Machine(session(circuit(["row"], 1)));
  machine.start(0);
  machine.here(1_000);
  machine.back(1_500);
  assert.deepEqual(at(machine), ["set_up", "Towel row", false]);
});

test("a tab that was killed asks again and goes on at the same second", () => {
  const machine = new Machine(session(circuit(["row"], 2)));
  machine.start(0);
  machine.here(1_000);
  run(machine, { now: 1_000, until: 20_000 });
  const left = machine.view(20_000).left;
  const back = Machine.restore(machine.data, machine.snapshot(20_000));
  assert.equal(back.isWaiting(), true);
  const events = back.start(0);
  assert.deepEqual(
    events.map((event) => event.type),
    ["waiting"],
  );
  run(back, { now: 0, until: HOUR, every: 1000 });
  back.here(HOUR);
  assert.deepEqual([at(back), back.view(HOUR).left], [["work", "Towel row", false], left]);
});

test("a long pause asks again, and a short one does not", () => {
  const begun = () => {
    const machine = new Machine(session(circuit(["row"], 1)));
    machine.start(0);
    machine.here(1_000);
    run(machine, { now: 1_000, until: 15_000 });
    machine.pause(15_000);
    return machine;
  };
  const [short, long] = [begun(), begun()];
  short.start(15_000 + LONGEST_SILENCE);
  long.start(15_000 + LONGEST_SILENCE + 1);
  assert.deepEqual([short.isWaiting(), long.isWaiting()], [false, true]);
});

test("a phone that slept while it waited still waits, and only setting up counts as time", () => {
  const machine = new Machine(session(circuit(["row"], 1)));
  machine.start(0);
  assert.deepEqual(machine.advance(2 * HOUR), []);
  assert.equal(machine.isWaiting(), true);
  for (let now = 2 * HOUR; now < 3 * HOUR; now += 1000) machine.advance(now);
  assert.equal(machine.lived, 90_000);
});

test("setting up without a watcher takes its time, and can be skipped", () => {
  const machine = new Machine(session(circuit(["seat"], 1)));
  run(machine, { until: 20_000 });
  assert.deepEqual(
    [...at(machine), machine.view(20_000).left],
    ["set_up", "Sit to stand", false, 10],
  );
  machine.skip(20_000);
  assert.equal(machine.step.kind, "get_ready");
  run(machine, { now: 20_000 });
  assert.equal(machine.summary().state, "done");
});

test("easier, while it waits, sets up the easier one and waits for nobody", () => {
  const machine = new Machine(session(circuit(["row", "plank"], 2)));
  machine.start(0);
  machine.easier(5_000);
  assert.deepEqual(at(machine), ["set_up", "Bag row", false]);
  assert.equal(machine.view(5_000).left, 45);
  const events = run(machine, { now: 5_000 });
  assert.equal(events.at(-1).type, "finished");
  const again = machine.steps.filter((step) => step.kind === "set_up");
  assert.equal(again.length, 1); // the bag still stands there in the second round
});

test("easier, where that is watched, waits for a grown-up", () => {
  for (const now of [5_000, 35_000, 45_000]) {
    const machine = new Machine(session(circuit(["seat"], 2)));
    run(machine, { until: now });
    machine.easier(now);
    assert.deepEqual(at(machine), ["set_up", "Step off", true], `after ${now} ms`);
    machine.here(now + 1000);
    assert.equal(machine.step.kind, "get_ready");
    run(machine, { now: now + 1000 });
    assert.equal(machine.state, "finished");
    const back = Machine.restore(machine.data, machine.snapshot(HOUR));
    assert.deepEqual(back.steps, machine.steps);
  }
});

test("leaving out what came before keeps the set-up of what comes", () => {
  const machine = new Machine(session(circuit(["plank", "row"], 1)));
  run(machine, { until: 15_000 });
  machine.leaveOut(["plank"], 15_000);
  assert.deepEqual(at(machine), ["set_up", "Towel row", true]);
  machine.here(16_000);
  assert.equal(machine.step.kind, "get_ready");
});

test("a session kept from before there were set-ups runs, and waits for a grown-up all the same", () => {
  const data = session(circuit(["row", "plank"], 1));
  data.steps = data.steps.filter((step) => step.kind !== "set_up");
  data.slots.row = { ...EXERCISES.row, setUp: undefined, needs: undefined, easier: null };
  const machine = new Machine(data);
  run(machine, { until: 60_000 });
  assert.deepEqual(at(machine), ["get_ready", "Towel row", true]);
  throughTheNext(machine, 60_000);
  assert.equal(machine.summary().state, "done");
});

test("what to set up and who has to be there is said aloud", () => {
  const said = (slot) => {
    const machine = new Machine(session(circuit([slot], 1)));
    return machine.start(0).map((event) => sentence(event, machine));
  };
  assert.deepEqual(said("row"), [
    "Towel row. Set up: a towel; a solid door. A grown-up has to be here. Tap when they are.",
  ]);
  assert.deepEqual(said("seat"), ["Sit to stand. Set up: a stable seat."]);
  const machine = new Machine(session(circuit(["seat"], 1)));
  machine.start(0);
  machine.easier(100);
  assert.equal(
    sentence({ type: "waiting", step: machine.step }, machine),
    "Step off. Clear the floor. A grown-up has to be here. Tap when they are.",
  );
});

test("whatever is tapped, in whatever order, nothing watched is done before a grown-up is here", () => {
  let seed = 7;
  const pick = (count) => {
    seed = (seed * 1103515245 + 12345) % 2 ** 31;
    return Math.floor((seed / 2 ** 31) * count);
  };
  const data = session([
    ...circuit(["row", "seat", "plank"], 3),
    ...circuit(["seat"], 2, { part: "p1" }).map((step) => ({ ...step, slot: "seat2" })),
  ]);
  data.slots.seat2 = data.slots.seat;
  let runs = 0;
  for (let session = 0; session < 200; session++) {
    let machine = new Machine(data, { taps: pick(2) === 0 });
    let now = 0;
    let there = null;
    for (let n = 0; n < 60 && machine.state !== "finished"; n++) {
      now += pick(40_000);
      const act = ["advance", "start", "start", "skip", "back", "easier", "tap", "pause"][pick(8)];
      machine[act](now);
      if (machine.step && pick(3) === 0) {
        if (machine.state === "running" && machine.isWaiting()) {
          there = machine.nameOf(machine.step);
          machine.here(now);
        }
      } else if (pick(12) === 0) {
        machine =
          Machine.restore(data, JSON.parse(JSON.stringify(machine.snapshot(now)))) ?? machine;
        assert.notEqual(machine, null);
        there = null;
      }
      const isDone = machine.state === "running" && machine.exercise().watch;
      const isRest = ["rest", "breather", "drink"].includes(machine.step?.kind);
      if (!isDone || isRest || machine.isWaiting()) continue;
      runs++;
      assert.equal(machine.nameOf(machine.step), there);
    }
  }
  assert.ok(runs > 200, `only ${runs}`);
});
