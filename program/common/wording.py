"""How the program speaks to a family: doses, tempo, effort and reasons in plain sentences. Asks no
database."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

from django.contrib.humanize.templatetags.humanize import apnumber, ordinal

from library.tempo import FAST, Phase, Tempo
from program.engine.dose.dose import Dose, in_words
from program.engine.fit.reasons import Reason, for_family

EFFORT: Final = (
    "nothing at all",
    "just moving about",
    "easy, could sing",
    "a bit of work",
    "getting warm",
    "proper work",
    "puffing a bit",
    "hard, short of words",
    "very hard",
    "nearly empty",
    "all I had",
)
"""The words for effort 0 to 10, the index being the number. They are Fledge's own, written for
children; that 8 to 14 year olds can rate effort from 0 to 10 with words and pictures is published
(Robertson et al. 2000, Med Sci Sports Exerc 32:452-458, and 2005, 37:819-826), these words are
not."""

ENJOYMENT: Final = ("not for me", "not much", "okay", "fun", "loved it")
"""The words for enjoyment 1 to 5, in order. Ours, too."""

CAUTION: Final = (
    "Something that hurts is a reason to stop. Leave out whatever hurts, today and until it is "
    "calm. This tells the coach, it is not medical advice: if you are worried, or if it is "
    "swollen, does not bear weight or is still there in a few days, see a doctor or "
    "physiotherapist."
)


def number(count: int) -> str:
    """A small number as a word; from ten on in figures."""
    return str(apnumber(count)) if count else "no"


def nth_of(index: int, total: int) -> str:
    """Where something stands, `index` counting from 0: "3rd of three"; "" for the only one."""
    return "" if total < 2 else f"{ordinal(index + 1)} of {number(total)}"


def minutes(seconds: float) -> int:
    """Whole minutes, at least one: what a session's length is called everywhere."""
    return max(1, round(seconds / 60))


def effort_in_words(effort: int) -> str:
    """For a coach: "effort 5 of 10 (proper work)"."""
    return f"effort {effort} of 10 ({EFFORT[effort]})"


def dose_in_words(dose: Dose) -> str:
    """How much and how slowly: "8 each side, 3 s down, 1 s still, 1 s up"."""
    words = in_words(dose)
    return f"{words}, {tempo_in_words(dose.tempo)}" if dose.tempo else words


def tempo_in_words(tempo: Tempo) -> str:
    """A tempo as a child is told: "3 s down, 1 s still, fast up"."""
    phases = [
        _phase(tempo.lowering, "down"),
        _phase(tempo.pause, "still"),
        _phase(tempo.lifting, "up"),
        _phase(tempo.top, "still at the top"),
    ]
    return ", ".join(filter(None, phases))


def _phase(seconds: Phase, word: str) -> str:
    if seconds == FAST:
        return f"fast {word}"
    return f"{seconds} s {word}" if seconds else ""


def why(exercise: str, reasons: Sequence[Mapping[str, Any]]) -> str:
    """Why a child gets an exercise, from the reasons kept with it, decisive one first.

    Names the exercise where no reason does.
    """
    told = [Reason.from_json(stored) for stored in reasons]
    sentences = " ".join(dict.fromkeys(for_family(reason) for reason in told))
    if any(reason.instead for reason in told):
        return sentences
    return f"{exercise}: {sentences[:1].lower()}{sentences[1:]}" if sentences else exercise
