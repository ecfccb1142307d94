"""Why a child gets what it gets: codes for machines, one plain sentence for each reader."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Any, Final, NamedTuple

from library.body import Region, RestrictionKind, Side, place_in_words


class ReasonCode(StrEnum):
    AS_WRITTEN = "as_written"
    # A hard limit is in the way.
    UNKNOWN_EXERCISE = "unknown_exercise"
    RETIRED = "retired"
    RECALLED = "recalled"
    RESTRICTED = "restricted"
    TOO_YOUNG = "too_young"
    NEED_UNMET = "need_unmet"
    TOO_MANY_CONTACTS = "too_many_contacts"
    LANDS_ELSEWHERE = "lands_elsewhere"
    TOO_HARD_LANDINGS = "too_hard_landings"
    HELD_BACK = "held_back"
    RESTING = "resting"
    TRAINING_REFUSED = "training_refused"
    # The rule moves the slot towards the child's placement, or holds it back.
    BEYOND_PLACEMENT = "beyond_placement"
    READY_FOR_MORE = "ready_for_more"
    PLACED_BESIDE = "placed_beside"
    STEPS_LIMITED = "steps_limited"
    GROWTH_SPURT = "growth_spurt"
    PLACE_IS_SPARED = "place_is_spared"
    PLACEMENT_NOT_SEEN = "placement_not_seen"
    # On the way back after a pain, or after time away.
    COMING_BACK_EASIER = "coming_back_easier"
    COMING_BACK_LESS = "coming_back_less"
    LIGHTER_WEEK = "lighter_week"
    # Something that fit could not know.
    KIT_NOT_TOLD = "kit_not_told"
    NOT_PLACED = "not_placed"
    PLACEMENT_OFF_PATHWAY = "placement_off_pathway"
    PLACEMENT_RETIRED = "placement_retired"
    PLACEMENT_UNJOINED = "placement_unjoined"
    NO_PATHWAY = "no_pathway"
    PATHWAY_CONTRADICTS_ITSELF = "pathway_contradicts_itself"
    # The coach has decided, or has to.
    MORE = "more"
    COACH_CHOSE = "coach_chose"
    LEFT_OUT = "left_out"
    CHOICE_NOT_SAFE = "choice_not_safe"
    CHOICE_STOPPED = "choice_stopped"
    IMPOSSIBLE_AMOUNT = "impossible_amount"
    NOTHING_ALLOWED = "nothing_allowed"


ABOUT_HEALTH: Final = frozenset(
    {
        ReasonCode.RESTRICTED,
        ReasonCode.HELD_BACK,
        ReasonCode.RESTING,
        ReasonCode.GROWTH_SPURT,
        ReasonCode.PLACE_IS_SPARED,
        ReasonCode.COMING_BACK_EASIER,
        ReasonCode.COMING_BACK_LESS,
        ReasonCode.LIGHTER_WEEK,
    }
)
"""What tells of pain, sickness, growth or what is spared."""


HOLD_BACK: Final = frozenset(
    {ReasonCode.HELD_BACK, ReasonCode.RESTING, ReasonCode.TRAINING_REFUSED}
)
"""Why a child does nothing at all for now."""


class Reason(NamedTuple):
    """One reason. Only what its code speaks of is filled in.

    `exercise` and `pathway` are names, as they were when the reason was given. `instead` names
    what the child gets because of it. `need` is part of a sentence. `number` counts what the code
    is about: years, ground contacts or steps. `detail` is a clause for the coach.
    """

    code: ReasonCode
    exercise: str = ""
    instead: str = ""
    pathway: str = ""
    need: str = ""
    region: Region | None = None
    side: Side | None = None
    kind: RestrictionKind | None = None
    number: int | None = None
    detail: str = ""

    def to_json(self) -> dict[str, str | int]:
        """What is filled in, ready to be stored."""
        return {name: value for name, value in self._asdict().items() if value not in ("", None)}

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> "Reason":
        """Read back what `to_json` made. Raises ValueError or TypeError for anything else."""
        types = {"code": ReasonCode, "region": Region, "side": Side, "kind": RestrictionKind}
        return cls(**{name: types.get(name, _same)(value) for name, value in stored.items()})


def _same(value: Any) -> Any:
    return value


class _Clauses(NamedTuple):
    """The same reason for two readers, up to what comes instead."""

    coach: str
    family: str


_CLAUSES: Final[Mapping[ReasonCode, _Clauses]] = {
    ReasonCode.AS_WRITTEN: _Clauses(
        "as written",
        "this is what the coach wrote",
    ),
    ReasonCode.UNKNOWN_EXERCISE: _Clauses(
        "the exercise is not in the library",
        "this exercise is not in use any more",
    ),
    ReasonCode.RETIRED: _Clauses(
        "{exercise} is not in use now",
        "{exercise} is not in use now",
    ),
    ReasonCode.RECALLED: _Clauses(
        "{exercise} was taken back: {detail}",
        "{exercise} was taken back by the coach: {detail}",
    ),
    ReasonCode.RESTRICTED: _Clauses(
        "{restriction}",
        "the {region} is being spared",
    ),
    ReasonCode.TOO_YOUNG: _Clauses(
        "{exercise} is for {number} years and older",
        "{exercise} is for {number} years and older",
    ),
    ReasonCode.NEED_UNMET: _Clauses(
        "{missing}",
        "there is {missing}",
    ),
    ReasonCode.TOO_MANY_CONTACTS: _Clauses(
        "{exercise} would pass {number} ground contacts",
        "there is enough landing in this session already",
    ),
    ReasonCode.LANDS_ELSEWHERE: _Clauses(
        "{number} ground contacts in another session that day, and {exercise} would pass {detail} "
        "together",
        "there are {number} landings in another session that day",
    ),
    ReasonCode.TOO_HARD_LANDINGS: _Clauses(
        "{exercise} would pass {number} ground contacts of its kind ({detail}) on this day",
        "there is enough landing of this kind on this day already",
    ),
    ReasonCode.HELD_BACK: _Clauses(
        "something was reported that holds every session back until a coach has answered",
        "everything waits until the coach has answered what was reported",
    ),
    ReasonCode.RESTING: _Clauses(
        "resting: no session for now",
        "this is a time of rest",
    ),
    ReasonCode.TRAINING_REFUSED: _Clauses(
        "the family does not agree to training",
        "the family does not agree to training for now",
    ),
    ReasonCode.BEYOND_PLACEMENT: _Clauses(
        "{exercise} is beyond the placement",
        "{exercise} comes later",
    ),
    ReasonCode.READY_FOR_MORE: _Clauses(
        "placed above {exercise}",
        "it is time for more than {exercise}",
    ),
    ReasonCode.PLACED_BESIDE: _Clauses(
        "placed at another version of {exercise}",
        "another exercise of this kind is being worked on",
    ),
    ReasonCode.STEPS_LIMITED: _Clauses(
        "placed higher, but {steps}",
        "it gets harder one step at a time",
    ),
    ReasonCode.GROWTH_SPURT: _Clauses(
        "nothing harder than written while growing fast",
        "nothing gets harder while growing fast",
    ),
    ReasonCode.PLACE_IS_SPARED: _Clauses(
        "nothing harder than written while a place it works is spared",
        "nothing gets harder while something is being spared",
    ),
    ReasonCode.PLACEMENT_NOT_SEEN: _Clauses(
        "nothing harder than written: nobody has seen the placement yet",
        "nothing gets harder before the coach has seen it done",
    ),
    ReasonCode.COMING_BACK_EASIER: _Clauses(
        "the {region} is on its way back, with easier exercises for now",
        "the {region} is on its way back",
    ),
    ReasonCode.COMING_BACK_LESS: _Clauses(
        "half as much while the {region} is on its way back",
        "it is half as much while the {region} is on its way back",
    ),
    ReasonCode.LIGHTER_WEEK: _Clauses(
        "less in the first week back",
        "it is a little less in the first week back",
    ),
    ReasonCode.KIT_NOT_TOLD: _Clauses(
        "the family has not said what is at home",
        "tell us what is at home, and this may change",
    ),
    ReasonCode.NOT_PLACED: _Clauses(
        "not placed on the pathway {pathway} yet",
        "no starting point has been set for this kind of exercise yet",
    ),
    ReasonCode.PLACEMENT_OFF_PATHWAY: _Clauses(
        "placed at {exercise}, which is no longer on the pathway {pathway}; place again",
        "the coach is setting a new starting point for this kind of exercise",
    ),
    ReasonCode.PLACEMENT_RETIRED: _Clauses(
        "placed at {exercise}, which is not in use now; place again",
        "the coach is setting a new starting point for this kind of exercise",
    ),
    ReasonCode.PLACEMENT_UNJOINED: _Clauses(
        "placed at {exercise}, which nothing on the pathway {pathway} joins to this one",
        "no starting point has been set for this kind of exercise yet",
    ),
    ReasonCode.NO_PATHWAY: _Clauses(
        "{exercise} is on no pathway, so there is nothing to move to",
        "there is no other version of {exercise}",
    ),
    ReasonCode.PATHWAY_CONTRADICTS_ITSELF: _Clauses(
        "the pathway {pathway} contradicts itself, as {detail}; until that is put right, "
        "nothing on it is made easier or harder",
        "there is no other version of {exercise} at the moment",
    ),
    ReasonCode.MORE: _Clauses(
        "{number} {detail} more than written, as you let this child",
        "do {number} {detail} more than before, because it has been going well",
    ),
    ReasonCode.COACH_CHOSE: _Clauses(
        "the coach’s choice",
        "the coach chose this one",
    ),
    ReasonCode.LEFT_OUT: _Clauses(
        "left out by the coach",
        "the coach left this one out",
    ),
    ReasonCode.CHOICE_NOT_SAFE: _Clauses(
        "the coach’s choice {exercise} breaks a limit",
        "the coach is choosing again",
    ),
    ReasonCode.CHOICE_STOPPED: _Clauses(
        "what was decided for {exercise} needs a reason now: {detail}",
        "the coach is choosing again",
    ),
    ReasonCode.IMPOSSIBLE_AMOUNT: _Clauses(
        "{detail}",
        "the coach is deciding what comes here",
    ),
    ReasonCode.NOTHING_ALLOWED: _Clauses(
        "nothing on the pathway {pathway} is allowed; choose by hand, leave it out, "
        "or ask the family what is at home",
        "the coach is deciding what comes here",
    ),
}

IN_SHORT: Final[Mapping[ReasonCode, str]] = {
    ReasonCode.AS_WRITTEN: "as written",
    ReasonCode.UNKNOWN_EXERCISE: "not in use now",
    ReasonCode.RETIRED: "not in use now",
    ReasonCode.RECALLED: "taken back for everybody",
    ReasonCode.RESTRICTED: "a restriction",
    ReasonCode.TOO_YOUNG: "too young for it",
    ReasonCode.NEED_UNMET: "kit or room missing",
    ReasonCode.TOO_MANY_CONTACTS: "enough ground contacts",
    ReasonCode.LANDS_ELSEWHERE: "lands in another session",
    ReasonCode.TOO_HARD_LANDINGS: "enough hard landings",
    ReasonCode.HELD_BACK: "waits for an answer",
    ReasonCode.RESTING: "resting",
    ReasonCode.TRAINING_REFUSED: "no consent to train",
    ReasonCode.BEYOND_PLACEMENT: "not that far yet",
    ReasonCode.READY_FOR_MORE: "further on already",
    ReasonCode.PLACED_BESIDE: "placed beside it",
    ReasonCode.STEPS_LIMITED: "further on already",
    ReasonCode.GROWTH_SPURT: "growing fast",
    ReasonCode.PLACE_IS_SPARED: "a place is spared",
    ReasonCode.PLACEMENT_NOT_SEEN: "placement not seen yet",
    ReasonCode.COMING_BACK_EASIER: "on the way back",
    ReasonCode.COMING_BACK_LESS: "on the way back",
    ReasonCode.LIGHTER_WEEK: "first week back",
    ReasonCode.KIT_NOT_TOLD: "kit not known yet",
    ReasonCode.NOT_PLACED: "not placed yet",
    ReasonCode.PLACEMENT_OFF_PATHWAY: "to be placed again",
    ReasonCode.PLACEMENT_RETIRED: "to be placed again",
    ReasonCode.PLACEMENT_UNJOINED: "to be placed again",
    ReasonCode.NO_PATHWAY: "on no pathway",
    ReasonCode.PATHWAY_CONTRADICTS_ITSELF: "a pathway to put right",
    ReasonCode.MORE: "more than written",
    ReasonCode.COACH_CHOSE: "your choice",
    ReasonCode.LEFT_OUT: "left out by you",
    ReasonCode.CHOICE_NOT_SAFE: "your choice breaks a limit",
    ReasonCode.CHOICE_STOPPED: "a reason is missing",
    ReasonCode.IMPOSSIBLE_AMOUNT: "an impossible amount",
    ReasonCode.NOTHING_ALLOWED: "nothing allowed",
}
"""Why, in a few words for the coach, where many are counted together."""


def for_coach(reason: Reason) -> str:
    """One line for a table cell: "no smooth floor for sliding: heel walk-outs instead"."""
    clause = _CLAUSES[reason.code].coach.format_map(_words(reason))
    return f"{clause}: {within(reason.instead)} instead" if reason.instead else clause


def for_family(reason: Reason) -> str:
    """One whole sentence: "There is no smooth floor for sliding, so it is heel walk-outs." """
    clause = _CLAUSES[reason.code].family.format_map(_words(reason))
    ending = f", so it is {within(reason.instead)} this time" if reason.instead else ""
    return f"{clause[0].upper()}{clause[1:]}{ending}."


def within(name: str) -> str:
    """A name inside a sentence: "Heel walk-outs" is "heel walk-outs", "T-hold" stays."""
    return name[:1].lower() + name[1:] if name[1:2].islower() else name


def _words(reason: Reason) -> dict[str, str]:
    region = _region(reason)
    return {
        "exercise": within(reason.exercise),
        "pathway": within(reason.pathway),
        "missing": _missing(reason.need),
        "region": region,
        "restriction": f"{reason.kind.label} for the {region}" if reason.kind else "",
        "number": str(reason.number),
        "steps": _steps(reason.number),
        "detail": reason.detail,
    }


def _region(reason: Reason) -> str:
    if reason.region is None:
        return ""
    return place_in_words(reason.region, reason.side or Side.BOTH)


def _steps(number: int | None) -> str:
    match number:
        case None | 0:
            return "no step up is allowed"
        case 1:
            return "only 1 step up is allowed"
        case _:
            return f"only {number} steps up are allowed"


def _missing(need: str) -> str:
    """The need, gone: "a clear wall" is "no clear wall", "something to hug" "nothing to hug"."""
    first, _, rest = need.partition(" ")
    match first.lower():
        case "a" | "an" | "the" | "some":
            return f"no {rest}"
        case "something":
            return f"nothing {rest}"
        case "two" | "three":
            return f"not {need}"
        case _:
            return f"no {need}"
