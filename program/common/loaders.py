"""Fetching and authorising are one call: what a person may not see is as missing as what is not.

A second id in an address is looked up through the first.
"""

import datetime as dt
import uuid
from typing import TYPE_CHECKING, Any

from django.db.models import Exists, OuterRef, Q
from django.shortcuts import get_list_or_404, get_object_or_404

from athletes.models import Child, Cohort, Enrolment
from library.models import ExerciseNote
from program.models import (
    AssignedSession,
    Block,
    BoardChange,
    Break,
    Part,
    Question,
    Report,
    Resolution,
    Session,
    Slot,
    Template,
)

if TYPE_CHECKING:
    from athletes.models import User


def block_or_404(user: "User", block_id: int) -> Block:
    blocks = Block.objects.visible_to(user).select_related("cohort")
    return get_object_or_404(blocks, pk=block_id)


def locked_block_or_404(user: "User", block_id: int) -> Block:
    """The block, nobody else's to change until the transaction it is asked for in ends. Whoever
    makes a session in it, or takes it away, has this lock."""
    blocks = Block.objects.visible_to(user).select_for_update(of=("self",), no_key=True)
    return get_object_or_404(blocks, pk=block_id)


def locked_board_or_404(user: "User", block_id: int) -> Block:
    """The block and all its sessions, nobody else's to change until the transaction ends."""
    block = locked_block_or_404(user, block_id)
    block.sessions.all().lock()
    return block


def change_on_or_404(block: Block, change_id: int) -> BoardChange:
    changes = BoardChange.objects.filter(block=block).select_related("undone_by", "block")
    return get_object_or_404(changes, pk=change_id)


def break_in_or_404(user: "User", block: Block, break_id: int) -> Break:
    """A break that takes days of the block away."""
    return get_object_or_404(Break.objects.visible_to(user).touching(block), pk=break_id)


def own_break_or_404(user: "User", break_id: int) -> Break:
    """A break that is this coach's to take away."""
    return get_object_or_404(Break.objects.kept_by(user), pk=break_id)


def template_or_404(user: "User", template_id: int) -> Template:
    return get_object_or_404(Template.objects.visible_to(user), pk=template_id)


def own_template_or_404(user: "User", template_id: int) -> Template:
    """A template that is this coach's to take away."""
    return get_object_or_404(Template.objects.kept_by(user), pk=template_id)


def enrolments_in_or_404(user: "User", block: Block, child_id: uuid.UUID) -> list[Enrolment]:
    """A child's days in the block's cohort, with the child; at least one."""
    days = Enrolment.objects.visible_to(user).filter(cohort=block.cohort_id)
    return get_list_or_404(days.select_related("child"), child__public_id=child_id)


def enrolments_of_block(user: "User", block: Block) -> list[Enrolment]:
    """Everybody's days in its cohort that touch the block's, with the child, in the order of
    names."""
    touching = Enrolment.objects.visible_to(user).filter(
        cohort=block.cohort_id, start__lte=block.ends_on
    )
    running = touching.running_after(block.starts_on - dt.timedelta(days=1))
    return list(running.select_related("child").order_by("child", "start"))


def report_or_404(user: "User", block_id: int, report_id: uuid.UUID) -> Report:
    """A report of a block that is this coach's."""
    block = block_or_404(user, block_id)
    mine = Report.objects.written_by(user).by_name()
    found = get_object_or_404(mine, block=block, public_id=report_id)
    found.block = block
    return found


def resolution_or_404(user: "User", resolution_id: int) -> Resolution:
    """An answer to what was found about a child, for whoever coaches it."""
    answers = Resolution.objects.visible_to(user).filter(child__in=Child.objects.coached_by(user))
    return get_object_or_404(answers.select_related("child"), pk=resolution_id)


def question_or_404(user: "User", question_id: uuid.UUID) -> Question:
    questions = Question.objects.visible_to(user).to_be_read_by(user).select_related("child")
    return get_object_or_404(questions, public_id=question_id)


def question_to_answer_or_404(user: "User", question_id: uuid.UUID) -> Question:
    """The question, for whoever coaches the child."""
    questions = Question.objects.visible_to(user).filter(child__in=Child.objects.coached_by(user))
    readable = questions.to_be_read_by(user).select_related("child")
    return get_object_or_404(readable, public_id=question_id)


def session_or_404(user: "User", session_id: int) -> Session:
    sessions = Session.objects.visible_to(user).select_related("block__cohort")
    return get_object_or_404(sessions, pk=session_id)


def locked_session_or_404(user: "User", session_id: int) -> Session:
    """The session, nobody else's to change until the transaction it is asked for in ends. Whoever
    wants its block as well locks that first."""
    sessions = Session.objects.visible_to(user).select_for_update(of=("self",), no_key=True)
    return get_object_or_404(sessions, pk=session_id)


def written_session_or_404(user: "User", session_id: int) -> Session:
    """The session with all it holds, in a fixed number of queries."""
    return get_object_or_404(Session.objects.visible_to(user).with_plan(), pk=session_id)


def session_with_slots_or_404(user: "User", session_id: int) -> Session:
    """The session with its slots, for whoever does not need to know what must be at hand."""
    return get_object_or_404(Session.objects.visible_to(user).with_slots(), pk=session_id)


def part_in_or_404(session: Session, part_id: int) -> Part:
    return get_object_or_404(Part.objects, session=session, pk=part_id)


def slot_in_or_404(session: Session, slot_id: int) -> Slot:
    slots = Slot.objects.filter(part__session=session).select_related("exercise__current", "part")
    return get_object_or_404(slots, pk=slot_id)


def cohorts_of(user: "User") -> list[Cohort]:
    return list(Cohort.objects.visible_to(user))


def assigned_or_404(user: "User", child_id: uuid.UUID, assigned_id: uuid.UUID) -> AssignedSession:
    """The session with all it holds and its log, in a fixed number of queries."""
    sessions = AssignedSession.objects.visible_to(user).with_slots().with_log().with_agreements()
    return get_object_or_404(sessions, child__public_id=child_id, public_id=assigned_id)


def remembered_child_or_404(user: "User", child_id: uuid.UUID, **also: Any) -> Child:
    """The child, for whoever coaches it, and for a coach whose cohort it has left; `is_left` says
    so. `also` is annotated."""
    own = Child.objects.coached_by(user).filter(pk=OuterRef("pk"))
    left = Enrolment.objects.remembered_by(user).filter(child=OuterRef("pk"))
    children = Child.objects.remembered_by(user).annotate(is_left=~Exists(own), **also)
    children = children.filter(Q(is_left=False) | Exists(left))
    return get_object_or_404(children, public_id=child_id)


def remembered_session_or_404(
    user: "User", child_id: uuid.UUID, assigned_id: uuid.UUID
) -> AssignedSession:
    """What `assigned_or_404` fetches, to be read only: also what an own cohort did with a child
    that has left it."""
    sessions = AssignedSession.objects.remembered_by(user).with_may_write(user)
    whole = sessions.with_slots().with_log()
    return get_object_or_404(whole, child__public_id=child_id, public_id=assigned_id)


def notes_on(*sessions: AssignedSession) -> dict[int, tuple[str, ...]]:
    """What coaches say to everybody who does one of their exercises, by the exercise's id. The
    sessions come `with_slots()`."""
    exercises = {slot.revision.exercise_id for each in sessions for slot in each.slots.all()}
    notes: dict[int, tuple[str, ...]] = {}
    for note in ExerciseNote.objects.standing().filter(exercise__in=exercises):
        notes[note.exercise_id] = (*notes.get(note.exercise_id, ()), note.text)
    return notes
