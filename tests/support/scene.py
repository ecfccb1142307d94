"""A small club with two halves that know nothing of each other, for tests that visit every address.

The half of the named cast's `coach` and `child` is `own`; the half of `other_coach` and
`other_child` is `foreign`. Both hold the same things made the same way, so that whatever works in
the one would work in the other.
"""

import datetime as dt
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from allauth.mfa.recovery_codes.internal.auth import RecoveryCodes
from allauth.mfa.totp.internal.auth import TOTP, generate_totp_secret
from django.core.files.base import ContentFile
from django.db import transaction
from django.test import Client

from athletes.importing.drafts import draft_of
from athletes.mailing import stop_token
from athletes.models import (
    Child,
    Cohort,
    GrowthMeasurement,
    HealthView,
    HomeKit,
    Invitation,
    Restriction,
    RoleChange,
    SignIn,
    User,
)
from athletes.models.imports import ImportDraft
from library.figures import movement
from library.models import Exercise, Lateral, Pathway
from library.shared.uploads import Kind, Upload
from library.shared.uploads.keeping import kept, uploads
from program.blocks.board_changes import record_change
from program.blocks.saved_templates import keep_session
from program.family.calendar_feed import make_feed
from program.log.logbook import LogEntry, SlotEntry, write_log
from program.models import (
    AssignedSession,
    Break,
    CheckChange,
    ChildCopy,
    Concern,
    Erasure,
    Override,
    Progression,
    Question,
    ReadByFamily,
    Recall,
    Report,
    Resolution,
    Session,
    StandingDecision,
    StopReason,
    Submission,
    WelfareOfficer,
)
from program.privacy.copies import keep_file
from tests.support.beats import a_worker_beats
from tests.support.cast import named_cast
from tests.support.consents import HEIGHTS, said
from tests.support.factories import (
    MONDAY,
    AssignedSessionFactory,
    AssignedSlotFactory,
    BlockFactory,
    ChildFactory,
    CohortFactory,
    ExerciseFactory,
    ItemFactory,
    PartFactory,
    PathwayFactory,
    SessionFactory,
    SlotFactory,
    UserFactory,
)
from tests.support.pain import knee, report
from tests.support.pictures import photo
from tests.support.signing_in import signed_in

TODAY = MONDAY + dt.timedelta(days=2)
NOW = dt.datetime.combine(TODAY, dt.time(18, 30), ZoneInfo("Europe/London"))
ROLES = ("head_coach", "coach", "guardian", "athlete", "welfare_officer")
"""The last is no role of an account: a grown-up without a child here, who was named."""
ANONYMOUS = "anonymous"
FIGURE = "free-squat"

HURT, FELL, HEIGHT = "At the bottom.", "Fell off the wall bars.", 138.7
"""What is known of either child's health, and stands in nothing else: a note on what hurt, one on
what is spared, and a height."""
SPARED = [{"code": "restricted", "region": "thigh", "side": "left", "kind": "no_loading"}]

MISSING: dict[type, object] = {
    int: 987_654_321,
    uuid.UUID: uuid.UUID("00000000-0000-4000-8000-000000000000"),
    str: "no-such-thing",
}


@dataclass
class Half:
    """One side of the club: its people, and an id of each kind of thing it holds.

    `ids` has the things that one person owns under their role: `("draft", "coach")`.
    """

    cohort: Cohort
    second_cohort: Cohort
    child: Child
    session: Session
    assigned: AssignedSession
    pathway: Pathway
    chain: list[Exercise]
    aside: Exercise
    ids: dict[Any, Any] = field(default_factory=dict)


@dataclass
class Scene:
    people: dict[str, User]
    own: Half
    foreign: Half
    cookies: dict[str, str]
    other_pattern: Exercise
    told_of_nothing: dict[Any, Any] = field(default_factory=dict)

    def client(self, role: str, **options: Any) -> Client:
        """A browser of that role, fresh but for the cookie of its sign-in."""
        client = Client(raise_request_exception=False, **options)
        if role in self.cookies:
            client.cookies["sessionid"] = self.cookies[role]
        return client

    def value(self, kind: str, which: str, role: str) -> Any:
        """The part of an address that names an `own`, `foreign` or `missing` thing of a kind."""
        own = _id(self.own, kind, role)
        if which == "missing":
            return MISSING[type(own)]
        return _id(self.foreign, kind, role) if which == "foreign" else own

    def has_foreign(self, kind: str) -> bool:
        """Whether the other half has another such thing; some are the same for all."""
        return self.value(kind, "own", "coach") != self.value(kind, "foreign", "coach")


