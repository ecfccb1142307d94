import assert from "node:assert/strict";
import { test } from "node:test";

import { Machine } from "../../static/js/follow/machine.js";
import { notes, Sound, sentence } from "../../static/js/follow/sound.js";
import { circuit, run, session } from "./sessions.js";

const said = (machine) =>
  run(machine)
    .map((event) => sentence(event, machine))
    .filter(Boolean);

test("the name, one cue a set, the changes, the half and the count are said", () => {
  const data = session(circuit(["plank"], 2));
  data.slots.plank.dose = "20 seconds";
  assert.deepEqual(said(new Machine(data)), [
    "Front plank. 20 seconds.",
    "three",
    "two",
    "one",
    "Long back",
    "Half-way.",
    "three",
    "two",
    "one",
    "Rest.",
    "three",
    "two",
    "one",
    "Breathe",
    "Half-way.",
    "three",
    "two",
    "one",
    "That was it. Good work, and good stopping.",
  ]);
});

test("a side is said with its cue, and the second side without", () => {
  const spoken = said(new Machine(session(circuit(["step"], 1))));
  assert.ok(spoken.includes("left side. Knee over foot"));
  assert.ok(spoken.includes("Change side: right."));
  assert.ok(spoken.includes("right side. Go."));
});

test("slow repetitions are counted aloud and quick ones by a sound", () => {
  assert.deepEqual(
    said(new Machine(session(circuit(["step"], 1)))).filter((text) => /^\d$/.test(text)),
    ["2", "3", "4", "2", "3", "4"],
  );
  assert.deepEqual(
    said(new Machine(session(circuit(["skip"], 1)))).filter((text) => /^\d$/.test(text)),
    [],
  );
  assert.equal(notes({ type: "repetition", n: 2 }).length, 1);
});

const phone = ({ voices = 1 } = {}) => {
  const heard = [];
  const gain = {
    gain: { setValueAtTime() {}, exponentialRampToValueAtTime() {} },
    connect: () => {},
  };
  class Audio {
    currentTime = 0;
    createOscillator() {
      return {
        frequency: {},
        connect: () => gain,
        start() {
          heard.push("sound");
        },
        stop() {},
      };
    }
    createGain() {
      return gain;
    }
  }
  class Utterance {
    constructor(text) {
      this.text = text;
    }
  }
  const speech = {
    cancel() {},
    getVoices: () => Array(voices).fill({}),
    speak: (what) => heard.push(what.text),
  };
  return { heard, sound: new Sound({ speech, Utterance, Audio }) };
};
const half = { type: "half" };

test("a voice speaks, sounds only sounds, and off is silent", () => {
  for (const [choice, expected] of [
    ["voice", ["Half-way."]],
    ["sounds", ["sound", "sound"]],
    ["off", []],
  ]) {
    const { heard, sound } = phone();
    sound.choice = choice;
    sound.wake();
    sound.give(half, null);
    assert.deepEqual(heard, expected);
  }
});

test("where there is no voice there are sounds, and where there are neither nothing breaks", () => {
  const { heard, sound } = phone({ voices: 0 });
  sound.wake();
  sound.give(half, null);
  assert.deepEqual(heard, ["sound", "sound"]);
  const silent = new Sound({ speech: undefined, Utterance: undefined, Audio: undefined });
  silent.wake();
  silent.hush();
  silent.give(half, null);
  assert.equal(silent.hasVoice, false);
});
