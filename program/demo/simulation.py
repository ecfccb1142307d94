"""A seeded season: children with hidden traits, and what their families log because of them.

Pure. The hidden truth stays available, so that rules which read the logs can be measured against
it: hits, misses and false alarms.
"""

import random
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final


class Story(StrEnum):
    """The one thing that is remarkable about a child, if any."""

    ORDINARY = "ordinary"
    RACES_AHEAD = "races_ahead"
    STRUGGLES = "struggles"
    GOES_QUIET = "goes_quiet"
    KNEE_HURTS = "knee_hurts"
    WEAKER_SIDE = "weaker_side"


STORY_EVERY: Final = (
    Story.ORDINARY,
    Story.WEAKER_SIDE,
    Story.ORDINARY,
    Story.RACES_AHEAD,
    Story.GOES_QUIET,
    Story.ORDINARY,
    Story.KNEE_HURTS,
    Story.ORDINARY,
    Story.STRUGGLES,
    Story.ORDINARY,
)
"""Stories are dealt out in this order, so that even a small club has one of each."""


@dataclass(frozen=True)
class Traits:
    """What is really true of a child; nobody in the program can see it.

    `adherence` is the chance that a session is done at all, `effort_bias` what is added to a fair
    effort rating, `weaker` the share by which one side does less.
    """

    story: Story
    adherence: float
    effort_bias: float
    weaker_side: str
    weaker: float
    quiet_from: int


@dataclass(frozen=True)
class SimulatedSlot:
    """What the simulation must know of an assigned slot."""

    key: int
    amount: int
    is_sided: bool
    lands: bool


@dataclass(frozen=True)
class SlotLog:
    key: int
    state: str
    amount: int | None
    left: int | None
    right: int | None


@dataclass(frozen=True)
class Pain:
    key: int
    side: str
    level: int
    note: str


@dataclass(frozen=True)
class SessionLog:
    """What a family logs for one session."""

    state: str
    effort: int | None
    enjoyment: int | None
    minutes: int | None
    note: str
    slots: tuple[SlotLog, ...]
    pain: Pain | None = None
    absence: str = ""


def traits_of(number: int, chance: random.Random, weeks_past: int) -> Traits:
    """The hidden truth of the club's nth child."""
    story = STORY_EVERY[number % len(STORY_EVERY)]
    return Traits(
        story=story,
        adherence=chance.uniform(0.72, 0.97),
        effort_bias=chance.gauss(0, 0.7),
        weaker_side=chance.choice(("left", "right")),
        weaker=chance.uniform(0.2, 0.35) if story is Story.WEAKER_SIDE else 0.0,
        quiet_from=max(1, weeks_past - 1),
    )


DONE_NOTES: Final = (
    "Did it before breakfast, all in one go.",
    "The last round got wobbly but no giggling this time.",
    "Little brother joined in, so it took longer.",
    "Much smoother than last week.",
    "We counted out loud together.",
    "Balanced nicely on the left, less so on the right.",
    "Asked to do one more round. I said tomorrow.",
    "The towel kept bunching up until we swapped it.",
)
SOME_NOTES: Final = (
    "Ran out of time before the last pair.",
    "Tired after a school trip, we stopped after two rounds.",
    "The floor pushes were too much today.",
    "Visitors came, we will finish next time.",
)
NOT_NOTES: Final = (
    ("Birthday party.", ""),
    ("A cold. Resting.", "sick"),
    ("At the grandparents’, no space.", "away"),
    ("", ""),
)
PAIN_NOTES: Final = (
    "Under the kneecap when landing. Fine when walking.",
    "Said the knee stings on the hop. We stopped there.",
    "Sore at the front of the knee again after the landings.",
)


def log_of(
    traits: Traits, slots: tuple[SimulatedSlot, ...], week: int, seconds: int, chance: random.Random
) -> SessionLog | None:
    """What comes back from one session in the given week of the season; None for silence."""
    if traits.story is Story.GOES_QUIET and week >= traits.quiet_from:
        return None
    luck = chance.random()
    if luck > traits.adherence:
        return None if luck > (1 + traits.adherence) / 2 else _not_done(chance)
    pain = _pain(traits, slots, week, chance)
    is_partial = pain is not None or chance.random() < _partial_chance(traits)
    done = tuple(_slot_log(traits, slot, pain, is_partial, chance) for slot in slots)
    return SessionLog(
        state="some" if is_partial else "done",
        effort=_effort(traits, is_partial, chance),
        enjoyment=min(5, max(1, round(chance.gauss(3.8, 0.8)))),
        minutes=max(5, round(seconds / 60 * chance.uniform(0.75 if is_partial else 0.95, 1.25))),
        note=chance.choice(SOME_NOTES if is_partial else DONE_NOTES) if luck < 0.4 else "",
        slots=done,
        pain=pain,
    )


def _not_done(chance: random.Random) -> SessionLog:
    note, absence = chance.choice(NOT_NOTES)
    return SessionLog("not", None, None, None, note, (), absence=absence)


def as_the_coach_logs_it(log: SessionLog | None, minutes: int) -> SessionLog:
    """The same session done at the venue: one length for all, nothing of single exercises, and
    silence is a child in vain waited for."""
    if log is None or log.state == "not":
        absence = (log.absence or "away") if log else "no_word"
        return SessionLog("not", None, None, None, "", (), absence=absence)
    return replace(log, enjoyment=None, minutes=minutes, note="", slots=())


def _partial_chance(traits: Traits) -> float:
    return 0.4 if traits.story is Story.STRUGGLES else 0.1


def _effort(traits: Traits, is_partial: bool, chance: random.Random) -> int:
    usual = {Story.RACES_AHEAD: 3.0, Story.STRUGGLES: 7.5}.get(traits.story, 5.0)
    return min(10, max(0, round(chance.gauss(usual + traits.effort_bias, 0.8) + is_partial)))


def _pain(
    traits: Traits, slots: tuple[SimulatedSlot, ...], week: int, chance: random.Random
) -> Pain | None:
    landings = [slot for slot in slots if slot.lands]
    if traits.story is not Story.KNEE_HURTS or not landings or week < 1 or chance.random() > 0.6:
        return None
    return Pain(
        chance.choice(landings).key,
        traits.weaker_side,
        chance.randint(3, 5),
        chance.choice(PAIN_NOTES),
    )


def _slot_log(
    traits: Traits, slot: SimulatedSlot, pain: Pain | None, is_partial: bool, chance: random.Random
) -> SlotLog:
    if pain and pain.key == slot.key:
        return SlotLog(slot.key, "some", None if slot.is_sided else 1, None, None)
    managed = slot.amount
    if traits.story is Story.RACES_AHEAD:
        managed += chance.choice((1, 2, 2))
    elif traits.story is Story.STRUGGLES or is_partial:
        managed = max(1, managed - chance.choice((0, 1, 2)))
    state = "done" if managed >= slot.amount else "some"
    if not slot.is_sided:
        return SlotLog(slot.key, state, managed, None, None)
    weaker = max(1, round(managed * (1 - traits.weaker) + chance.gauss(0, 0.3)))
    left, right = (weaker, managed) if traits.weaker_side == "left" else (managed, weaker)
    return SlotLog(slot.key, state, None, left, right)