def _id(half: Half, kind: str, role: str) -> Any:
    """A thing of the half; one that a person owns is the coach's for whoever has none."""
    return half.ids.get((kind, role)) or half.ids.get(kind) or half.ids[kind, "coach"]


@contextmanager
def scene() -> Iterator[Scene]:
    """The club on a Wednesday evening of its first week; all of it is taken back at the end."""
    with pytest.MonkeyPatch.context() as patch, transaction.atomic():
        patch.setattr("django.utils.timezone.now", lambda: NOW)
        yield _made()
        transaction.set_rollback(True)


def _made() -> Scene:
    a_worker_beats()
    cast = named_cast()
    officers = [welfare_officer("Officer One"), welfare_officer("Officer Two")]
    named = {"welfare_officer": officers[0]}
    people = {role: named.get(role) or getattr(cast, role) for role in ROLES}
    own = make_half("own", cast.cohort, cast.child, cast.coach, cast.guardian)
    # Unlike any word of a page, so that it can be looked for.
    Child.objects.filter(pk=cast.other_child.pk).update(given_name="Strangerschild")
    cast.other_child.refresh_from_db()
    foreign = make_half(
        "stranger", cast.other_cohort, cast.other_child, cast.other_coach, cast.other_guardian
    )
    own.ids["app"], foreign.ids["app"] = with_app(cast.athlete), with_app(cast.nobody)
    own.ids["with_second_factor"] = foreign.ids["with_second_factor"] = cast.athlete.pk
    own_drafts(own, people)
    own_copies(own, people)
    own.ids |= {("concern", role): told_officers(person) for role, person in people.items()}
    own.ids["concern", "welfare_officer"] = own.ids["concern", "guardian"]
    foreign.ids["concern"] = told_officers(cast.other_guardian)
    foreign.ids["copy"] = _copy(foreign.child, cast.other_guardian)
    foreign.ids["draft"] = _draft(cast.other_coach)
    text = (movement.FOLDER / f"{FIGURE}.toml").read_text()
    drawn = ExerciseFactory(slug="drawn-by-a-coach", revision__movement=text)
    filmed = ExerciseFactory(
        slug="shown-by-a-coach",
        revision__picture=uploads().save(f"{uuid.uuid4().hex}.jpg", ContentFile(photo())),
        revision__picture_words="Feet flat.",
    )
    calendar = make_feed(cast.guardian, NOW).key
    whole = Session.objects.with_slots().get(pk=own.session.pk)
    template = keep_session(whole, "Kept", cast.coach).pk
    invited, _ = _invitation(own, "coach", cast.head_coach)
    token = invited.agree(cast.coach, NOW)
    changed, proposed = _changed_check(cast.head_coach), _proposed_check()
    for half in (own, foreign):
        invitation, _ = _invitation(half, "coach", cast.coach)
        half.ids |= {
            "template": template,
            "invitation": invitation.pk,
            "token": token,
            "stop_token": stop_token(cast.guardian),
            "figure": FIGURE,
            "own_figure": drawn.slug,
            "own_figure_number": drawn.current.number,
            "check": "sets",
            "changed_check": changed,
            "proposed_check": proposed,
            "own_picture": filmed.slug,
            "own_picture_number": filmed.current.number,
            "calendar": calendar,
            "any_pathway": own.pathway.slug,
        }
    # On which nobody stands yet.
    PathwayFactory(slug="empty-pathway", chain=[ExerciseFactory(), ExerciseFactory()])
    foreign.child.placements.create(
        pathway=own.pathway, exercise=own.chain[0], placed_at=NOW, is_seen=False
    )
    for half in (own, foreign):
        half.ids["person"] = UserFactory(role="guardian").pk
        half.ids["role_change"] = asked_to_coach(cast.coach)
    foreign.ids["sign_in"] = sign_in_of(cast.nobody)
    own.ids |= {("sign_in", role): sign_in_of(person) for role, person in people.items()}
    browsers = {role: signed_in(person) for role, person in people.items()}
    cookies = {role: client.cookies["sessionid"].value for role, client in browsers.items()}
    return Scene(people, own, foreign, cookies, ExerciseFactory(revision__pattern="hinge"))


def with_app(person: User) -> int:
    """Gives an app and recovery codes; the app's id is returned."""
    RecoveryCodes.activate(person)
    return TOTP.activate(person, generate_totp_secret()).instance.pk


def sign_in_of(person: User) -> int:
    signed_in(person)
    return SignIn.objects.filter(user=person).latest("pk").pk


