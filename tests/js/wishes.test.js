import assert from "node:assert/strict";
import { test } from "node:test";

import { Machine } from "../../static/js/follow/machine.js";
import { circuit, run, session } from "./sessions.js";

const shape = (machine, from = machine.index) =>
  machine.steps.slice(from).map((step) => [step.kind, step.seconds, step.side]);
const begun = (slots, rounds, now, options) => {
  const machine = new Machine(session(circuit(slots, rounds)), options);
  run(machine, { until: now });
  return machine;
};

test("skipping goes to the next step and remembers how far the work went", () => {
  const machine = begun(["step"], 1, 21_000); // eleven seconds into the left side: two of five seconds each
  machine.skip(21_000);
  assert.equal(machine.step.kind, "change_side");
  run(machine, { now: 21_000 });
  assert.deepEqual(machine.summary().results.step, {
    state: "some",
    easier: false,
    amount_left: 2,
    amount_right: 4,
  });
});

test("skipping everything is not done at all", () => {
  const machine = begun(["plank", "step"], 1, 0);
  while (machine.state !== "finished") machine.skip(0);
  assert.equal(machine.summary().state, "not");
});

test("back is the start of this step, and right after it the step before", () => {
  const machine = begun(["plank"], 1, 15_000);
  machine.back(15_000);
  assert.deepEqual([machine.step.kind, machine.view(15_000).left], ["work", 20]);
  machine.back(16_000);
  assert.deepEqual([machine.step.kind, machine.view(16_000).left], ["get_ready", 10]);
  machine.back(16_500);
  assert.equal(machine.step.kind, "get_ready");
});

test("back and skip work while the clock stands, and it goes on standing", () => {
  const machine = begun(["plank"], 1, 15_000);
  machine.pause(15_000);
  machine.skip(60_000);
  assert.equal(machine.state, "finished");
  const other = begun(["plank"], 2, 15_000);
  other.pause(15_000);
  other.skip(60_000);
  assert.deepEqual([other.state, other.step.kind, other.view(90_000).left], ["paused", "rest", 30]);
});

test("repetitions that wait for a tap last until the tap, and holds do not wait", () => {
  const machine = begun(["step", "plank"], 1, 200_000, { taps: true });
  assert.deepEqual(
    [machine.step.kind, machine.step.side, machine.view(200_000).isOpen],
    ["work", "left", true],
  );
  machine.tap(200_000);
  assert.equal(machine.step.kind, "change_side");
  assert.deepEqual(machine.tap(200_100), []);
  run(machine, { now: 200_000, until: 300_000 });
  machine.tap(300_000);
  run(machine, { now: 300_000 });
  assert.equal(machine.state, "finished");
  assert.equal(machine.summary().state, "done");
});

test("what was skipped while waiting for a tap claims no number", () => {
  const machine = begun(["skip"], 1, 60_000, { taps: true });
  machine.skip(60_000);
  assert.deepEqual(machine.summary().results.skip, { state: "some", easier: false });
});

test("easier, while getting ready, changes the work to come and not the moment", () => {
  const machine = begun(["step"], 2, 4_000);
  machine.easier(4_000);
  assert.deepEqual([machine.step.kind, machine.view(4_000).left], ["get_ready", 6]);
  assert.equal(machine.exercise().name, "Step down from a book");
  assert.deepEqual(shape(machine, 1), [
    ["work", 15, "left"],
    ["change_side", 4, "right"],
    ["work", 15, "right"],
    ["rest", 30, null],
    ["work", 15, "left"],
    ["change_side", 4, "right"],
    ["work", 15, "right"],
  ]);
  assert.equal(machine.canBeEasier, false);
});

test("easier, in the middle of the second side, leaves the first side alone", () => {
  const machine = begun(["step"], 1, 40_000);
  assert.equal(machine.step.side, "right");
  machine.easier(40_000);
  assert.deepEqual(shape(machine), [
    ["move_on", 5, null],
    ["work", 15, "right"],
  ]);
  run(machine, { now: 40_000 });
  assert.deepEqual(machine.summary().results.step, {
    state: "done",
    easier: true,
    amount_left: 4,
    amount_right: 3,
  });
});

test("easier, in the middle of the first side, begins both sides anew", () => {
  const machine = begun(["step"], 1, 20_000);
  machine.easier(20_000);
  assert.deepEqual(shape(machine), [
    ["move_on", 5, null],
    ["work", 15, "left"],
    ["change_side", 4, "right"],
    ["work", 15, "right"],
  ]);
});

test("easier, to an exercise for both sides at once, asks for it once and counts it as all", () => {
  const machine = begun(["squat"], 1, 15_000);
  machine.easier(15_000);
  assert.deepEqual(shape(machine), [
    ["move_on", 5, null],
    ["work", 24, null],
  ]);
  run(machine, { now: 15_000 });
  assert.deepEqual(machine.summary().results.squat, { state: "done", easier: true, amount: 8 });
});

