"""Six coaches who write on one block at once, each whatever the board and the builder let them do,
as those pages send it."""

import datetime as dt
import http.client
import random
import time
import uuid
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from urllib.parse import urlencode

from django.db import connection
from django.urls import reverse
from django.utils import timezone

from athletes.models import Child, User
from athletes.session_store import SessionStore
from library.models import Exercise
from program.blocks.clear_break import preview_clearing
from program.blocks.copy_forward import CopyRequest, Taken, preview
from program.blocks.forms.block import BlockForm
from program.blocks.queries import sessions_of
from program.build import undoing
from program.build.forms import PartForm, SessionForm, SlotForm
from program.common.edit_conflicts import ConflictAwareForm, mark_of
from program.common.library_snapshot import library_snapshot
from program.engine.breaks import InBreak
from program.engine.copy_forward import Change
from program.models import (
    Block,
    BoardChange,
    Break,
    Override,
    Part,
    PartKind,
    Progression,
    Session,
    Slot,
    Template,
)
from program.models.pauses import PAUSES
from tests.faults.web import TOKEN, Site, session_of

WRITERS = 6
NEAR = 2
"""Sessions among which everybody writes, so that they meet."""

MOST_SESSIONS = 40
"""In the block: beyond, what is there is taken out before more is made."""

MOST_SLOTS = 15
"""In a session."""

type Fields = Mapping[str, object]
type Sent = tuple[str, Fields, bool]
"""To which address, what, and whether by htmx."""


class NothingThere(Exception):
    """There is nothing in the block just now to which this could be done."""


def storm(requests: int, environ: Mapping[str, str], seed: int = 7) -> list[str]:
    """So many requests of six writers: none is answered with a fault, and the database has to stop
    nobody who waits for somebody who waits for them."""
    site, block = Site(environ), _block()
    writers = [Writer(site, each, block.pk, seed + n) for n, each in enumerate(_coaches(block))]
    stopped = _deadlocks()
    with site.served():
        _all_at_once(writers, requests)
    stopped = _deadlocks() - stopped
    answers = sum((each.answers for each in writers), Counter[tuple[str, int]]())
    _say(answers, stopped)
    found = [
        f"{name}: {count} answered with {status or 'nothing'}"
        for (name, status), count in sorted(answers.items())
        if status >= 500 or not status
    ]
    return found + ([f"{stopped} deadlocks in the database"] if stopped else [])


def _all_at_once(writers: "list[Writer]", requests: int) -> None:
    left = iter(range(requests))  # shared: `next` of it is one step
    with ThreadPoolExecutor(len(writers)) as pool:
        writing = [pool.submit(each.write_while, left) for each in writers]
    for each in writing:
        each.result()  # a writer that broke off is no storm without findings


def _say(answers: Counter[tuple[str, int]], stopped: int) -> None:
    statuses = Counter[int]()
    for (_, status), count in answers.items():
        statuses[status] += count
    told = ", ".join(f"{count} of {status}" for status, count in sorted(statuses.items()))
    print(f"  {sum(statuses.values())} requests: {told}; {stopped} deadlocks", flush=True)


def _deadlocks() -> int:
    """That this database has ended by itself, of all who have told it by now."""
    time.sleep(2)  # a backend tells at most once a second
    with connection.cursor() as cursor:
        cursor.execute("SELECT deadlocks FROM pg_stat_database WHERE datname = current_database()")
        return cursor.fetchone()[0]


def _block() -> Block:
    """The one that runs today with the most in it."""
    today = timezone.localdate()
    running = Block.objects.filter(starts_on__lte=today, ends_on__gte=today)
    return max(running, key=lambda block: block.sessions.count())


def _coaches(block: Block) -> list[User]:
    people = [
        User.objects.create(email=f"writer{n}@example.org", name=f"Writer {n}", role="coach")
        for n in range(1, WRITERS + 1)
    ]
    block.cohort.coaches.add(*people)
    return people


