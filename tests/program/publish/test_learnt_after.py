"""Every cell of `program/docs/learnt-after-publishing.md`: what becomes of a session when something
is learnt after it was written, published, begun or done."""

import re
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes.changes import (
    Rule,
    answer_kit,
    enrol,
    equip_venue,
    lift,
    place,
    restrict,
    set_growing_fast,
    tell,
    withdraw,
)
from athletes.consents import Answer, answer
from athletes.models import ConsentPurpose, HomeKit, OutgoingMail
from athletes.signals import Circumstance
from library.body import Region, RestrictionKind, Side
from library.models import Exercise, Pathway
from library.revisions import NeedContent
from library.signals import exercise_retired
from program.engine.fit.limits import ReturnStep
from program.log.logbook import LogEntry, mark_started, write_log
from program.log.pain_reports import Reporting, report_pain
from program.models import AssignedSession
from program.publish.closing import children_who_hold_what_is_forbidden
from program.publish.publishing import PublishRefused, publish
from program.recall.recalling import recall
from program.review.queue import queue_of
from program.review.ways_back import begin, go_to
from tests.support.describing import describe
from tests.support.factories import (
    MONDAY,
    CohortFactory,
    ExerciseFactory,
    ItemFactory,
    PathwayFactory,
)
from tests.support.pain import ORIGIN, knee, unwell
from tests.support.sliding import has, session_with
from tests.support.work import work_off

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("nothing_to_agree_to")]

DOCUMENT = Path(__file__).parents[3] / "program/docs/learnt-after-publishing.md"
STATES = ("draft", "published, not begun", "begun", "done")
SPARE_THE_KNEE = Rule(Region.KNEE, Side.BOTH, RestrictionKind.NO_LOADING, MONDAY, MONDAY)
DEEP_WATER = NeedContent("deep water", frozenset({"deep-water"}))


@pytest.fixture(autouse=True)
def monday_it_is(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_: MONDAY)


@pytest.fixture
def world(cast) -> SimpleNamespace:
    """Ten jumps for a child of twelve, at home, where there is all that they need; a squat is
    easier and loads the knee as well, a bridge loads no knee. Nobody under eleven jumps."""
    for slug in ("rope", "box"):
        ItemFactory(slug=slug)
    moved = {"revision__moves": [], "revision__sides": "both"}
    bridge = ExerciseFactory(slug="bridge", revision__loads=["thigh"], **moved)
    squat = ExerciseFactory(slug="squat", revision__loads=["knee"], **moved)
    jump = ExerciseFactory(
        slug="jump",
        revision__loads=["knee", "ankle"],
        revision__contacts=1,
        revision__minimum_age=11,
        revision__high=60,
        **moved,
    )
    describe("jump", needs=(NeedContent("a rope", frozenset({"rope"})),))
    PathwayFactory(slug="squats", chain=[bridge, squat, jump])
    has(cast.child, "rope")
    equip_venue(cast.cohort, [ItemFactory(slug="rope")])
    session = session_with(cast.cohort, "jump", amount=60)
    return SimpleNamespace(cast=cast, session=session, before="jump")


class Fact:
    """Something that is learnt. `begin` sets the scene before the session is sent, `learn` is what
    happens, and `after` the exercise that the child gets from then on."""

    after = "squat"

    def begin(self, world) -> None:
        pass

    def learn(self, world) -> None:
        raise NotImplementedError


class Hurts(Fact):
    after = "bridge"

    def learn(self, world):
        cast = world.cast
        report_pain(cast.child, knee(), Reporting(cast.guardian, timezone.now(), ORIGIN))


class Warns(Fact):
    def learn(self, world):
        cast = world.cast
        report_pain(cast.child, unwell("faint"), Reporting(cast.guardian, timezone.now(), ORIGIN))


class SaysNo(Fact):
    def learn(self, world):
        no = {ConsentPurpose.TRAINING: Answer.now(ConsentPurpose.TRAINING, given=False)}
        answer(world.cast.child, world.cast.guardian, no, timezone.now())


