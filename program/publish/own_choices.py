"""What a coach may choose for one child in one slot: each exercise with what fit and the checks say
of the session that the child then gets."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from athletes.models import Child
from program.checks.cohort_facts import People, cohort_facts
from program.checks.session_checks import facts_of
from program.engine.checks import (
    RULES,
    CheckedSession,
    CheckResult,
    Level,
    Settings,
    check_session,
)
from program.engine.fit.fitting import Fitted
from program.engine.fit.likeness import ON_PATHWAY
from program.engine.fit.options import Option
from program.engine.fit.reasons import IN_SHORT, for_coach, within
from program.fit.choices import Chosen, plan_of_chosen
from program.fit.choosing import chosen_of
from program.fit.fitting import FittedSession
from program.models import Slot


@dataclass(frozen=True)
class OwnChoice:
    """An exercise that a coach may want for a child, and what the checks find because of it."""

    option: Option
    results: tuple[CheckResult, ...] = ()

    @property
    def slug(self) -> str:
        return self.option.exercise.slug

    @property
    def name(self) -> str:
        return self.option.exercise.name

    @property
    def near(self) -> str:
        """How near it is to what it would replace, in words."""
        return self.option.near.value

    @property
    def is_on_pathway(self) -> bool:
        return self.option.near in ON_PATHWAY

    @property
    def is_allowed(self) -> bool:
        return not self.option.broken

    @property
    def in_the_way(self) -> str:
        """The first limit that it breaks, in words; empty where it may be chosen."""
        return for_coach(self.option.broken[0]) if self.option.broken else ""

    @property
    def stops(self) -> tuple[CheckResult, ...]:
        """What asks for a written reason."""
        return tuple(each for each in self.results if each.level is Level.STOP)

    @property
    def risk(self) -> int:
        """0 for what suits the child, 1 for what wants a look, 2 for what wants a reason."""
        if self.stops:
            return 2
        return 1 if self.why else 0

    @property
    def why(self) -> tuple[str, ...]:
        """Everything that speaks against it."""
        return (
            *(each.sentence for each in self.results),
            *(IN_SHORT[each.code] for each in self.option.cautions),
            *(f"later in the session {for_coach(each)}" for each in self.option.undone),
        )

    @property
    def why_in_short(self) -> str:
        """The gravest of it in a few words."""
        for result in self.results:
            title = within(RULES[result.code].title)
            return f"stop: {title}" if result.level is Level.STOP else title
        if self.option.cautions:
            return IN_SHORT[self.option.cautions[0].code]
        return "leaves a later exercise to you" if self.option.undone else ""


def choices_of(fitted: FittedSession, slot: Slot, child: Child) -> list[OwnChoice]:
    """Every exercise in use, what suits the child first and the nearest to what fit gives before
    the rest."""
    checked = Around.of(fitted).checked(slot, child)
    found = [checked.choice(option) for option in fitted.options(slot, child)]
    return sorted(found, key=lambda choice: choice.risk)


@dataclass(frozen=True)
class Around:
    """A session that was fitted to some children, and what the checks ask of those around it."""

    fitted: FittedSession
    people: People
    settings: Settings

    @classmethod
    def of(cls, fitted: FittedSession) -> "Around":
        # Fit keeps the child within what its other sessions of the day leave.
        day, cohort = fitted.session.date, fitted.session.block.cohort
        near = cohort_facts(cohort, day, day)
        return cls(fitted, near.people, near.settings)

    def stops_against(self, slot: Slot, child: Child, exercise: str) -> tuple[CheckResult, ...]:
        """Why this child does not get an exercise in this slot without a written reason."""
        option = self.fitted.option(slot, child, exercise)
        return self.checked(slot, child).choice(option).stops

    def stops_in(self, slot: Slot, child: Child) -> list[CheckResult]:
        """The same of what it gets there as it was fitted."""
        return self._checked(slot, child).stops_in(self.fitted.by_child[child.pk])

    def checked(self, slot: Slot, child: Child) -> "_Checked":
        plain = self._checked(slot, child)
        by_itself = plain.facts(plain.chosen(self.fitted.without_word(slot, child)))
        codes = frozenset(each.code for each in check_session(by_itself, self.settings))
        return replace(plain, found_anyway=codes)

    def _checked(self, slot: Slot, child: Child) -> "_Checked":
        people = self.people.alone(child.pk)
        return _Checked(self.fitted, slot, child, people, self.settings)


@dataclass(frozen=True)
class _Checked:
    """The session of one child, ready to be held against the checks with one choice after the
    other. `found_anyway` are the codes of what they find as long as the coach has said nothing."""

    fitted: FittedSession
    slot: Slot
    child: Child
    people: People
    settings: Settings
    found_anyway: frozenset[str] = frozenset()

    def choice(self, option: Option) -> OwnChoice:
        if option.broken:
            return OwnChoice(option)
        return OwnChoice(option, (*self.stops_in(option.session), *self._looks(option)))

    def stops_in(self, session: Sequence[Fitted]) -> list[CheckResult]:
        """What stops the choice in it by itself: that the session went out with a reason for
        something else is none for it."""
        alone = [each for each in self.chosen(session) if each.slot.pk == self.slot.pk]
        found = check_session(self.facts(alone), self.settings)
        return [each for each in found if each.level is Level.STOP]

    def _looks(self, option: Option) -> list[CheckResult]:
        """What wants a look only since the coach has chosen this."""
        found = check_session(self.facts(self.chosen(option.session)), self.settings)
        return [
            each
            for each in found
            if each.level is Level.LOOK and each.code not in self.found_anyway
        ]

    def chosen(self, filled: Sequence[Fitted]) -> list[Chosen]:
        return list(chosen_of(self.fitted, filled, self.child, {}))

    def facts(self, chosen: Sequence[Chosen]) -> CheckedSession:
        session = self.fitted.session
        plan = plan_of_chosen(chosen, session.block.pace)
        return facts_of(session, plan, self.people)