def make_half(name: str, cohort: Cohort, child: Child, coach: User, guardian: User) -> Half:
    """A pathway, a block with a written and two published sessions, a log, and a circumstance of
    each kind."""
    seat = [("a solid seat", ["dining-chair"])]
    chain = [ExerciseFactory(slug=f"{name}-exercise-{n}", revision__needs=seat) for n in range(4)]
    pathway = PathwayFactory(slug=f"{name}-pathway", chain=chain[:3])
    lateral = Lateral.between(pathway, chain[2], chain[3])
    lateral.save()
    aside = ExerciseFactory(slug=f"{name}-draft", revision__status="draft")
    block = BlockFactory(cohort=cohort, name=f"{name} block".capitalize())
    session = write_session(block, f"{name} session".capitalize(), chain)
    assigned = assign(block, child, chain, TODAY, f"{name} today".capitalize())
    log_with_pain(assign(block, child, chain, MONDAY, f"{name} Monday".capitalize()), guardian)
    half = Half(
        cohort=cohort,
        second_cohort=CohortFactory(name=f"{name} second".capitalize(), coached_by=[coach]),
        child=child,
        session=session,
        assigned=assigned,
        pathway=pathway,
        chain=chain,
        aside=aside,
    )
    looked_at(child, coach)
    part = session.parts.first()
    slot = part.slots.first()
    Override.objects.create(slot=slot, child=child, exercise=chain[1], note="Calmly.", set_by=coach)
    Progression.objects.create(
        block=block, session_name=session.name, exercise=chain[0], kind="stay", start=5, at=NOW
    )
    StopReason.objects.create(
        session=session,
        code="rest_days",
        sentence="No day off.",
        reason="A camp.",
        by=coach,
        at=NOW,
    )
    invitation, _ = _invitation(half, "guardian", coach)
    over = BlockFactory(cohort=cohort)
    child.session_news.create(session=session, person=guardian, due_at=NOW)
    read_a_report(child, guardian)
    child.refits.create(what="kit", at=NOW, changed=1, waiting=0, withdrawn=0)
    in_a_week = TODAY + dt.timedelta(days=7)
    half.ids |= {
        "block": block.pk,
        "draft_block": BlockFactory(cohort=cohort, name=f"{name} plan".capitalize()).pk,
        "session": session.pk,
        "part": part.pk,
        "slot": slot.pk,
        "child": child.public_id,
        "assigned": assigned.public_id,
        "published_session": assigned.session_id,
        "session_called_off": called_off(assign(over, child, chain, in_a_week, f"{name} off")),
        "session_out": sent_out(write_session(block, f"{name} out".capitalize(), chain), child),
        "week": 1,
        "board_change": done_on_the_board(session, coach),
        "break": Break.objects.create(
            cohort=cohort,
            name=f"{name} days away".capitalize(),
            first=session.date,
            last=session.date,
            set_by=coach,
        ).pk,
        "kept": kept_beside(assigned, guardian),
        "resolution": answered(child, coach),
        "standing_decision": decided(child, half, coach),
        "height": measured(child, guardian),
        "report": report_on(block, child),
        "waiting_block": waiting_block(cohort, child),
        "erasure": asked_to_be_erased(name),
        "sent_block": over.pk,
        "sent_report": report_on(over, child, sent_at=NOW, sent_by=coach),
        "cohort": cohort.pk,
        "enrolment": child.enrolments.get().pk,
        "guardianship": child.guardianships.get().pk,
        "family_invitation": invitation.pk,
        "restriction": spare_and_equip(child, chain, pathway, coach),
        "exercise": chain[0].slug,
        "recalled_exercise": recalled(coach),
        "draft_exercise": aside.slug,
        "pathway": pathway.slug,
        "step": pathway.steps.first().pk,
        "lateral": lateral.pk,
        "question": asked_with_photo(assigned, chain[1], guardian),
        "note": chain[0].notes.create(text="Shoes off.", kept_at=NOW, kept_by_name="Coach").pk,
    }
    return half


def decided(child: Child, half: Half, coach: User) -> int:
    decision = StandingDecision.objects.create(
        child=child,
        cohort=half.cohort,
        place="home",
        written=half.chain[0],
        exercise=half.chain[1],
        lasts="kit",
        note="Rather on carpet.",
        set_by=coach,
        set_at=NOW,
    )
    return decision.pk


def write_session(block: Any, name: str, chain: list[Exercise]) -> Session:
    """Two parts of two slots each."""
    session = SessionFactory(block=block, name=name, date=TODAY + dt.timedelta(days=2))
    for position in range(2):
        part = PartFactory(session=session, position=position, name=f"Part {position + 1}")
        for place in range(2):
            SlotFactory(part=part, position=place, exercise=chain[place])
    return session


