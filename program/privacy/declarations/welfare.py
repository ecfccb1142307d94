"""What is told to the welfare officers. It leads to no child, so that no copy, count or erasing of
a child tells anybody that there is some."""

from program.models import Concern, ConcernEntry, ConcernLook, WelfareOfficer, WelfareWords
from program.privacy.declaring import (
    KEY,
    WITH_PROGRAM,
    Held,
    Kept,
    Nobodys,
    Purpose,
    Readers,
    left_out,
)

SEVEN_YEARS = Kept("seven years after it is closed", 7 * 365, "closed_at")
"""A house choice, from memory of what clubs do: how long differs by country."""
WITH_ITS_CONCERN = Kept("as long as what it belongs to")
THEIRS = left_out("the welfare officers answer for it, and a copy of a child’s data has none of it")

WELFARE = (
    Held(
        Concern,
        "What somebody told the welfare officers",
        Purpose.SAFETY,
        Readers.OFFICERS,
        SEVEN_YEARS,
        columns={
            "id": KEY,
            "public_id": KEY,
            "about": THEIRS,
            "text": THEIRS,
            "happened": THEIRS,
            "by": THEIRS,
            "reporter": THEIRS,
            "kept_from": THEIRS,
            "reported_at": THEIRS,
            "seen_at": THEIRS,
            "seen_by": THEIRS,
            "closed_at": THEIRS,
            "closed_by": THEIRS,
        },
    ),
    Held(
        ConcernEntry,
        "What was added to it, and the officers’ notes",
        Purpose.SAFETY,
        Readers.OFFICERS,
        WITH_ITS_CONCERN,
        columns={
            "id": KEY,
            "concern": KEY,
            "kind": THEIRS,
            "text": THEIRS,
            "by": THEIRS,
            "at": THEIRS,
        },
    ),
    Held(
        ConcernLook,
        "Which officer opened it",
        Purpose.RECORD,
        Readers.OFFICERS,
        WITH_ITS_CONCERN,
        columns={"id": KEY, "concern": KEY, "by": THEIRS, "at": THEIRS},
    ),
    Nobodys(
        WelfareOfficer,
        "who is a welfare officer",
        by=("person", "named_by", "confirmed_by", "ending_asked_by", "ended_by"),
        kept=WITH_PROGRAM,
    ),
    Nobodys(WelfareWords, "whom families may ring", by=("by",), kept=WITH_PROGRAM),
)