class Spared(Fact):
    after = "bridge"

    def learn(self, world):
        restrict(world.cast.child, SPARE_THE_KNEE, world.cast.coach, MONDAY)


class FineAgain(Fact):
    after = "jump"

    def begin(self, world):
        world.before = "bridge"
        restrict(world.cast.child, SPARE_THE_KNEE, world.cast.coach, MONDAY)

    def learn(self, world):
        lift(world.cast.child.restrictions.get(), world.cast.coach, MONDAY)


class WayBack(Fact):
    after = "squat"

    def begin(self, world):
        world.before = "bridge"
        begin(world.cast.child, Region.KNEE, Side.BOTH, world.cast.coach, MONDAY)

    def learn(self, world):
        step = world.cast.child.way_back_steps.get()
        go_to(step, ReturnStep.EASIER, world.cast.coach, MONDAY)


class LacksARope(Fact):
    def learn(self, world):
        answer_kit(world.cast.child, [], world.cast.guardian)


class AnotherFloor(Fact):
    def begin(self, world):
        HomeKit.objects.all().delete()
        world.session.place = "venue"
        world.session.save()

    def learn(self, world):
        equip_venue(world.cast.cohort, [])


class Placed(Fact):
    def begin(self, world):
        self._at(world, "jump")

    def learn(self, world):
        self._at(world, "squat")

    def _at(self, world, slug):
        exercise = Exercise.objects.select_related("current").get(slug=slug)
        place(world.cast.child, Pathway.objects.get(slug="squats"), exercise, world.cast.coach)


class Grows(Fact):
    def learn(self, world):
        set_growing_fast(world.cast.child, MONDAY)


class Younger(Fact):
    def learn(self, world):
        child = world.cast.child
        child.birth_date = MONDAY.replace(year=MONDAY.year - 10)
        child.save()
        tell(child, Circumstance.AGE)


class Recalled(Fact):
    def learn(self, world):
        jump = Exercise.objects.get(slug="jump")
        recall(jump, "two children slipped", world.cast.coach, timezone.now(), MONDAY)


class Retired(Fact):
    def learn(self, world):
        jump = Exercise.objects.get(slug="jump")
        Exercise.objects.filter(pk=jump.pk).update(status=Exercise.Status.RETIRED)
        exercise_retired.send(Exercise, exercise=jump, by=world.cast.coach, reason="")


class NeedsMore(Fact):
    def learn(self, world):
        ItemFactory(slug="deep-water")
        describe("jump", needs=(DEEP_WATER,))


class Leaves(Fact):
    def learn(self, world):
        sunday = MONDAY.fromordinal(MONDAY.toordinal() - 1)
        withdraw(world.cast.child, [world.cast.cohort], sunday)


class LandsElsewhere(Fact):
    """Sixty jumps here and sixty with the others are more than a hundred."""

    def learn(self, world):
        others = CohortFactory(name="Gymnasts")
        enrol(world.cast.child, others, MONDAY)
        publish(session_with(others, "jump", amount=60), world.cast.head_coach, timezone.now())


class Joins(Fact):
    after = "jump"

    def begin(self, world):
        world.cast.child.enrolments.all().delete()

    def learn(self, world):
        enrol(world.cast.child, world.cast.cohort, MONDAY)


FACTS = {
    "a place hurts": Hurts(),
    "a warning sign, or not well": Warns(),
    "the family says no to training": SaysNo(),
    "a place is to be spared": Spared(),
    "it is fine again": FineAgain(),
    "a way back takes a step": WayBack(),
    "home lacks something": LacksARope(),
    "the venue's floor is another one": AnotherFloor(),
    "another placement": Placed(),
    "grows fast": Grows(),
    "is younger than was written": Younger(),
    "an exercise is taken back for everybody": Recalled(),
    "an exercise is retired": Retired(),
    "an exercise needs more than was said": NeedsMore(),
    "leaves the cohort": Leaves(),
    "another cohort sends landings for the same day": LandsElsewhere(),
    "joins the cohort": Joins(),
}