test("an exercise without an easier option stays as it is", () => {
  const machine = begun(["plank"], 1, 15_000);
  assert.equal(machine.canBeEasier, false);
  assert.deepEqual(machine.easier(15_000), []);
  assert.equal(machine.view(15_000).left, 15);
});

test("something hurts stops the clock at once", () => {
  const machine = begun(["plank"], 1, 15_000);
  machine.hurt(15_000);
  assert.deepEqual(machine.advance(80_000), []);
  assert.deepEqual([machine.state, machine.view(80_000).left], ["hurt", 15]);
});

test("what was left out stays left out where all begins anew, and so does what is as sore", () => {
  const machine = begun(["step", "plank", "skip"], 1, 60_000);
  assert.deepEqual(machine.sore, []);
  machine.leaveOut(["skip"], 60_000, ["step", "skip"]);
  assert.deepEqual(machine.sore, ["skip", "step"]);
  const again = Machine.restore(machine.data, machine.snapshot(60_000));
  assert.deepEqual(again.sore, ["skip", "step"]);
});

test("going on without an exercise leaves it out of every round to come", () => {
  const machine = begun(["plank", "step"], 2, 50_000); // ready 10, plank 20, breather 10, move 5, step
  machine.hurt(50_000);
  machine.leaveOut(["step"], 60_000);
  assert.deepEqual(shape(machine), [
    ["rest", 30, null],
    ["work", 20, null],
  ]);
  run(machine, { now: 60_000 });
  const { state, results } = machine.summary();
  assert.deepEqual(
    [state, results.plank.state, results.step],
    ["some", "done", { state: "some", easier: false, amount_left: 1 }],
  );
});

test("leaving out the first of a part keeps the time to get ready", () => {
  const machine = begun(["step", "plank"], 1, 12_000);
  machine.hurt(12_000);
  machine.leaveOut(["step"], 13_000);
  assert.deepEqual(shape(machine), [
    ["get_ready", 10, null],
    ["work", 20, null],
  ]);
});

test("leaving out another exercise than this one goes on from the same second", () => {
  const machine = begun(["plank", "step"], 2, 15_000);
  machine.leaveOut(["step"], 15_000);
  assert.equal(machine.view(15_000).left, 15);
  assert.deepEqual(shape(machine), [
    ["work", 20, null],
    ["rest", 30, null],
    ["work", 20, null],
  ]);
});

test("leaving out the last exercise ends the session", () => {
  const machine = begun(["plank"], 2, 15_000);
  machine.hurt(15_000);
  assert.equal(machine.leaveOut(["plank"], 16_000).at(-1).type, "finished");
  assert.deepEqual(machine.summary().results.plank, { state: "some", easier: false, amount: 5 });
});

test("ending in the middle keeps what was done of it, and before any work nothing", () => {
  const machine = begun(["step", "plank"], 1, 22_000);
  machine.hurt(22_000);
  machine.end(90_000);
  assert.deepEqual(machine.summary().results.step, {
    state: "some",
    easier: false,
    amount_left: 2,
  });
  const early = begun(["plank"], 1, 5_000);
  early.end(5_000);
  assert.equal(early.summary().state, "not");
});

test("coming back stands at the same second, with what was changed and done", () => {
  const machine = begun(["plank", "step"], 3, 50_000);
  machine.easier(50_000);
  run(machine, { now: 50_000, until: 62_000 });
  machine.leaveOut(["plank"], 62_000);
  const kept = JSON.parse(JSON.stringify(machine.snapshot(63_500)));
  const back = Machine.restore(machine.data, kept);
  assert.equal(back.state, "paused");
  assert.deepEqual(shape(back), shape(machine));
  machine.advance(63_500);
  assert.equal(back.view(0).left, machine.view(63_500).left);
  assert.deepEqual(back.summary(), { ...machine.summary(), minutes: back.summary().minutes });
  run(back, { now: 0 });
  run(machine, { now: 63_500 });
  assert.deepEqual(back.summary(), machine.summary());
});

test("a session that is no longer the same cannot be gone on with", () => {
  const machine = begun(["plank"], 1, 15_000);
  const kept = machine.snapshot(15_000);
  assert.equal(Machine.restore({ ...machine.data, fingerprint: "new" }, kept), null);
  assert.equal(Machine.restore(machine.data, { ...kept, step: "gone" }), null);
  assert.equal(Machine.restore(machine.data, null), null);
});

test("a finished session comes back finished, with its log still to write", () => {
  const machine = begun(["plank"], 1, 60_000);
  const back = Machine.restore(machine.data, machine.snapshot(60_000));
  assert.equal(back.state, "finished");
  assert.deepEqual(back.summary(), machine.summary());
});
