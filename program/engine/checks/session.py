"""The checks of one written session."""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from library.landing import ContactClass
from program.engine.checks.people import Asked, CheckedChild, Elsewhere, Meant, contacts_of
from program.engine.checks.rules import (
    COMMON_PRACTICE,
    FAIGENBAUM_2009,
    HANDBOOKS,
    HOUSE_RULE,
    USUAL,
    CheckResult,
    Checks,
    Level,
    Limit,
    Settings,
    Told,
)
from program.engine.contact_ceilings import class_ceiling
from program.engine.dose.dose import Dose, DoseRange, Measure, Sides
from program.engine.session_lengths import longest_session
from program.engine.volume import (
    HIP_DOMINANT,
    KNEE_DOMINANT,
    PULL,
    PUSH,
    contacts_together,
)
from program.engine.wording import clock, listed, plural, without_article

STRENGTH: Final = PUSH | PULL | KNEE_DOMINANT | HIP_DOMINANT
POWER: Final = frozenset({"jump", "land"})


@dataclass(frozen=True, slots=True)
class CheckedSlot:
    """`rounds` are the part's; `is_watched` where a grown-up has to watch; `amounts` is the range
    the exercise is used with; `is_for_nobody` where no child's kit allows it; `unsaid` is what it
    leaves unsaid of its landings, in words; `contact_class` is how hard they are."""

    name: str
    pattern: str
    dose: Dose
    rounds: int
    is_watched: bool = False
    amounts: DoseRange | None = None
    is_for_nobody: bool = False
    unsaid: str = ""
    contact_class: ContactClass = ContactClass.LOW

    @property
    def ground_contacts(self) -> float:
        return self.dose.ground_contacts * self.rounds

    @property
    def landings_in_a_set(self) -> float:
        """Of one side, where the sides are done one after the other."""
        contacts = self.dose.ground_contacts
        return contacts / 2 if self.dose.sides is Sides.EACH else contacts


@dataclass(frozen=True, slots=True)
class CheckedSession:
    """A written session and the children it is for.

    `warm_up_seconds` is None without a warm-up. `seconds` is the timeline's. `children` are those
    of the cohort on the day `on`; `sessions_beside` and `contacts_beside` are the cohort's other
    sessions of that day, and what lands in them, `contacts_beside_by_class` by class.
    `not_placed_on_landing` are the keys of the children without a placement on a landing pathway.
    `lacking` gives, for each need of the session, the number of families without it out of
    `families`.
    """

    slots: tuple[CheckedSlot, ...]
    seconds: int
    target_minutes: int
    is_at_home: bool
    warm_up_seconds: int | None
    on: dt.date
    children: tuple[CheckedChild, ...] = ()
    sessions_beside: int = 0
    contacts_beside: int = 0
    contacts_beside_by_class: Mapping[ContactClass, int] = field(default_factory=dict)
    not_placed_on_landing: tuple[int, ...] = ()
    lacking: Mapping[str, int] = field(default_factory=dict)
    families: int = 0

    @property
    def ground_contacts(self) -> int:
        return round(sum(slot.ground_contacts for slot in self.slots))

    @property
    def contacts_by_class(self) -> dict[ContactClass, float]:
        return contacts_together({each.contact_class: each.ground_contacts} for each in self.slots)

    @property
    def elsewhere(self) -> list[tuple[CheckedChild, tuple[Elsewhere, ...]]]:
        """The children who have sessions in other groups that day, with these."""
        found = ((child, child.within(self.on, self.on)) for child in self.children)
        return [(child, sessions) for child, sessions in found if sessions]

    @property
    def fitted(self) -> list[tuple[CheckedChild, Asked]]:
        """The children of whom it asks something else than is written, with that."""
        return [(child, child.asked) for child in self.children if child.asked]

    def seconds_of(self, child: CheckedChild) -> int:
        return child.asked.seconds if child.asked else self.seconds


CHECKS: Final = Checks[CheckedSession]()


def check_session(session: CheckedSession, settings: Settings = USUAL) -> tuple[CheckResult, ...]:
    """What the session asks a look for, the most urgent first; nothing for an empty session."""
    return CHECKS.results(session, settings) if session.slots else ()


