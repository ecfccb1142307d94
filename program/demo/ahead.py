"""What the demo's coaches have laid ready: school holidays ahead, and templates to begin from."""

import datetime as dt

from athletes.models import User
from program.blocks.saved_templates import keep_part, keep_session
from program.models import Break, Session


def write_holidays(this_monday: dt.date, by: User) -> None:
    """Everybody's, from the Friday four weeks on: the running blocks end in them."""
    first = this_monday + dt.timedelta(weeks=4, days=4)
    Break.objects.create(
        name="School holidays", first=first, last=first + dt.timedelta(days=16), set_by=by
    )


def write_templates(sessions: list[Session], by: User) -> None:
    """The first session of the season, and its first part."""
    first = Session.objects.with_slots().get(pk=sessions[0].pk)
    keep_session(first, f"{first.name}, to begin with", by)
    keep_part(first.parts.all()[0], "A calm warm-up", by)