def assign(
    block: Any, child: Child, chain: list[Exercise], day: dt.date, name: str
) -> AssignedSession:
    session = SessionFactory(block=block, name=name, date=day)
    assigned = AssignedSessionFactory(session=session, child=child, name=name, date=day)
    for place, exercise in enumerate(chain[1:3]):
        AssignedSlotFactory(
            assigned_session=assigned,
            position=place,
            revision=exercise.current,
            easier_revision=chain[0].current,
            easier_amount=5,
            outcome="easier",
            reasons=SPARED,
        )
    return assigned


def sent_out(session: Session, child: Child) -> int:
    """Published to the child, which had been noted in the hall before; its key."""
    day, name = session.date, session.name
    AssignedSessionFactory(session=session, child=child, name=name, date=day)
    Session.objects.filter(pk=session.pk).update(published_at=NOW, published_version=1)
    session.attendance.create(child=child, presence="there", said_at=NOW)
    return session.pk


def called_off(assigned: AssignedSession) -> int:
    """The key of its session, which does not take place."""
    off = Session.objects.filter(pk=assigned.session_id)
    off.update(published_at=NOW, published_version=1, called_off_at=NOW, called_off_because="Ice.")
    return assigned.session_id


def log_with_pain(assigned: AssignedSession, by: User) -> None:
    slot = assigned.slots.first()
    # An elbow, which nothing here loads: what the club has published stays open to its visitors.
    pain = knee(region="elbow", level=3, note=HURT)
    entry = LogEntry("some", effort=6, minutes=18, results=(SlotEntry(slot, "some", amount=5),))
    seen = f"{assigned.fingerprint}|"
    now = NOW - dt.timedelta(days=1)
    report(assigned, pain, by, now)
    write_log(assigned, entry, by=by, now=now, seen=seen)


def done_on_the_board(session: Session, by: User) -> int:
    """A move of the session on its board, whose id is returned."""
    day = session.date
    moved = [[session.pk, str(day - dt.timedelta(days=1)), str(day)]]
    return record_change(
        session.block, "It was moved.", by, NOW - dt.timedelta(hours=1), moved=moved
    ).pk


def kept_beside(assigned: AssignedSession, by: User) -> uuid.UUID:
    """A log from a phone that came after another one."""
    return Submission.objects.create(
        id=uuid.uuid4(),
        child=assigned.child,
        assigned_session=assigned,
        kind="log",
        state="conflict",
        payload={"state": "done", "effort": "5"},
        by=by,
        received_at=NOW,
    ).pk


def answered(child: Child, by: User) -> int:
    """An answer in the coach's queue, whose id is returned."""
    resolution = Resolution.objects.create(
        child=child, finding="effort-1", action="seen", sentence="Seen.", by=by, at=NOW
    )
    return resolution.pk


def asked_with_photo(assigned: AssignedSession, exercise: Exercise, by: User) -> uuid.UUID:
    """A question nobody has answered, whose id in addresses is returned."""
    with kept(Upload(Kind.PHOTO, b"not shown, only handed out", 4, 3)) as name:
        question = Question.objects.create(
            child=assigned.child,
            assigned_session=assigned,
            exercise=exercise,
            text="Is this low enough?",
            upload=name,
            asked_at=NOW - dt.timedelta(hours=1),
            asked_by=by,
        )
    return question.public_id


def measured(child: Child, by: User) -> int:
    """A height, agreed to by a guardian; its id is returned."""
    said(child, by, HEIGHTS)
    Child.objects.filter(pk=child.pk).update(growing_fast_until=TODAY + dt.timedelta(days=30))
    day = TODAY - dt.timedelta(days=30)
    return GrowthMeasurement.objects.create(child=child, on=day, height=HEIGHT, measured_by=by).pk


def looked_at(child: Child, by: User) -> None:
    yesterday = NOW - dt.timedelta(days=1)
    HealthView.objects.create(person=by, child=child, kind=HealthView.Kind.GROWTH, at=yesterday)


def report_on(block: Any, child: Child, **sent: Any) -> uuid.UUID:
    """A written report, one paragraph of it the coach's."""
    written = {
        "practised": "Squats, twice.",
        "paths": [{"name": "Squat", "stops": [["Sit", 0], ["Squat", 1]], "began": "Sit"}],
    }
    written["paths"][0]["here"] = "Squat"
    return Report.objects.create(
        block=block, child=child, written=written, generated_at=NOW, own_ahead="Hops.", **sent
    ).public_id