@CHECKS.add(
    code="landing_first",
    title="Landing before it was placed",
    about="Jumps and landings for children whom nobody has placed on a landing pathway.",
    level=Level.STOP,
    source=FAIGENBAUM_2009,
    says="Light loads and correct technique come first.",
    beyond=(
        "House rule: that a coach has seen it and placed the child on a landing pathway, "
        "and that without it this is a stop."
    ),
)
def landing_first(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    lands = [slot for slot in session.slots if slot.pattern in POWER and slot.dose.contacts > 0]
    unplaced = session.not_placed_on_landing
    count = len(unplaced)
    if lands and unplaced:
        who = plural(count, "child meets", "children meet")
        yield Told(f"{who} {lands[0].name} before anybody placed them on landing.", count, unplaced)


@CHECKS.add(
    code="landing_unsaid",
    title="How it lands is not said",
    about="Jumps, landings and skips that leave their ground contacts, ankle or knee unsaid.",
    level=Level.LOOK,
    source=HOUSE_RULE,
)
def landing_unsaid(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    for name, unsaid in dict.fromkeys((s.name, s.unsaid) for s in session.slots if s.unsaid):
        yield Told(
            f"{name}: it does not say {unsaid}; until it does it counts as landing, and hard."
        )


@CHECKS.add(
    code="contacts",
    title="Ground contacts on a day",
    about=(
        "What the session asks of each child’s feet, with its other sessions of that day in"
        " whatever group, against its ceiling, which age sets and a growth spurt halves."
    ),
    level=Level.LOOK,
    source=HANDBOOKS,
    usual=Limit(most=100),
    unit="% of the child’s ceiling",
    allowed=(10, 150),
    says=("80 to 100 ground contacts in a session for grown beginners; children begin well below."),
    beyond=(
        "House rule: how far below at which age, half of it in a growth spurt, and that all "
        "sessions of a day share it."
    ),
)
def contacts(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    written, beside = session.ground_contacts, session.contacts_beside
    totals = {
        child.key: contacts + beside
        for child in session.children
        if (contacts := child.asked.contacts if child.asked else written)
    }
    over = [
        child
        for child in session.children
        if child.key in totals and not limit.holds(_percent(totals[child.key], child.ceiling))
    ]
    of_them = f", {beside} of them in another session of this day" if beside else ""
    if as_written := [child for child in over if child.asked is None]:
        total = written + beside
        yield Told(
            f"{total} ground contacts{of_them}: more than is usual for {len(as_written)} of"
            f" {plural(len(session.children), 'child', 'children')}; the lowest ceiling here is"
            f" {min(each.ceiling for each in as_written)}.",
            total,
        )
    if fitted := [child for child in over if child.asked]:
        most = max(totals[child.key] for child in fitted)
        yield Told(
            f"Up to {most} ground contacts{of_them} in what is chosen for"
            f" {plural(len(fitted), 'child', 'children')}: more than is usual; the lowest ceiling"
            f" among them is {min(each.ceiling for each in fitted)}.",
            most,
            tuple(child.key for child in fitted),
        )
    within = totals.keys() - {child.key for child in over}
    together = [
        (child, sessions)
        for child, sessions in session.elsewhere
        if child.key in within
        and not limit.holds(_percent(totals[child.key] + contacts_of(sessions), child.ceiling))
    ]
    if together:
        here = max(totals[child.key] for child, _ in together)
        most = max(contacts_of(sessions) for _, sessions in together)
        yield Told(
            f"{here} ground contacts here and up to {most} in other groups that day: more than is"
            f" usual for {plural(len(together), 'child', 'children')}.",
            here + most,
            *Meant.of(together),
        )


@CHECKS.add(
    code="contact_classes",
    title="Hard ground contacts on a day",
    about=(
        "Of what the session asks of the feet, with the child’s other sessions of that day, what is"
        " harder than low, each against a share of the child’s ceiling: medium against two thirds"
        " of it, high a third, on one leg a half, from a height a quarter."
    ),
    level=Level.LOOK,
    source=HANDBOOKS,
    says=(
        "Skips and small jumps on the spot are the lowest, jumps for height or distance and several"
        " in a row are above them, bounds and jumps down from something the highest; the harder,"
        " the fewer."
    ),
    beyond=(
        "House rule: how many fewer. That what comes down on one leg, or from a height, is a class"
        " of its own is common practice."
    ),
    usual=Limit(most=100),
    unit="% of the child’s ceiling for the class",
    allowed=(10, 150),
)
def contact_classes(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    for each in HARDER:
        over = [
            (child, sessions, contacts)
            for child, sessions, contacts in _in_class_on_the_day(session, each)
            if not limit.holds(_percent(contacts, class_ceiling(child.ceiling, each)))
        ]
        if over:
            all_of_them = {contacts for *_, contacts in over}
            lowest = min(class_ceiling(child.ceiling, each) for child, *_ in over)
            by_itself = ((c, sessions) for c, sessions, _ in over if c.asked or sessions)
            yield Told(
                f"{'Up to ' if len(all_of_them) > 1 else ''}{max(all_of_them)} ground contacts"
                f" {_said_of(each)}: more than is usual for {len(over)} of"
                f" {plural(len(session.children), 'child', 'children')}; the lowest ceiling for"
                f" these here is {lowest}.",
                max(all_of_them),
                *Meant.of(by_itself),
            )


def _in_class_on_the_day(
    session: CheckedSession, contact_class: ContactClass
) -> Iterator[tuple[CheckedChild, tuple[Elsewhere, ...], int]]:
    """The children who have contacts of a class in the session, with the sessions in other groups
    that have some too, and how many they are together with the day's."""
    written = session.contacts_by_class
    beside = session.contacts_beside_by_class.get(contact_class, 0)
    for child in session.children:
        asked = child.asked.contacts_by_class if child.asked else written
        if here := round(asked.get(contact_class, 0)):
            that_day = child.within(session.on, session.on)
            others = tuple(each for each in that_day if each.contacts_by_class.get(contact_class))
            yield child, others, here + beside + contacts_of(others, contact_class)


HARDER: Final = tuple(each for each in ContactClass if each is not ContactClass.LOW)
"""The classes with a ceiling lower than the one for all."""


def _said_of(contact_class: ContactClass) -> str:
    """ "on one leg", "from a height", "that are high"."""
    of_its_own = contact_class in {ContactClass.ONE_LEG, ContactClass.FROM_HEIGHT}
    return contact_class.label if of_its_own else f"that are {contact_class.label}"


@CHECKS.add(
    code="sessions_a_day",
    title="Sessions on a day",
    about="How many sessions a child has on the day, in whatever group.",
    level=Level.LOOK,
    source=COMMON_PRACTICE,
    usual=Limit(most=1),
    unit="sessions",
    allowed=(1, 4),
)
def sessions_a_day(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    here = 1 + session.sessions_beside
    if not limit.holds(here):
        yield Told(f"{here} sessions on this day; {limit} is usual.", here)
        return
    over = [
        (child, sessions)
        for child, sessions in session.elsewhere
        if not limit.holds(here + len(sessions))
    ]
    if over:
        most = max(len(sessions) for _, sessions in over)
        who = plural(len(over), "child has", "children have")
        what = "another session" if most == 1 else f"up to {most} more sessions"
        where = "another group" if most == 1 else "other groups"
        yield Told(f"{who} {what} that day in {where}.", here + most, *Meant.of(over))


@CHECKS.add(
    code="warm_up",
    title="No warm-up",
    about="A session whose first part is not a warm-up.",
    level=Level.LOOK,
    source=FAIGENBAUM_2009,
    says="A session begins with 5 to 10 minutes of dynamic warm-up.",
)
def warm_up(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    if session.warm_up_seconds is None:
        yield Told("There is no warm-up.")


@CHECKS.add(
    code="warm_up_length",
    title="Length of the warm-up",
    about="How long the warm-up takes.",
    level=Level.NOTE,
    source=FAIGENBAUM_2009,
    usual=Limit(5, 10),
    unit="minutes",
    allowed=(1, 30),
    says="A session begins with 5 to 10 minutes of dynamic warm-up.",
    beyond="House rule: that a longer one is told, too.",
)
def warm_up_length(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    seconds = session.warm_up_seconds
    if seconds is not None and not limit.holds(seconds / 60):
        yield Told(f"The warm-up takes {clock(seconds)}; {limit} minutes are usual.", seconds / 60)


@CHECKS.add(
    code="length",
    title="Longer than wanted",
    about="How far the session runs over the minutes you wanted.",
    level=Level.LOOK,
    source=HOUSE_RULE,
    usual=Limit(most=10),
    unit="% over",
    allowed=(0, 100),
)
def length(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    wanted = session.target_minutes * 60
    over = session.seconds - wanted
    if not limit.holds(_percent(over, wanted)):
        minutes = round(over / 60)
        yield Told(f"{plural(minutes, 'minute')} longer than you wanted.", minutes)
    longer = [
        (child.key, asked.seconds - wanted)
        for child, asked in session.fitted
        if asked.seconds > session.seconds
        and not limit.holds(_percent(asked.seconds - wanted, wanted))
    ]
    if longer:
        minutes = round(max(seconds for _, seconds in longer) / 60)
        yield Told(
            f"Up to {plural(minutes, 'minute')} longer than you wanted in what is chosen for"
            f" {plural(len(longer), 'child', 'children')}.",
            minutes,
            tuple(key for key, _ in longer),
        )


@CHECKS.add(
    code="length_for_age",
    title="Too long for the age",
    about=(
        "The session’s minutes against what is usual at most for each child’s age: 45 below 9"
        " years, 60 below 12, 75 below 15, 90 from then on."
    ),
    level=Level.LOOK,
    source=f"{COMMON_PRACTICE}; the minutes are a {HOUSE_RULE}",
    usual=Limit(most=100),
    unit="% of the minutes for the age",
    allowed=(50, 200),
)
def length_for_age(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    aged = [(child, child.age) for child in session.children if child.age is not None]
    over = [
        (child, age)
        for child, age in aged
        if not limit.holds(_percent(session.seconds_of(child) / 60, longest_session(age)))
    ]
    if over:
        minutes = max(session.seconds_of(child) for child, _ in over) / 60
        youngest = min(age for _, age in over)
        everybody = len(over) == len(session.children)
        yield Told(
            f"{round(minutes)} minutes: more than is usual for {len(over)} of"
            f" {plural(len(session.children), 'child', 'children')} at their age; the youngest is"
            f" {youngest}, where at most {longest_session(youngest)} are.",
            round(minutes),
            () if everybody else tuple(child.key for child, _ in over),
        )


@CHECKS.add(
    code="sets",
    title="Sets of one exercise",
    about="Rounds of strength, jumping and landing exercises.",
    level=Level.LOOK,
    source=FAIGENBAUM_2009,
    usual=Limit(most=3),
    unit="sets",
    allowed=(1, 10),
    says="1 to 3 sets, of strength as of power exercises.",
    beyond=(
        "House rule: that a round of a pair or a circuit is a set, and that who has trained "
        "for years is held to it, too."
    ),
)
def sets(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    hard = (slot for slot in session.slots if slot.pattern in STRENGTH | POWER)
    many = [slot for slot in hard if not limit.holds(slot.rounds)]
    if many:
        names = listed(slot.name for slot in many)
        yield Told(f"{names}: more than {limit.most} sets.", max(slot.rounds for slot in many))


@CHECKS.add(
    code="strength_repetitions",
    title="Repetitions of strength work",
    about="Repetitions of pushing, pulling and leg exercises in a set.",
    level=Level.NOTE,
    source=FAIGENBAUM_2009,
    usual=Limit(6, 15),
    unit="repetitions",
    allowed=(1, 60),
    says="6 to 15 repetitions in a set of strength work.",
    beyond="House rule: that those of one side are counted where sides take turns.",
)
def strength_repetitions(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    for slot in session.slots:
        amount = slot.dose.amount
        is_counted = slot.dose.measure is Measure.REPETITIONS
        if slot.pattern in STRENGTH and is_counted and not limit.holds(amount):
            yield Told(
                f"{slot.name}: {amount} is outside the {limit} that are usual for young people.",
                amount,
            )


@CHECKS.add(
    code="power_repetitions",
    title="Landings in a set",
    about=(
        "Landings in a set of jumping and landing exercises, of one side where the sides come one"
        " after the other."
    ),
    level=Level.NOTE,
    source=FAIGENBAUM_2009,
    usual=Limit(3, 6),
    unit="landings",
    allowed=(1, 60),
    says="3 to 6 repetitions in a set of power exercises.",
    beyond="House rule: that landings are held to it, and each counts as a repetition.",
)
def power_repetitions(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    for slot in session.slots:
        landings = slot.landings_in_a_set
        if slot.pattern in POWER and landings and not limit.holds(landings):
            yield Told(
                f"{slot.name}: {landings:g} landings in a set, outside the {limit} that are usual"
                " for young people.",
                landings,
            )


@CHECKS.add(
    code="own_range",
    title="Outside the exercise’s own range",
    about="Amounts that the exercise’s page does not give it.",
    level=Level.NOTE,
    source=HOUSE_RULE,
)
def own_range(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    for slot in session.slots:
        amount = slot.dose.amount
        if slot.amounts and (outside := slot.amounts.outside(amount)):
            yield Told(f"{slot.name}: {amount} is {outside}.", amount)


@CHECKS.add(
    code="equal_sides",
    title="Sides not equal",
    about="Odd amounts of what swaps sides.",
    level=Level.NOTE,
    source=HOUSE_RULE,
)
def equal_sides(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    for slot in session.slots:
        dose = slot.dose
        is_counted = dose.measure is Measure.REPETITIONS
        if dose.sides is Sides.ALTERNATING and is_counted and dose.amount % 2:
            yield Told(
                f"{slot.name}: {dose.amount} gives one side one more than the other.", dose.amount
            )


@CHECKS.add(
    code="kit_of_nobody",
    title="Nobody has what it needs",
    about="Exercises for which no home, or not the venue, has what is needed.",
    level=Level.LOOK,
    source=HOUSE_RULE,
)
def kit_of_nobody(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    unused = [slot.name for slot in session.slots if slot.is_for_nobody]
    if unused:
        where = "at anybody’s home" if session.is_at_home else "at the venue"
        yield Told(f"{listed(unused)}: what it needs is not {where}.", len(unused))


@CHECKS.add(
    code="kit",
    title="Things that families lack",
    about="Needs of a home session that are not met in so many homes.",
    level=Level.NOTE,
    source=HOUSE_RULE,
    usual=Limit(most=50),
    unit="% of families",
    allowed=(0, 100),
)
def kit(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    if not session.is_at_home:
        return
    for what, lacking in session.lacking.items():
        if not limit.holds(_percent(lacking, session.families)):
            families = plural(lacking, "family has", "families have")
            yield Told(f"{families} no {without_article(what)}.", lacking)


@CHECKS.add(
    code="supervision",
    title="A grown-up watches",
    about="Exercises of a home session that want a grown-up beside the child.",
    level=Level.NOTE,
    source=COMMON_PRACTICE,
)
def supervision(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    watched = [slot.name for slot in session.slots if slot.is_watched]
    if session.is_at_home and watched:
        yield Told(f"At home a grown-up has to watch: {listed(watched)}.", len(watched))
    instead = [
        (child.key, names)
        for child, asked in session.fitted
        if (names := [name for name in asked.watched if name not in watched])
    ]
    if session.is_at_home and instead:
        gets = plural(len(instead), "child gets", "children get")
        exercises = listed(name for _, names in instead for name in names)
        yield Told(
            f"At home a grown-up has to watch what {gets} instead: {exercises}.",
            len(instead),
            tuple(key for key, _ in instead),
        )


@CHECKS.add(
    code="asks_more",
    title="Something else asks for more",
    about=(
        "What comes for a child in the place of a written exercise with more ground contacts, or"
        " with at least twice the time."
    ),
    level=Level.NOTE,
    source=HOUSE_RULE,
)
def asks_more(session: CheckedSession, limit: Limit) -> Iterator[Told]:
    landing = tuple(child.key for child, asked in session.fitted if asked.lands_more)
    lasting = tuple(child.key for child, asked in session.fitted if asked.takes_twice)
    for who, more in (
        (landing, "lands more often than"),
        (lasting, "takes at least twice as long as"),
    ):
        if who:
            get = plural(len(who), "child gets", "children get")
            yield Told(f"{get} something that {more} what is written.", len(who), who)


def _percent(part: float, whole: float) -> float:
    """Of nothing, anything is beyond every limit, and nothing is none of it."""
    if whole:
        return 100 * part / whole
    return 0.0 if part <= 0 else float("inf")