class Writer:
    """A coach at their screen: looks at what is there, and sends what the page would send."""

    def __init__(self, site: Site, person: User, block: int, seed: int) -> None:
        self.person, self.chance = person, random.Random(seed)
        self.answers: Counter[tuple[str, int]] = Counter()
        self._port, self._block_id, self._key = site.port, block, session_of(person)

    def write_while(self, left: Iterator[int]) -> None:
        try:
            for _ in left:
                self.write()
        finally:
            connection.close()

    def write(self) -> None:
        """One of all there is to do, and what it was answered with."""
        while True:
            act = self.chance.choice(ACTS)
            try:
                address, fields, htmx = act(self)
            except NothingThere:
                continue
            self.answers[act.__name__, self._post(address, fields, htmx=htmx)] += 1
            return

    def _post(self, address: str, fields: Fields, *, htmx: bool) -> int:
        line = http.client.HTTPConnection("127.0.0.1", self._port, timeout=60)
        headers = {
            "Cookie": f"sessionid={self._key}; csrftoken={TOKEN}",
            "X-CSRFToken": TOKEN,
            "Content-Type": "application/x-www-form-urlencoded",
        }
        try:
            line.request("POST", address, urlencode(fields, doseq=True), headers | _htmx(htmx))
            answer = line.getresponse()
            answer.read()
            return answer.status
        except (OSError, http.client.HTTPException):
            return 0
        finally:
            line.close()

    # What is there

    def block(self) -> Block:
        return Block.objects.get(pk=self._block_id)

    def session(self) -> Session:
        """One of the few at which everybody is."""
        return self.one_of(self._near())

    def _near(self) -> list[Session]:
        ahead = Session.objects.filter(block=self._block_id, date__gte=timezone.localdate())
        return list(ahead.select_related("block__cohort").order_by("pk")[:NEAR])

    def any_session(self) -> Session:
        """Of the whole block: what is copied lies further on."""
        everywhere = Session.objects.filter(block=self._block_id, published_at=None)
        return self.one_of(everywhere.select_related("block__cohort").order_by("-pk")[:NEAR])

    def part(self) -> Part:
        parts = Part.objects.filter(session__in=[each.pk for each in self._near()])
        return self.one_of(parts.select_related("session__block").order_by("pk"))

    def slot(self) -> Slot:
        slots = Slot.objects.filter(part__session__in=[each.pk for each in self._near()])
        return self.one_of(slots.select_related("part__session__block", "exercise__current"))

    def child(self) -> Child:
        cohort = self.block().cohort
        return self.one_of(Child.objects.enrolled_in(cohort, timezone.localdate()).order_by("pk"))

    def one_of[Thing](self, things: Iterable[Thing]) -> Thing:
        there = list(things)
        if not there:
            raise NothingThere
        return self.chance.choice(there)

    def room_in_the_block(self) -> None:
        if self.is_full():
            raise NothingThere

    def is_full(self) -> bool:
        return Session.objects.filter(block=self._block_id).count() > MOST_SESSIONS

    def room_in(self, session: int) -> None:
        if Slot.objects.filter(part__session=session).count() > MOST_SLOTS:
            raise NothingThere

    def a_day(self) -> dt.date:
        block = self.block()
        days = (block.ends_on - block.starts_on).days
        return block.starts_on + dt.timedelta(days=self.chance.randint(0, days))

    def edit(self) -> undoing.Edit:
        """Something that a page of the builder offers to undo."""
        session = self.session()
        return self.one_of(undoing.edits_of(SessionStore(self._key), session.pk))


def _htmx(is_htmx: bool) -> dict[str, str]:
    return {"HX-Request": "true"} if is_htmx else {}


def _once() -> dict[str, object]:
    return {"once": uuid.uuid4().hex}


def _shown(form: ConflictAwareForm, **changes: object) -> dict[str, object]:
    """What a form sends that was opened now, with these fields changed."""
    shown = {name: form[name].value() for name in form.fields}
    sent = {name: "" if value is None else value for name, value in shown.items()}
    return sent | dict(form.seen) | changes


def _url(name: str, *parts: object) -> str:
    return reverse(f"program:{name}", args=parts)


# In the builder


def adds_a_part(w: Writer) -> Sent:
    kind = w.chance.choice(list(PartKind.values))
    return _url("part_new", w.session().pk), _once() | {"kind": kind}, True


def adds_a_slot(w: Writer) -> Sent:
    part = w.part()
    w.room_in(part.session_id)
    exercise = w.one_of(Exercise.objects.published()[:20])
    return _url("slot_new", part.session_id, part.pk), _once() | {"exercise": exercise.pk}, True


def edits_a_slot(w: Writer) -> Sent:
    slot = w.slot()
    form = SlotForm(instance=slot, revision=slot.exercise.current)
    said = _shown(form, amount=w.chance.randint(4, 12), session_version=slot.part.session.version)
    return _url("slot", slot.part.session_id, slot.pk), said, True


