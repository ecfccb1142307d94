"""Publishing several sessions, each in a transaction of its own: what one cannot do holds up no
other."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from athletes.models import User
from program.models import Session
from program.publish.publishing import (
    NotThereAnyMore,
    Published,
    PublishInProgress,
    PublishRefused,
    publish,
)

TAKEN_OUT = "somebody has taken it out meanwhile."
BUSY = "somebody else is publishing it right now."


@dataclass(frozen=True)
class Attempt:
    """What became of one session: `done`, or why it was not published. `is_refused`: it cannot go
    out as it is, or only once a coach writes why, on its own page."""

    session: Session
    done: Published | None = None
    why: str = ""
    is_refused: bool = False


def publish_each(
    sessions: Iterable[Session], by: User, now: dt.datetime, origin: str
) -> list[Attempt]:
    return [_attempt(session, by, now, origin) for session in sessions]


def _attempt(session: Session, by: User, now: dt.datetime, origin: str) -> Attempt:
    try:
        return Attempt(session, publish(session, by, now, origin=origin))
    except PublishRefused as refused:
        return Attempt(session, why=str(refused), is_refused=True)
    except NotThereAnyMore:
        return Attempt(session, why=TAKEN_OUT)
    except PublishInProgress:
        return Attempt(session, why=BUSY)
