import assert from "node:assert/strict";
import { test } from "node:test";

import { LONGEST_SILENCE, Machine } from "../../static/js/follow/machine.js";
import { circuit, run, session } from "./sessions.js";

const starts = (events) => events.filter((event) => event.type === "step").map((event) => event.at);

test("every step begins when the timeline says, from ready to the last side", () => {
  const machine = new Machine(session(circuit(["step"], 2)));
  // get ready 10, left 20, change 4, right 20, rest 30, left 20, change 4, right 20.
  assert.deepEqual(
    starts(run(machine)),
    [0, 10, 30, 34, 54, 84, 104, 108].map((s) => s * 1000),
  );
  assert.equal(machine.state, "finished");
});

test("thirty minutes in a background tab that is woken once a second drift by nothing", () => {
  const data = session(circuit(["plank", "step"], 17));
  const total = data.steps.reduce((sum, step) => sum + step.seconds, 0);
  assert.ok(total > 1800);
  let wake = 0;
  // Once a second at best, late by up to 400 ms, and for five minutes once a minute.
  const late = () => 1000 + ((wake++ * 97) % 400) + (wake > 600 && wake < 606 ? 59_000 : 0);
  const events = run(new Machine(data), { now: 123.4, every: late });
  let due = 123.4;
  const steps = events.filter((event) => event.type === "step");
  assert.equal(steps.length, data.steps.length);
  steps.forEach((event, n) => {
    assert.ok(Math.abs(event.at - due) < 100, `step ${n} began ${event.at - due} ms off`);
    due += data.steps[n].seconds * 1000;
  });
  // Noticed with the next wake, never later by what went before.
  for (const event of steps.slice(-50))
    assert.ok(event.noticed === undefined || event.noticed - event.at < 1500);
});

test("a hundred rounds end where a hundred rounds end", () => {
  const data = session(circuit(["skip"], 100, { rest: 7 }));
  const events = run(new Machine(data), { every: 333 });
  assert.equal(events.at(-1).type, "finished");
  assert.equal(starts(events).at(-1), (10 + 99 * 12) * 1000);
});

test("steps of no length are passed through, and an empty session is over at once", () => {
  const data = session(circuit(["plank"], 2, { rest: 0 }));
  const machine = new Machine(data);
  assert.deepEqual(starts(run(machine)), [0, 10_000, 30_000, 30_000]);
  assert.equal(machine.summary().results.plank.state, "done");
  const empty = new Machine(session([]));
  assert.equal(empty.start(0).at(-1).type, "finished");
  assert.equal(empty.summary().state, "not");
});

test("a pause takes no time from the session, however long it lasts", () => {
  const machine = new Machine(session(circuit(["plank"], 1)));
  run(machine, { until: 12_000 });
  machine.pause(12_300);
  assert.deepEqual(machine.advance(5_000_000), []);
  assert.equal(machine.view(5_000_000).left, 18);
  const events = run(machine, { now: 5_000_000 });
  assert.equal(events.at(-1).noticed, 5_000_000 + 17_700);
  assert.equal(machine.lived, 30_000);
});

test("a phone that slept stands where it fell asleep", () => {
  const machine = new Machine(session(circuit(["plank"], 3)));
  run(machine, { until: 15_000 });
  const events = machine.advance(15_000 + LONGEST_SILENCE + 1);
  assert.deepEqual(
    events.map((event) => event.type),
    ["interrupted"],
  );
  assert.equal(machine.state, "paused");
  assert.equal(machine.view(999_999).left, 15);
});

test("a clock that goes back moves nothing", () => {
  const machine = new Machine(session(circuit(["plank"], 1)));
  run(machine, { until: 15_000 });
  assert.deepEqual(machine.advance(2_000), []);
  assert.equal(machine.view(2_000).left, 15);
  assert.deepEqual(run(machine, { now: 2_000 }).at(-1).noticed, 17_000);
});

test("the three, the two and the one come before the end, and half-way in the middle of a long hold", () => {
  const events = run(new Machine(session(circuit(["plank"], 1))));
  const said = events
    .filter((event) => ["half", "count"].includes(event.type))
    .map((event) => [event.type, event.n, event.at]);
  assert.deepEqual(said, [
    ["count", 3, 7_000],
    ["count", 2, 8_000],
    ["count", 1, 9_000],
    ["half", undefined, 20_000],
    ["count", 3, 27_000],
    ["count", 2, 28_000],
    ["count", 1, 29_000],
  ]);
});

test("repetitions are counted at the tempo, phase by phase", () => {
  const machine = new Machine(session(circuit(["step"], 1)));
  const events = run(machine, { until: 22_000 });
  assert.deepEqual(
    events.filter((event) => event.type === "repetition").map((event) => event.at),
    [10_000, 15_000, 20_000],
  );
  const word = (now) => {
    machine.advance(now);
    const { repetition, phase, exercise } = machine.view(now);
    return [repetition, exercise.phases[phase].word];
  };
  assert.deepEqual(word(22_900), [3, "down"]);
  assert.deepEqual(word(23_500), [3, "still"]);
  assert.deepEqual(word(24_500), [3, "up"]);
  assert.deepEqual(word(25_000), [4, "down"]);
});

test("where sides swap with every repetition, the left begins", () => {
  const machine = new Machine(session(circuit(["skip"], 1)));
  machine.start(0);
  const side = (now) => {
    machine.advance(now);
    return machine.view(now).side;
  };
  assert.deepEqual([10_100, 11_100, 12_100, 14_900].map(side), ["left", "right", "left", "left"]);
});

test("what is left counts down to the second", () => {
  const machine = new Machine(session(circuit(["plank"], 1)));
  machine.start(0);
  machine.advance(10_000);
  assert.equal(machine.view(10_000).left, 20);
  assert.equal(machine.view(10_001).left, 20);
  assert.equal(machine.view(11_000).left, 19);
  assert.equal(machine.view(10_000).sessionLeft, 20);
});