def edits_a_part(w: Writer) -> Sent:
    part = w.part()
    said = _shown(PartForm(instance=part), rounds=w.chance.randint(1, 4))
    return _url("part", part.session_id, part.pk), said, True


def moves_a_slot(w: Writer) -> Sent:
    slot, way = w.slot(), w.chance.choice(["up", "down", ""])
    said = {"way": way} if way else {"part": w.one_of(slot.part.session.parts.all()).pk}
    return _url("slot_move", slot.part.session_id, slot.pk), said, True


def moves_a_part(w: Writer) -> Sent:
    part, said = w.part(), {"way": w.chance.choice(["up", "down"])}
    return _url("part_move", part.session_id, part.pk), said, True


def doubles_a_slot(w: Writer) -> Sent:
    slot = w.slot()
    w.room_in(slot.part.session_id)
    return _url("slot_duplicate", slot.part.session_id, slot.pk), _once(), True


def doubles_a_part(w: Writer) -> Sent:
    part = w.part()
    w.room_in(part.session_id)
    return _url("part_duplicate", part.session_id, part.pk), _once(), True


def takes_out_a_slot(w: Writer) -> Sent:
    slot = w.slot()
    return _url("slot_take_out", slot.part.session_id, slot.pk), {"version": slot.version}, True


def takes_out_a_part(w: Writer) -> Sent:
    part = w.part()
    said = {"session_version": part.session.version}
    return _url("part_take_out", part.session_id, part.pk), said, True


def undoes_an_edit(w: Writer) -> Sent:
    edit = w.edit()
    return _url("undo_edit", edit.session_id), {"edit": edit.key}, True


def edits_the_facts(w: Writer) -> Sent:
    session = w.session()
    form = SessionForm(session.block, instance=session)
    said = _shown(form, target_minutes=w.chance.randint(20, 40))
    return _url("session_facts", session.pk), said, True


def adds_a_kept_part(w: Writer) -> Sent:
    template, session = w.one_of(Template.objects.filter(kind="part")), w.session()
    w.room_in(session.pk)
    return _url("template", template.pk), _once() | {"session": session.pk}, False


def keeps_a_part(w: Writer) -> Sent:
    part = w.part()
    return _url("keep_part", part.session_id, part.pk), _once() | {"name": "Kept"}, False


# On the board


def makes_a_session(w: Writer) -> Sent:
    w.room_in_the_block()
    said = {"name": "Made", "date": w.a_day(), "place": "home", "target_minutes": 25, "note": ""}
    return _url("session_new", w.block().pk), _once() | said, False


def doubles_a_session(w: Writer) -> Sent:
    w.room_in_the_block()
    return _url("session_duplicate", w.session().pk), _once(), False


def takes_out_a_session(w: Writer) -> Sent:
    return _url("session_take_out", w.any_session().pk), {}, False


def moves_or_copies(w: Writer) -> Sent:
    verb = "move" if w.is_full() else w.chance.choice(["move", "copy"])
    session = w.any_session() if verb == "move" else w.session()
    order = f"{verb}:{session.pk}:{session.version}:{w.a_day()}"
    return _url("place", w.block().pk), _once() | {"do": order}, True


def takes_back(w: Writer) -> Sent:
    change = w.one_of(BoardChange.objects.filter(block=w.block(), undone_at=None)[:3])
    return _url("change_back", w.block().pk, change.pk), {}, True


def copies_a_week(w: Writer) -> Sent:
    block = w.block()
    w.room_in_the_block()
    sessions = sessions_of(block)
    week = block.week_of(w.one_of(sessions).date)
    to = w.chance.choice([n for n in range(1, block.weeks + 1) if n != week])
    asked = CopyRequest(week, None, (to,), change=Change.ROUND, taken=Taken.BESIDE)
    mark = preview(block, sessions, asked, library_snapshot()).mark
    said = {"week": week, "to": [to], "change": "round", "mark": mark}
    said |= {"pace": "more", "beyond": "stay", "taken": "beside"}
    return _url("carry", block.pk), _once() | said, False


