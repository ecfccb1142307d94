"""Fetching and authorising are one call: what a person may not see is as missing as what is not.

A second id in an address is looked up through the first.
"""

from typing import TYPE_CHECKING

from django.http import Http404

from athletes.models import Cohort
from program.models import Block, Part, Session, Slot

if TYPE_CHECKING:
    from athletes.models import User


def block_or_404(user: "User", block_id: int) -> Block:
    blocks = Block.objects.visible_to(user).select_related("cohort")
    return _found(blocks.filter(pk=block_id).first())


def locked_block_or_404(user: "User", block_id: int) -> Block:
    """The block, nobody else's to change until the transaction it is asked for in ends."""
    blocks = Block.objects.visible_to(user).select_for_update(of=("self",))
    return _found(blocks.filter(pk=block_id).first())


def session_or_404(user: "User", session_id: int) -> Session:
    sessions = Session.objects.visible_to(user).select_related("block__cohort")
    return _found(sessions.filter(pk=session_id).first())


def locked_session_or_404(user: "User", session_id: int) -> Session:
    """The session, nobody else's to change until the transaction it is asked for in ends."""
    sessions = Session.objects.visible_to(user).select_for_update(of=("self",))
    return _found(sessions.filter(pk=session_id).first())


def written_session_or_404(user: "User", session_id: int) -> Session:
    """The session with all it holds, in a fixed number of queries."""
    return _found(Session.objects.visible_to(user).with_plan().filter(pk=session_id).first())


def session_with_slots_or_404(user: "User", session_id: int) -> Session:
    """The session with its slots, for whoever does not need to know what must be at hand."""
    return _found(Session.objects.visible_to(user).with_slots().filter(pk=session_id).first())


def part_in_or_404(session: Session, part_id: int) -> Part:
    return _found(Part.objects.filter(session=session, pk=part_id).first())


def slot_in_or_404(session: Session, slot_id: int) -> Slot:
    slots = Slot.objects.filter(part__session=session).select_related("exercise__current", "part")
    return _found(slots.filter(pk=slot_id).first())


def cohorts_of(user: "User") -> list[Cohort]:
    return list(Cohort.objects.visible_to(user))


def _found[Row](row: Row | None) -> Row:
    if row is None:
        raise Http404
    return row