def read_a_report(child: Child, by: User) -> None:
    report = Report.objects.create(block=BlockFactory(), child=child, generated_at=NOW, sent_at=NOW)
    ReadByFamily.objects.create(person=by, child=child, report=report, as_of=NOW)


def waiting_block(cohort: Cohort, child: Child) -> int:
    """A block whose report waits to be written."""
    block = BlockFactory(cohort=cohort)
    Report.objects.create(block=block, child=child)
    return block.pk


def spare_and_equip(child: Child, chain: list[Exercise], pathway: Pathway, by: User) -> int:
    """A restriction, whose id is returned, a kit, sport elsewhere and a placement that nobody has
    seen."""
    said = {"said_at": NOW, "said_by": by}
    child.sport_elsewhere.create(since=MONDAY, hours=6, club=[2, 4], matches=[6], **said)
    child.different_weeks.create(week=MONDAY, how="less", **said)
    kit = HomeKit.objects.create(child=child, answered_by=by)
    kit.items.set([ItemFactory(slug="dining-chair")])
    child.placements.create(
        pathway=pathway, exercise=chain[0], placed_at=NOW, placed_by=by, is_seen=False
    )
    restriction = Restriction.objects.create(
        child=child,
        region="thigh",
        side="left",
        kind="no_loading",
        start=TODAY - dt.timedelta(days=3),
        until=TODAY + dt.timedelta(days=9),
        note=FELL,
        set_by=by,
    )
    return restriction.pk


def _changed_check(by: User) -> str:
    """A check that the program has moved, by its code."""
    reason = "We meet for an hour."
    change = CheckChange.objects.create(code="length", most=20, reason=reason, by=by, at=NOW)
    return change.code


def recalled(by: User) -> str:
    """An exercise that was taken back for everybody, by its slug."""
    exercise = ExerciseFactory()
    Recall.objects.create(exercise=exercise, reason="Two twisted ankles.", by=by, at=NOW)
    return exercise.slug


def _proposed_check() -> str:
    """A stop that a head coach who has left wanted off, by its code."""
    reason = "We place on paper."
    return CheckChange.objects.create(
        code="landing_first", is_off=True, reason=reason, at=NOW, awaits_second=True
    ).code


def _invitation(half: Half, role: str, by: User) -> tuple[Invitation, str]:
    about = {"child": half.child} if role == "guardian" else {"cohort": half.cohort}
    email = f"{half.session.name.split()[0].lower()}.{role}@example.org"
    return Invitation.objects.invite(email, role, invited_by=by, **about)


def welfare_officer(name: str) -> User:
    person: User = UserFactory(name=name)
    WelfareOfficer.objects.create(person=person, named_at=NOW, in_force_since=NOW)
    return person


def asked_to_coach(by: User) -> int:
    person = UserFactory(role="guardian")
    return RoleChange.objects.create(
        person=person, was="guardian", role="coach", asked_by=by, asked_at=NOW
    ).pk


def told_officers(by: User) -> uuid.UUID:
    return Concern.objects.create(
        about="Somebody", text="Too rough.", by=by, reporter=by.name, reported_at=NOW
    ).public_id


def own_copies(half: Half, people: dict[str, User]) -> None:
    """A copy of everything is for whoever asked for it alone."""
    for role in ("head_coach", "guardian", "coach", "athlete"):
        half.ids["copy", role] = _copy(half.child, people[role])


def _copy(child: Child, asked_by: User) -> uuid.UUID:
    copy = ChildCopy.objects.create(child=child, asked_by=asked_by, asked_at=NOW, ready_at=NOW)
    keep_file(copy, b"PK")
    return copy.public_id


def asked_to_be_erased(name: str) -> uuid.UUID:
    """Of a child that is in no cohort any more, by a family that has left."""
    child = ChildFactory(given_name=f"{name}leaver".capitalize())
    return Erasure.objects.create(child=child, why="asked", asked_at=NOW).public_id


def own_drafts(half: Half, people: dict[str, User]) -> None:
    """A file read but not taken over is its owner's alone, the head coach's too."""
    for role in ("head_coach", "coach"):
        half.ids["draft", role] = _draft(people[role])


def _draft(owner: User) -> uuid.UUID:
    cohort = Cohort.objects.visible_to(owner).first()
    name = owner.name.split()[0]
    content = f"given name;initial;birth date\n{name};K;2015-03-04\n".encode()
    draft: ImportDraft = draft_of(content, cohort, owner, NOW)
    return draft.public_id