def clears_a_break(w: Writer) -> Sent:
    block, way = w.block(), w.chance.choice(["later", "drop"])
    away = w.one_of(Break.objects.touching(block))
    sessions = list(block.sessions.order_by("date", "id"))
    mark = preview_clearing(block, away, InBreak(way), sessions).mark
    return _url("clear_break", block.pk, away.pk), _once() | {"way": way, "mark": mark}, False


def sets_a_break(w: Writer) -> Sent:
    block, day = w.block(), w.a_day()
    said = {"name": "Away", "first": day, "last": day, "cohort": block.cohort_id}
    return _url("breaks"), _once() | said, False


def takes_a_break_away(w: Writer) -> Sent:
    away = w.one_of(Break.objects.filter(cohort=w.block().cohort_id, set_by=w.person))
    return _url("break_away", away.pk), {}, False


def changes_the_block(w: Writer) -> Sent:
    block = w.block()
    form = BlockForm(w.person, instance=block)
    changed = {w.chance.choice(PAUSES): w.chance.randint(5, 60)}
    return _url("block_edit", block.pk), _shown(form, **changed), False


def keeps_the_block(w: Writer) -> Sent:
    return _url("keep_block", w.block().pk), _once() | {"name": "Kept"}, False


def begins_a_kept_session(w: Writer) -> Sent:
    template = w.one_of(Template.objects.filter(kind="session"))
    w.room_in_the_block()
    said = {"block": w.block().pk, "date": w.a_day()}
    return _url("template", template.pk), _once() | said, False


# Across the weeks


def means_an_exercise_to_grow(w: Writer) -> Sent:
    slot = w.slot()
    said = {"kind": "grow", "start": 4, "step": 1, "every": 1, "top": 9}
    return _url("intent", slot.part.session_id, slot.pk), said, False


def ends_a_progression(w: Writer) -> Sent:
    meant = Progression.objects.filter(block=w.block()).values("exercise")
    slots = Slot.objects.filter(part__session__block=w.block(), exercise__in=meant)
    slot = w.one_of(slots.select_related("part")[:10])
    return _url("intent_end", slot.part.session_id, slot.pk), {}, False


def lets_the_drafts_follow(w: Writer) -> Sent:
    return _url("intents_follow", w.block().pk), {}, False


# To the families


def publishes(w: Writer) -> Sent:
    session = w.session()
    said = {"version": session.version, "because": "Seen at the venue, all of it."}
    return _url("publish", session.pk), said, False


def publishes_a_week(w: Writer) -> Sent:
    block, day = w.block(), w.session().date
    week = block.week_of(day)
    mark = mark_of(s for s in block.sessions.all() if block.week_of(s.date) == week)
    return _url("publish_week", block.pk, week), {"mark": mark}, False


def chooses_for_a_child(w: Writer) -> Sent:
    slot, child = w.slot(), w.child()
    said = {"choice": "leave-out", "note": "Rest it."}
    return _url("decision", slot.part.session_id, slot.pk, child.public_id), said, False


def lets_fit_choose_again(w: Writer) -> Sent:
    near = Override.objects.filter(slot__part__session__block=w.block())
    said = w.one_of(near.select_related("slot__part", "child"))
    args = said.slot.part.session_id, said.slot_id, said.child.public_id
    return _url("decision_back", *args), {}, False


def spares_a_child(w: Writer) -> Sent:
    today = timezone.localdate()
    rule = {"region": "ankle", "side": "left", "kind": "no_landing", "start": today}
    rule["until"] = today + dt.timedelta(days=w.chance.randint(1, 20))
    return reverse("athletes:restrictions", args=[w.child().public_id]), rule, False


ACTS: tuple[Callable[[Writer], Sent], ...] = (
    *(adds_a_part, adds_a_slot, edits_a_slot, edits_a_part, moves_a_slot, moves_a_part),
    *(doubles_a_slot, doubles_a_part, takes_out_a_slot, takes_out_a_part, takes_out_a_part),
    *(undoes_an_edit, edits_the_facts, adds_a_kept_part, keeps_a_part, makes_a_session),
    *(doubles_a_session, takes_out_a_session, takes_out_a_session),
    *(moves_or_copies, takes_back, copies_a_week, clears_a_break, sets_a_break),
    *(takes_a_break_away, changes_the_block, keeps_the_block, begins_a_kept_session),
    *(means_an_exercise_to_grow, ends_a_progression, lets_the_drafts_follow, publishes),
    *(publishes_a_week, chooses_for_a_child, lets_fit_choose_again, spares_a_child),
)
