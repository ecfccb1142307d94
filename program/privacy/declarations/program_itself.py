"""Tables that hold nothing of a child, or only its key."""

from django.contrib.auth.models import Group, Permission
from django.contrib.contenttypes.models import ContentType
from procrastinate.contrib.django.models import (
    ProcrastinateEvent,
    ProcrastinateJob,
    ProcrastinatePeriodicDefer,
    ProcrastinateWorker,
)

from program.models import (
    Block,
    BoardChange,
    Break,
    CheckChange,
    IdempotencyKey,
    Part,
    Progression,
    Recall,
    SafetyRules,
    Session,
    SessionNote,
    Slot,
    StopReason,
    Template,
)
from program.privacy.declaring import Kept, Nobodys

A_YEAR = 365

PROGRAM_ITSELF = (
    Nobodys(Block, "blocks"),
    Nobodys(
        Session,
        "sessions as they are written",
        by=("edited_by", "published_by", "called_off_by"),
    ),
    Nobodys(Part, "parts of sessions"),
    Nobodys(Slot, "what stands in them"),
    Nobodys(
        BoardChange,
        "changes on the board, with what undoing them needs",
        by=("by", "undone_by"),
        names_children=("dropped",),
        kept=Kept("a year", A_YEAR, "at"),
    ),
    Nobodys(Break, "breaks", by=("set_by",)),
    Nobodys(CheckChange, "checks that were changed", by=("by", "confirmed_by", "ended_by")),
    Nobodys(
        StopReason,
        "why something went out in spite of a stop",
        by=("by",),
        names_children=("children",),
    ),
    Nobodys(
        IdempotencyKey,
        "what was sent already",
        kept=Kept("a day", 1, "created_at"),
    ),
    Nobodys(Progression, "an exercise’s progression over a block", by=("by",)),
    Nobodys(Recall, "exercises taken back", by=("by", "ended_by")),
    Nobodys(SafetyRules, "what the program sets about pain", by=("by",)),
    Nobodys(
        SessionNote,
        "coaches’ notes on a session as a whole",
        by=("written_by", "edited_by"),
    ),
    Nobodys(Template, "templates", by=("made_by",)),
    Nobodys(
        ProcrastinateJob,
        "work still to be done",
        names_children=("lock", "args"),
        kept=Kept("until it is done"),
    ),
    Nobodys(ProcrastinateEvent, "when work was asked for", kept=Kept("until it is done")),
    Nobodys(ProcrastinateWorker, "who does it", kept=Kept("a few minutes")),
    Nobodys(ProcrastinatePeriodicDefer, "what is done every night"),
    Nobodys(Permission, "Django’s own, unused"),
    Nobodys(Group, "Django’s own, unused"),
    Nobodys(ContentType, "Django’s own"),
)