def cells() -> list[tuple[str, str, str]]:
    """The table of the document: what is learnt, the state of the session, and what it says."""
    rows = [line for line in DOCUMENT.read_text().splitlines() if line.startswith("| ")]
    split = [[cell.strip() for cell in row.strip("|").split("|")] for row in rows]
    head, *body = split
    assert tuple(head[1:5]) == STATES
    return [
        (row[0], state, said) for row in body for state, said in zip(head[1:], row[1:], strict=True)
    ]


def given(world) -> list[str]:
    mine = AssignedSession.objects.filter(session=world.session, child=world.cast.child)
    return list(mine.values_list("slots__revision__exercise__slug", flat=True))


def is_closed(world) -> bool:
    mine = AssignedSession.objects.filter(session=world.session, child=world.cast.child)
    return mine.filter(closed_at__isnull=False).exists()


def send(world) -> None:
    publish(world.session, world.cast.coach, timezone.now())


def learn(world, fact) -> None:
    """With nothing forbidden held at any time after it."""
    fact.learn(world)
    assert children_who_hold_what_is_forbidden(MONDAY) == set()


def in_a_draft(world, fact, said):
    learn(world, fact)
    if said == "refused":
        with pytest.raises(PublishRefused):
            send(world)
        return
    send(world)
    work_off()
    if said == "fitted with it":
        assert given(world) == [fact.after]
    else:
        assert said in {"not sent", "closed"}
        assert given(world) == [] or is_closed(world)


def when_published(world, fact, said):
    send(world)
    assert given(world) == ([] if said == "sent" else [world.before])
    learn(world, fact)
    assert is_closed(world) is said.startswith("closed")
    work_off()
    if said == "closed":
        assert is_closed(world)
        return
    assert not is_closed(world)
    now = {"stays": [world.before], "closed, then taken back": []}
    assert given(world) == now.get(said, [fact.after])


def when_begun(world, fact, said):
    send(world)
    mark_started(list(world.session.assigned.filter(child=world.cast.child)), timezone.now())
    stays(world, fact, said)


def when_done(world, fact, said):
    send(world)
    for mine in world.session.assigned.filter(child=world.cast.child):
        entry = LogEntry(state="done")
        write_log(mine, entry, by=world.cast.coach, now=timezone.now(), seen=mine.mark)
    stays(world, fact, said)


def stays(world, fact, said):
    assert said == "stays"
    had = given(world)
    fact.learn(world)
    work_off()
    joins = isinstance(fact, Joins)
    assert given(world) == ([fact.after] if joins else had)
    assert not is_closed(world)


def test_what_was_begun_leaves_out_what_is_forbidden_by_then_when_it_is_opened_anew(
    world, client_for
):
    send(world)
    (mine,) = world.session.assigned.filter(child=world.cast.child)
    mark_started([mine], timezone.now())
    page = reverse("program:follow", args=[world.cast.child.public_id, mine.public_id])
    family = client_for(world.cast.guardian)
    assert family.get(page).context["data"]["forbidden"] == []
    Recalled().learn(world)
    assert family.get(page).context["data"]["forbidden"] == ["p0s0"]


def told(world, fact, said):
    send(world)
    fact.learn(world)
    mails = OutgoingMail.objects.filter(to=world.cast.coach.email).count()
    work_off()
    assert bool(mails) is ("by mail at once" in said)
    tags = [finding.word for finding in queue_of(world.cast.coach, MONDAY).findings]
    wanted = re.findall(r'"(\w+)"', said)
    assert set(wanted) <= set(tags)
    assert wanted or not set(tags) & {"changed", "hurts"}


CHECKS = {
    "draft": in_a_draft,
    "published, not begun": when_published,
    "begun": when_begun,
    "done": when_done,
    "a coach is told": told,
}


@pytest.mark.parametrize(("fact", "state", "said"), cells())
def test_what_the_document_says_is_so(world, fact, state, said):
    learnt = FACTS[fact]
    learnt.begin(world)
    work_off()
    CHECKS[state](world, learnt, said)


def test_every_fact_that_is_tried_stands_in_the_document():
    assert {fact for fact, *_ in cells()} == set(FACTS)
