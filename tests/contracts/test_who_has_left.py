"""Whoever has left gets nothing more of a child: a coach whose cohort the child has left, a
guardian who was removed, a coach who was switched off. Every address is asked, as for everybody
else."""

import datetime as dt

import pytest
from django.db import transaction

from athletes.models import Child, Cohort, Guardianship, User
from tests.support.addresses import ALLOWED, PAGE, TABLED
from tests.support.asking import OWN, Request, address_of, ask
from tests.support.scene import ANONYMOUS, TODAY

# What the own cohort did with a child that has left it may be looked back at for a while.
LOOKED_BACK_AT = {
    "program:attendance",
    "program:block_children",
    "program:block_of_child",
    "program:came_back",
    "program:came_back_of",
    "program:child_review",
    "program:reports",
    "program:reports_paper",
    "program:session_review",
}
GROUP_OF_THAT_DAY = {"program:group_log"}
"""A session of the week before is still logged for the whole group."""
BY_KEY = {"program:calendar"}
"""Opened by whoever holds its key, which is the guardian's."""
# Its reports are the coach's to write as long as they may be looked back at.
REPORTS = {name for name in TABLED if "report" in " ".join(ALLOWED[name].ids)}
OF_THE_CHILD = {
    "assigned",
    "child",
    "enrolment",
    "family_invitation",
    "guardianship",
    "height",
    "kept",
    "question",
    "resolution",
    "restriction",
}


def methods(row, role):
    for method in ("GET", "POST"):
        if row.allowed(method, role, htmx=False):
            yield method


def answers(scene, role, names):
    """What somebody gets at these addresses, with what the form of each writes."""
    for name in names:
        row = ALLOWED[name]
        if role in row.door:
            which = (OWN,) * len(row.ids)
            address = address_of(scene, name, role, which)
            for method in methods(row, role):
                answer = ask(
                    scene, Request(role, method, False, which), address, row.form(scene.own)
                )
                yield f"{method} {name}", answer


@pytest.fixture
def moved(scene):
    """The own child has moved to a cohort of somebody else's, with yesterday as its last day."""
    other = Cohort.objects.get(name="Other cohort")
    yesterday = TODAY - dt.timedelta(days=1)
    with transaction.atomic():
        Child.objects.filter(pk=scene.own.child.pk).update(given_name="Gonechild")
        scene.own.child.enrolments.update(end=yesterday)
        scene.own.child.enrolments.create(cohort=other, start=TODAY)
        yield scene
        transaction.set_rollback(True)


def test_a_former_coach_opens_nothing_of_the_childs_but_what_the_cohort_did(moved):
    names = [name for name in TABLED if OF_THE_CHILD & set(ALLOWED[name].ids)]
    assert len(names) > 30
    opened = {
        what
        for what, answer in answers(moved, "coach", names)
        if answer.kind != "404" and what.removeprefix("GET ") not in LOOKED_BACK_AT
    }
    assert opened == set()


def test_what_a_former_coach_looks_back_at_names_the_child_and_leads_to_no_form_about_it(moved):
    child = str(moved.own.child.public_id)
    for what, answer in answers(moved, "coach", ["program:child_review", "program:session_review"]):
        assert answer.kind == PAGE, what
        assert "Gonechild" in answer.body
        assert f"{child}/log" not in answer.body
        assert "<form" not in answer.body.partition("<main")[2], what


def test_no_other_page_of_a_former_coach_names_the_child(moved):
    named = {
        what
        for what, answer in answers(moved, "coach", set(TABLED) - BY_KEY)
        if answer.kind != "404" and "Gonechild" in answer.body
    }
    told = {what.partition(" ")[2] for what in named}
    assert told <= LOOKED_BACK_AT | REPORTS | GROUP_OF_THAT_DAY
    assert told >= {"program:child_review", "program:attendance"}, "nobody looked"


def test_after_the_time_the_program_sets_not_even_that(moved):
    with transaction.atomic():
        long_ago = TODAY - dt.timedelta(days=91)
        moved.own.child.enrolments.filter(end__isnull=False).update(
            start=long_ago - dt.timedelta(days=9), end=long_ago
        )
        seen = {
            what
            for what, answer in answers(moved, "coach", set(TABLED) - BY_KEY)
            if answer.kind != "404" and "Gonechild" in answer.body
        }
        transaction.set_rollback(True)
    assert seen == set()


def test_a_removed_guardian_opens_nothing_of_the_childs(scene):
    with transaction.atomic():
        Guardianship.objects.filter(guardian=scene.people["guardian"]).delete()
        names = [name for name in TABLED if OF_THE_CHILD & set(ALLOWED[name].ids)]
        opened = {
            what
            for what, answer in answers(scene, "guardian", names)
            if answer.kind not in {"404", "405"}
        }
        transaction.set_rollback(True)
    assert opened == set()


def test_a_coach_who_was_switched_off_is_asked_to_sign_in_everywhere(scene):
    with transaction.atomic():
        User.objects.filter(pk=scene.people["coach"].pk).update(is_active=False)
        names = [name for name in TABLED if ANONYMOUS not in ALLOWED[name].door]
        let_in = {what for what, answer in answers(scene, "coach", names) if answer.kind == PAGE}
        transaction.set_rollback(True)
    assert let_in == set()
