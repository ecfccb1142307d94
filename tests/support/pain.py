"""Something hurts, as a test says it."""

import datetime as dt
import uuid

from athletes.models import User
from program.log.pain_reports import PainEntry, Reporting, report_pain
from program.models import AssignedSession, PainReport

ORIGIN = "https://club.example"


def knee(**details) -> PainEntry:
    """A left knee, 4 of 10."""
    usual = {"public_id": uuid.uuid4(), "region": "knee", "side": "left", "level": 4}
    return PainEntry(**(usual | details))


def unwell(symptom: str, **details) -> PainEntry:
    return PainEntry(**({"public_id": uuid.uuid4(), "symptom": symptom} | details))


def report(
    session: AssignedSession, pain: PainEntry, by: User, now: dt.datetime, *, is_begun: bool = True
) -> PainReport:
    """It hurt in a session; or before it, where that has not begun."""
    return report_pain(session.child, pain, Reporting(by, now, ORIGIN), session, is_begun=is_begun)
