// What is heard: a voice where the phone lends one, and sounds made on the spot. Speech, like the
// sounds, is asked for through what is passed in, and its absence is an ordinary thing.

const NUMBERS = ["", "one", "two", "three"];
const RESTING = { rest: "Rest.", breather: "Breathe.", drink: "Have a drink." };
const SLOW_ENOUGH_TO_SAY = 1.5; // seconds

/** What a voice says of an event, "" for nothing. */
export function sentence(event, machine) {
  switch (event.type) {
    case "step":
      return ofStep(event.step, machine);
    case "waiting":
      return `${toSetUp(machine.exercise(event.step))} A grown-up has to be here. Tap when they are.`;
    case "half":
      return "Half-way.";
    case "count":
      return NUMBERS[event.n];
    case "repetition":
      return machine.exercise(event.step).unit >= SLOW_ENOUGH_TO_SAY && event.n > 1
        ? String(event.n)
        : "";
    case "finished":
      return "That was it. Good work, and good stopping.";
    case "interrupted":
      return "Stopped. Go on when you are ready.";
    default:
      return "";
  }
}

function ofStep(step, machine) {
  const exercise = machine.exercise(step);
  if (step.kind in RESTING) return RESTING[step.kind];
  if (step.kind === "change_side") return `Change side: ${step.side}.`;
  if (step.kind === "set_up") return toSetUp(exercise);
  if (step.kind !== "work") return `${exercise.name}. ${exercise.dose}.`;
  const side = step.side ? `${step.side} side. ` : "";
  return `${side}${step.side === "right" ? "Go." : cueOf(step, exercise)}`;
}

const toSetUp = (exercise) => `${exercise.name}. ${whatToSetUp(exercise) || exercise.setup}`;

/** What an exercise needs, in words; "" where that is nothing. */
export const whatToSetUp = ({ needs }) => (needs ? `Set up: ${needs}.` : "");

/** One cue a set: the exercise's cues take turns from round to round. */
export function cueOf(step, exercise) {
  return exercise.cues.length ? exercise.cues[(step.round - 1) % exercise.cues.length] : "Go.";
}

/** The sound of an event, as [pitch in Hz, seconds] one after the other; none for most. */
export function notes(event) {
  switch (event.type) {
    case "step":
      return event.step.kind === "work" ? [[880, 0.35]] : [[440, 0.2]];
    case "waiting":
      return [
        [440, 0.3],
        [440, 0.3],
      ];
    case "half":
      return [
        [660, 0.1],
        [660, 0.1],
      ];
    case "count":
      return [[660, 0.09]];
    case "repetition":
      return event.n > 1 ? [[520, 0.06]] : [];
    case "finished":
      return [
        [523, 0.15],
        [659, 0.15],
        [784, 0.4],
      ];
    default:
      return [];
  }
}

export class Sound {
  constructor({
    speech = globalThis.speechSynthesis,
    Utterance = globalThis.SpeechSynthesisUtterance,
    Audio = globalThis.AudioContext,
  } = {}) {
    Object.assign(this, { speech, Utterance, Audio });
    this.choice = "voice";
  }

  get hasVoice() {
    return Boolean(this.speech && this.Utterance && (this.speech.getVoices?.().length ?? 0) > 0);
  }

  /** Called from a tap, which is when browsers allow a page to be heard. */
  wake() {
    if (this.choice === "off" || !this.Audio) return;
    try {
      this.context ??= new this.Audio();
      this.context.resume?.();
    } catch {
      this.Audio = null;
    }
  }

  hush() {
    this.speech?.cancel?.();
  }

  give(event, machine) {
    if (this.choice === "off") return;
    const said = this.choice === "voice" && this.hasVoice ? sentence(event, machine) : "";
    if (said) this.say(said);
    else this.play(notes(event));
  }

  say(text) {
    const spoken = new this.Utterance(text);
    spoken.lang = "en-GB";
    if (this.speech.pending) this.speech.cancel();
    this.speech.speak(spoken);
  }

  play(melody) {
    if (!this.context) return;
    let at = this.context.currentTime;
    for (const [pitch, seconds] of melody) {
      const tone = this.context.createOscillator();
      const loudness = this.context.createGain();
      tone.frequency.value = pitch;
      loudness.gain.setValueAtTime(0.25, at);
      loudness.gain.exponentialRampToValueAtTime(0.001, at + seconds);
      tone.connect(loudness).connect(this.context.destination);
      tone.start(at);
      tone.stop(at + seconds);
      at += seconds + 0.03;
    }
  }
}
