"""More of everything in the own half of the club in `scene.py`, for tests that count."""

import datetime as dt

from athletes.changes import place
from athletes.models import Child, Invitation, User
from library.models import Exercise, Item, Lateral
from program.blocks.board_changes import record_change
from program.blocks.saved_templates import keep_session
from program.log.logbook import LogEntry, SlotEntry, write_log
from program.models import (
    Break,
    CheckChange,
    Override,
    Progression,
    Question,
    Refit,
    Resolution,
    Session,
    StandingDecision,
    StopReason,
)
from tests.support.consents import HEIGHTS, said
from tests.support.factories import (
    MONDAY,
    AssignedSlotFactory,
    BlockFactory,
    ChildFactory,
    CohortFactory,
    ExerciseFactory,
    ItemFactory,
    PartFactory,
    PathwayFactory,
    RevisionFactory,
    SessionFactory,
    SlotFactory,
    UserFactory,
)
from tests.support.pain import knee, report
from tests.support.scene import (
    NOW,
    TODAY,
    Half,
    Scene,
    asked_to_coach,
    assign,
    kept_beside,
    report_on,
    signed_in,
    spare_and_equip,
    told_officers,
    welfare_officer,
    write_session,
)


def grow(scene: Scene, times: int, tag: str) -> None:
    """Everything that any page lists, `times` more of each, for those who see the own half."""
    half, guardian = scene.own, scene.people["guardian"]
    for n in range(times):
        name = f"{tag}{n}"
        for person in scene.people.values():
            signed_in(person)
        chain = _library(half, name)
        _cohorts(scene, name)
        _plan(half, chain, name)
        child = ChildFactory(given_name=f"Kid{name}", cohort=half.cohort, guardian=guardian)
        _give_once(scene, child, chain)
        for each in (half.child, child):
            _history(scene, each, chain, name)
            _circumstances(scene, each, chain, name)
            _people(scene, each, name)
        slot = half.session.parts.first().slots.first()
        Override.objects.create(slot=slot, child=child, exercise=chain[1])
        for each in (half.child, child):
            StandingDecision.objects.create(
                child=each,
                cohort=half.cohort,
                place="home",
                written=chain[0],
                lasts="kit",
                set_at=NOW,
            )
        _changed_checks(scene, half, name)
        for person in scene.people.values():
            told_officers(person)
        welfare_officer(f"Officer {name}")
        _lengthen(half, chain, guardian)


def _changed_checks(scene: Scene, half: Half, name: str) -> None:
    """A limit that was moved for a while, a stop that went out, and an intent."""
    head = scene.people["head_coach"]
    moved = {"reason": f"The camp {name}.", "by": head, "at": NOW}
    CheckChange.objects.create(code="sets", most=5, ended_at=NOW, ended_by=head, **moved)
    StopReason.objects.create(session=half.session, code="rest_days", sentence=name, **moved)
    Progression.objects.create(
        block=half.session.block,
        session_name=half.session.name,
        exercise=ExerciseFactory(),
        kind="grow",
        start=5,
        step=1,
        top=9,
        at=NOW,
    )


def _library(half: Half, name: str) -> list[Exercise]:
    """A pathway of its own, the first one longer, and another revision of an exercise."""
    chain = [
        ExerciseFactory(
            revision__name=f"Exercise {name} {place}",
            revision__needs=[(f"a seat {name}", [f"seat-{name}", f"stool-{name}"])],
        )
        for place in range(4)
    ]
    pathway = PathwayFactory(chain=chain[:3])
    Lateral.between(pathway, chain[2], chain[3]).save()
    on_the_first = ExerciseFactory(revision__name=f"Further {name}")
    half.pathway.steps.create(
        easier=half.chain[0], harder=on_the_first, change="Deeper.", ready="Eight calm ones."
    )
    first = half.chain[0]
    RevisionFactory(exercise=first, number=first.revisions.count() + 1, stop=f"Stop {name}.")
    return chain


def _cohorts(scene: Scene, name: str) -> None:
    people = scene.people
    cohort = CohortFactory(name=f"Cohort {name}", coached_by=[people["coach"]])
    cohort.venue_items.set([ItemFactory(slug=f"cone-{name}")])
    SessionFactory(block=BlockFactory(cohort=cohort), name=f"There {name}", date=TODAY)
    for role in ("head_coach", "coach"):
        Invitation.objects.invite(
            f"{role}{name}@example.org", "coach", invited_by=people[role], cohort=cohort
        )

    asked_to_coach(people["coach"])


def _plan(half: Half, chain: list[Exercise], name: str) -> None:
    """The session gets a part more, the block a session more, the cohort a block more."""
    position = half.session.parts.count()
    part = PartFactory(session=half.session, position=position, name=f"Part {name}")
    for place_in_part in range(2):
        SlotFactory(part=part, position=place_in_part, exercise=chain[place_in_part])
    write_session(half.session.block, f"Written {name}", chain)
    coach = half.cohort.coaches.get()
    Break.objects.create(cohort=half.cohort, name=f"Away {name}", first=TODAY, last=TODAY)
    whole = Session.objects.with_slots().get(pk=half.session.pk)
    keep_session(whole, f"Kept {name}", coach)
    record_change(half.session.block, f"Done {name}.", coach, NOW)
    write_session(BlockFactory(cohort=half.cohort, name=f"Block {name}"), f"Else {name}", chain)


