"""Keeping a part, a session or a block under a name, and beginning from it somewhere else.

What is kept has no word about a child and none to one cohort's families: a session's note stays
behind. Exercises that were retired since are exchanged or left out, as the coach chooses.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from athletes.models import Cohort
from program.build.editing import next_position
from program.common.session_outlines import (
    Dated,
    outline_of,
    part_outline_of,
    write_parts,
    write_sessions,
)
from program.engine.dose.exchange import exchanged
from program.engine.fit.library import FitExercise, FitLibrary
from program.engine.outline import (
    SessionOutline,
    SlotOutline,
    session_as_data,
    session_from_data,
)
from program.engine.weeks import A_DAY, A_WEEK
from program.models import Block, Part, Session, Template, TemplateKind

if TYPE_CHECKING:
    from athletes.models import User

MOST_OFFERED: Final = 6
LEFT_OUT: Final = ""
"""The choice of no exercise in a missing one's place."""


@dataclass(frozen=True)
class Kept:
    """What a template holds: outlines, each with its day counted from the first, and how many days
    there are in all. A part stands in a session of its own."""

    days: int
    sessions: tuple[tuple[int, SessionOutline], ...]

    @property
    def exercises(self) -> frozenset[str]:
        return frozenset(slug for _, outline in self.sessions for slug in outline.exercises)


@dataclass(frozen=True)
class Missing:
    """An exercise of a template that cannot be used any more, and what may stand in its place."""

    slug: str
    name: str
    offered: tuple[FitExercise, ...]


@dataclass(frozen=True)
class Held:
    """A session of a template as its page shows it: in which week, and with which exercises."""

    name: str
    week: int
    exercises: tuple[str, ...]


type Instead = Mapping[str, str]
"""By the slug of each missing exercise, the slug of the one in its place, or LEFT_OUT."""


def keep_part(part: Part, name: str, by: "User") -> Template:
    session = part.session
    outline = SessionOutline(
        session.name, session.place, session.target_minutes, parts=(part_outline_of(part),)
    )
    return _keep(TemplateKind.PART, name, by, Kept(1, ((0, outline),)))


def keep_session(session: Session, name: str, by: "User") -> Template:
    outline = replace(outline_of(session), note="")
    return _keep(TemplateKind.SESSION, name, by, Kept(1, ((0, outline),)))


def keep_block(block: Block, sessions: Sequence[Session], name: str, by: "User") -> Template:
    dated = tuple(
        ((session.date - block.starts_on).days, replace(outline_of(session), note=""))
        for session in sessions
    )
    return _keep(TemplateKind.BLOCK, name, by, Kept((block.ends_on - block.starts_on).days, dated))


def _keep(kind: TemplateKind, name: str, by: "User", kept: Kept) -> Template:
    content = {
        "days": kept.days,
        "sessions": [[day, session_as_data(outline)] for day, outline in kept.sessions],
    }
    return Template.objects.create(kind=kind, name=name, made_by=by, content=content)


def kept_in(template: Template) -> Kept:
    sessions = template.content["sessions"]
    return Kept(
        template.content["days"],
        tuple((day, session_from_data(outline)) for day, outline in sessions),
    )


def held_in(kept: Kept, library: FitLibrary) -> list[Held]:
    names = library.names
    return [
        Held(
            outline.name,
            day * A_DAY // A_WEEK + 1,
            tuple(names.get(slot.exercise, slot.exercise) for slot in outline.slots()),
        )
        for day, outline in kept.sessions
    ]


def missing_from(kept: Kept, library: FitLibrary) -> list[Missing]:
    """The exercises that are not published any more, each with the nearest that are."""
    return [
        Missing(slug, library.names.get(slug, slug), tuple(_offered(slug, library)))
        for slug in sorted(kept.exercises)
        if slug not in library.by_slug or not library.by_slug[slug].is_available
    ]


def _offered(slug: str, library: FitLibrary) -> list[FitExercise]:
    """Published exercises of its pathway, the nearest first and of those the easier."""
    pathway = library.pathway_of(slug, {})
    graph = library.graphs.get(pathway.slug) if pathway else None
    if graph is None:
        return []
    near = (library.by_slug[each] for each in graph.nearest(slug) if each in library.by_slug)
    return [exercise for exercise in near if exercise.is_available][:MOST_OFFERED]


def with_others(kept: Kept, instead: Instead, library: FitLibrary) -> Kept:
    """What is kept, with the missing exercises exchanged or left out."""

    def made(slot: SlotOutline) -> SlotOutline | None:
        if slot.exercise not in instead:
            return slot
        if instead[slot.exercise] == LEFT_OUT:
            return None
        old, new = library.by_slug.get(slot.exercise), library.by_slug[instead[slot.exercise]]
        try:
            return exchanged(slot, old, new)
        except ValueError:
            return exchanged(slot, None, new)

    return replace(
        kept, sessions=tuple((day, outline.with_slots(made)) for day, outline in kept.sessions)
    )


def begin_block(kept: Kept, cohort: Cohort, name: str, starts_on: dt.date, by: "User") -> Block:
    """A block of drafts. In a transaction."""
    block = Block.objects.create(
        cohort=cohort, name=name, starts_on=starts_on, ends_on=starts_on + kept.days * A_DAY
    )
    dated = [Dated(outline, starts_on + day * A_DAY) for day, outline in kept.sessions]
    write_sessions(block, dated, by)
    return block


def begin_session(kept: Kept, block: Block, day: dt.date, by: "User") -> Session:
    """A draft on that day of the block. In a transaction."""
    ((_, outline),) = kept.sessions
    return write_sessions(block, [Dated(outline, day)], by)[0]


def add_part(kept: Kept, session: Session) -> Part | None:
    """The part at the session's end; None where nothing of it is left. Within `editing`."""
    ((_, outline),) = kept.sessions
    at_the_end = next_position(session.parts.all())
    return next(iter(write_parts((session, at_the_end, part) for part in outline.parts)), None)
