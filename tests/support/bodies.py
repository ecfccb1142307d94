"""The forms of `addresses.py` as a browser or a phone would send them, each from a half of the club
in `scene.py`. Every one of them does something when it is posted."""

import datetime as dt
import uuid
from collections.abc import Callable
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile

from athletes.consent_texts import TEXTS
from athletes.models import ConsentPurpose, HomeKit
from program.blocks.clear_break import preview_clearing
from program.blocks.copy_forward import CopyRequest, preview
from program.blocks.forms.block import BlockForm
from program.blocks.queries import sessions_of
from program.common.edit_conflicts import mark_of
from program.common.library_snapshot import library_snapshot
from program.engine.breaks import InBreak
from program.models import Break
from tests.support.scene import TODAY, Half

type Body = Callable[[Half], dict[str, Any]]


def access_rules(half: Half, **said: Any) -> dict[str, Any]:
    usual = {
        "club_name": "Harbour Juniors",
        "history_days": 30,
        "kept_years": 2,
        "records_years": 5,
    }
    usual |= {"coach_idle_hours": 8, "own_sign_in_from": 14}
    return usual | said


def in_days(days: int) -> str:
    return (TODAY + dt.timedelta(days=days)).isoformat()


def new_block_form(half: Half) -> dict[str, Any]:
    form = BlockForm(half.cohort.coaches.get())
    shown = {name: form[name].value() for name in form.fields}
    days = {"starts_on": in_days(0), "ends_on": in_days(20)}
    return shown | {"cohort": half.cohort.pk, "name": "Spring", "aim": ""} | days


def block_form(half: Half) -> dict[str, Any]:
    form = BlockForm(half.cohort.coaches.get(), instance=half.session.block)
    shown = {name: form[name].value() for name in form.fields}
    return shown | dict(form.seen) | {"aim": "Calm landings."}


def session_form(**more: Any) -> Body:
    details = {"name": "Strong steps", "place": "home", "target_minutes": 25, "note": "Barefoot."}
    return lambda half: details | {"date": in_days(2)} | more


def child_form(half: Half) -> dict[str, Any]:
    return {
        "given_name": "Nora",
        "family_initial": "W",
        "birth_date": "2015-01-05",
        "cohort": half.cohort.pk,
    }


def table(half: Half) -> dict[str, Any]:
    rows = b"given name,family initial,birth date\nNils,B,2015-01-05\n"
    return {"file": SimpleUploadedFile("children.csv", rows), "cohort": half.cohort.pk}


def kit_rows(half: Half) -> dict[str, Any]:
    """A child's row, of which somebody says that it is so."""
    key, kit = half.child.pk, HomeKit.objects.get(child=half.child)
    return {f"mark-{key}": kit.mark, f"was-{key}": "", f"told-{key}": "on"}


def restriction_form(half: Half) -> dict[str, Any]:
    days = {"start": in_days(0), "until": in_days(5)}
    return {"region": "ankle", "side": "left", "kind": "no_landing", **days}


def exercise_form(**more: Any) -> Body:
    """A form with the management fields of its rows."""
    said = {
        "name": "Wall sit",
        "pattern": "squat",
        "sides": "both",
        "measure": "seconds",
        "usual": 20,
        "low": 10,
        "high": 40,
        "contacts": 0,
        "plain": "Sit against a wall.",
        "setup": "A clear wall.",
        "feel": "The thighs.",
        "stop": "Stop when a knee hurts.",
        "minimum_age": 6,
        "cue_1": "Back flat",
        "region_thigh": "loads",
        "faults-0-see": "Knees fall in",
        "faults-0-say": "Show me your knees",
    }
    counts = {
        f"{rows}-{count}": number
        for rows, most in (("faults", 4), ("needs", 5))
        for count, number in (("TOTAL_FORMS", most), ("INITIAL_FORMS", 0))
    }
    return lambda half: said | counts | more


def log_form(half: Half) -> dict[str, Any]:
    return {"state": "done", "effort": 4, "seen": f"{half.assigned.fingerprint}|"}


def group_form(half: Half) -> dict[str, Any]:
    """Everybody who has the session of today was there."""
    sent: dict[str, Any] = {"minutes": 20}
    for each in half.assigned.session.assigned.all():
        line = each.child.public_id
        sent |= {f"{line}-presence": "there", f"{line}-effort": 5}
        sent |= {f"{line}-seen": f"{each.fingerprint}|"}
    return sent


def corrected_report(half: Half) -> dict[str, Any]:
    return {"version": 1, "own_practised": "Squats, three times.", "correction": "The count."}


def from_a_phone(half: Half) -> dict[str, Any]:
    ids = {"child": str(half.child.public_id), "session": str(half.assigned.public_id)}
    return {"id": str(uuid.uuid4()), "kind": "log", **ids, "fields": log_form(half)}


def height_form(half: Half) -> dict[str, Any]:
    return {"on": in_days(0), "height": "141.5"}


def no_to_photos(half: Half) -> dict[str, Any]:
    return {"photos": "no", "photos_text": TEXTS[ConsentPurpose.PHOTOS].version}


def on_paper(half: Half) -> dict[str, Any]:
    return {
        "person": half.child.guardianships.earliest("pk").guardian_id,
        "signed_on": in_days(0),
        "photos": "no",
    }


def about_pain(half: Half) -> dict[str, Any]:
    report = half.child.pain_reports.get()
    return {"child": half.child.public_id, "key": f"pain-{report.pk}", "action": "seen"}


def equal_findings(half: Half) -> dict[str, Any]:
    changed = half.child.refits.latest("pk")
    each = f"{half.child.public_id} changed-{changed.pk}"
    return {"each": each, "action": "Seen", "scope": ""}


def two_logs(half: Half) -> dict[str, Any]:
    return {"kept": half.ids["kept"], "act": "leave"}


def carry_form(half: Half) -> dict[str, Any]:
    """Its first week to the second, as it was looked at."""
    sessions = sessions_of(half.session.block)
    shown = preview(half.session.block, sessions, CopyRequest(1, None, (2,)), library_snapshot())
    said = {"change": "nothing", "pace": "more", "beyond": "stay", "taken": "skip"}
    return said | {"week": 1, "to": [2], "mark": shown.mark}


def first_week(half: Half) -> dict[str, Any]:
    block = half.session.block
    return {"mark": mark_of(s for s in block.sessions.all() if block.week_of(s.date) == 1)}


def this_weeks_session(half: Half) -> dict[str, Any]:
    return {"of": str(half.session.date), "seen": [mark_of([half.session])]}


def order(half: Half) -> dict[str, Any]:
    return {"do": f"move:{half.session.pk}:{half.session.version}:{in_days(3)}"}


def clear_form(half: Half) -> dict[str, Any]:
    block = half.session.block
    away = Break.objects.get(pk=half.ids["break"])
    sessions = list(block.sessions.order_by("date", "id"))
    return {"way": "later", "mark": preview_clearing(block, away, InBreak.LATER, sessions).mark}


def break_form(half: Half) -> dict[str, Any]:
    return {"name": "Away", "first": in_days(5), "last": in_days(6), "cohort": half.cohort.pk}


def begin_form(half: Half) -> dict[str, Any]:
    return {"block": half.session.block_id, "date": in_days(4)}