def _lengthen(half: Half, chain: list[Exercise], guardian: User) -> None:
    """Today's session of the child: longer, and with one more log that came too late."""
    AssignedSlotFactory(
        assigned_session=half.assigned,
        position=half.assigned.slots.count(),
        revision=chain[0].current,
        easier_revision=chain[1].current,
        easier_amount=4,
    )
    kept_beside(half.assigned, guardian)


def _history(scene: Scene, child: Child, chain: list[Exercise], name: str) -> None:
    """What a child did, what hurt, what was asked, and what a coach made of it."""
    guardian, coach = scene.people["guardian"], scene.people["coach"]
    block = scene.own.session.block
    assigned = assign(block, child, chain, MONDAY, f"Monday {name}")
    slots = list(assigned.slots.all())
    # An elbow, which nothing here loads, so that what is published stays open.
    pain = knee(region="elbow", side="right", note="On landing.")
    results = tuple(SlotEntry(slot, "some", amount=4) for slot in slots)
    entry = LogEntry("some", effort=9, minutes=20, note="Hard.", results=results)
    report(assigned, pain, guardian, NOW)
    write_log(assigned, entry, by=guardian, now=NOW, seen=f"{assigned.fingerprint}|")
    assign(block, child, chain, MONDAY + dt.timedelta(days=1), f"Quiet {name}")
    assign(block, child, chain, TODAY, f"Today too {name}")
    Question.objects.create(
        child=child,
        assigned_session=scene.own.assigned if child == scene.own.child else assigned,
        exercise=chain[0],
        upload=f"{len(name):032x}.jpg",
        text=f"How deep {name}?",
        asked_at=NOW,
        asked_by=guardian,
    )
    Resolution.objects.create(
        child=child, finding=f"effort-{name}", action="seen", sentence="Seen.", by=coach, at=NOW
    )
    Refit.objects.create(child=child, what="kit", at=NOW, changed=1, waiting=1, withdrawn=0)
    report_on(BlockFactory(cohort=scene.own.cohort), child, sent_at=NOW, sent_by=coach)


def _give_once(scene: Scene, child: Child, chain: list[Exercise]) -> None:
    """What a child has once: a kit, the agreement to be measured, a note from the hall."""
    spare_and_equip(child, chain, chain[0].steps_up.get().pathway, scene.people["coach"])
    said(child, scene.people["guardian"], HEIGHTS)
    report_on(scene.own.session.block, child)
    out = Session.objects.get(pk=scene.own.ids["session_out"])
    out.attendance.create(child=child, presence="there", said_at=NOW)


def _circumstances(scene: Scene, child: Child, chain: list[Exercise], name: str) -> None:
    coach = scene.people["coach"]
    # All that its sessions need: what it may not do would be closed, and its pages be others.
    child.home_kit.items.set(Item.objects.all())
    for exercise in chain[:2]:
        place(child, chain[0].steps_up.get().pathway, exercise, coach, "Seen.")
    child.home_kit.items.add(ItemFactory(slug=f"cushion-{name}"))
    count = child.restrictions.count()
    child.restrictions.create(
        region="thigh",
        side="left",
        kind="no_landing",
        start=TODAY + dt.timedelta(days=20 * count),
        until=TODAY + dt.timedelta(days=20 * count + 9),
        set_by=coach,
    )
    was = child.way_back_steps.count()
    region = ("elbow", "shoulder", "wrist_hand", "upper_back", "head_neck")[was % 5]
    child.way_back_steps.create(
        region=region, side="left", step="half", since=TODAY - dt.timedelta(days=was), set_by=coach
    )
    day = MONDAY - dt.timedelta(days=100 * (child.growth_measurements.count() + 1))
    child.growth_measurements.create(on=day, height=138, measured_by=coach)


def _people(scene: Scene, child: Child, name: str) -> None:
    """Another guardian, let in by the first one, another cohort that ended, another invitation."""
    tag = f"{name}{child.pk}"
    came = UserFactory(name=f"Parent {tag}")
    child.guardianships.create(guardian=came)
    invited = _invited_long_ago(scene, child, came.email)
    Invitation.objects.filter(pk=invited.pk).update(used_at=NOW, accepted_by=came)
    child.enrolments.create(cohort=CohortFactory(name=f"Past {tag}"), start=MONDAY, end=MONDAY)
    _invited_long_ago(scene, child, f"gran{tag}@example.org")


def _invited_long_ago(scene: Scene, child: Child, email: str) -> Invitation:
    """So that it counts for no day's limit."""
    guardian = scene.people["guardian"]
    invited, _ = Invitation.objects.invite(email, "guardian", invited_by=guardian, child=child)
    Invitation.objects.filter(pk=invited.pk).update(created_at=NOW - dt.timedelta(days=3))
    return invited
