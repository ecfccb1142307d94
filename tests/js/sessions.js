// Small sessions for the tests, as the server would write them.

export const PACE = { get_ready: 10, move_on: 5 };

const each = (seconds) => [
  { kind: "work", seconds, side: "left" },
  { kind: "change_side", seconds: 4, side: "right" },
  { kind: "work", seconds, side: "right" },
];
const both = (seconds) => [{ kind: "work", seconds, side: null }];
const tempo = [
  { word: "down", seconds: 3 },
  { word: "still", seconds: 1 },
  { word: "up", seconds: 1 },
];

export const EXERCISES = {
  plank: {
    name: "Front plank",
    measure: "seconds",
    amount: 20,
    unit: 1,
    sides: "both",
    phases: [],
    cues: ["Long back", "Breathe"],
    bouts: both(20),
    loads: ["shoulder"],
    easier: null,
  },
  step: {
    name: "Slow step down",
    measure: "repetitions",
    amount: 4,
    unit: 5,
    sides: "each",
    phases: tempo,
    cues: ["Knee over foot"],
    bouts: each(20),
    loads: ["knee"],
    easier: {
      name: "Step down from a book",
      measure: "repetitions",
      amount: 3,
      unit: 5,
      sides: "each",
      phases: tempo,
      cues: ["Slow"],
      bouts: each(15),
      loads: ["knee"],
    },
  },
  squat: {
    name: "Split squat",
    measure: "repetitions",
    amount: 6,
    unit: 3,
    sides: "each",
    phases: tempo.slice(0, 1),
    cues: [],
    bouts: each(18),
    loads: ["knee"],
    easier: {
      name: "Sit to stand",
      measure: "repetitions",
      amount: 8,
      unit: 3,
      sides: "both",
      phases: [],
      cues: [],
      bouts: both(24),
      loads: ["knee"],
    },
  },
  skip: {
    name: "Skip",
    measure: "repetitions",
    amount: 5,
    unit: 1,
    sides: "alternating",
    phases: [],
    cues: [],
    bouts: both(5),
    loads: ["ankle"],
    easier: null,
  },
  row: {
    name: "Towel row",
    measure: "repetitions",
    amount: 5,
    unit: 4,
    sides: "both",
    phases: [],
    cues: ["Long arms"],
    bouts: both(20),
    loads: ["shoulder"],
    watch: true,
    needs: "a towel; a solid door",
    setup: "Knot the towel.",
    setUp: { first: 90, again: 10 },
    easier: {
      name: "Bag row",
      measure: "repetitions",
      amount: 5,
      unit: 4,
      sides: "both",
      phases: [],
      cues: [],
      bouts: both(20),
      loads: ["shoulder"],
      watch: false,
      needs: "a bag",
      setup: "Pack a bag.",
      setUp: { first: 45, again: 0 },
    },
  },
  seat: {
    name: "Sit to stand",
    measure: "repetitions",
    amount: 4,
    unit: 5,
    sides: "both",
    phases: [],
    cues: [],
    bouts: both(20),
    loads: ["knee"],
    watch: false,
    needs: "a stable seat",
    setup: "Push a chair against a wall.",
    setUp: { first: 30, again: 0 },
    easier: {
      name: "Step off",
      measure: "repetitions",
      amount: 4,
      unit: 5,
      sides: "both",
      phases: [],
      cues: [],
      bouts: both(20),
      loads: ["knee"],
      watch: true,
      needs: "",
      setup: "Clear the floor.",
      setUp: { first: 10, again: 10 },
    },
  },
};

const visit = (slot, part, round, rounds, lead) =>
  [...lead, ...EXERCISES[slot].bouts].map((step) => ({
    side: null,
    ...step,
    part,
    round,
    rounds,
    slot,
  }));

/** One part: `rounds` of these exercises, one after the other. */
export function circuit(slots, rounds, { rest = 30, part = "p0" } = {}) {
  const steps = [];
  for (let round = 1; round <= rounds; round++) {
    slots.forEach((slot, n) => {
      const isFirst = round === 1 && n === 0;
      const pause = n === 0 ? { kind: "rest", seconds: rest } : { kind: "breather", seconds: 10 };
      const isNew = isFirst || slots.length > 1;
      const setUp = EXERCISES[slot].setUp?.[round === 1 ? "first" : "again"] ?? 0;
      const isSetUp = isNew && setUp > 0;
      const lead = isFirst ? [] : [pause];
      if (isSetUp) lead.push({ kind: "set_up", seconds: setUp });
      if (isFirst || isSetUp) lead.push({ kind: "get_ready", seconds: 10 });
      else if (isNew) lead.push({ kind: "move_on", seconds: 5 });
      steps.push(...visit(slot, part, round, rounds, lead));
    });
  }
  return steps;
}

export function session(steps) {
  const used = [...new Set(steps.map((step) => step.slot))];
  return {
    fingerprint: "abc",
    pace: PACE,
    steps,
    slots: Object.fromEntries(used.map((slot) => [slot, EXERCISES[slot]])),
  };
}

/** Runs a machine from `now` until it stands, a call every `every` ms; what happened, and when. */
export function run(machine, { now = 0, every = 100, until = Infinity } = {}) {
  const events = machine.state === "running" ? [] : machine.start(now);
  while (machine.state === "running" && now < until) {
    now += typeof every === "function" ? every() : every;
    events.push(...machine.advance(now).map((event) => ({ ...event, noticed: now })));
  }
  return events;
}
