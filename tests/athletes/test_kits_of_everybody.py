"""What is at home, of a whole cohort in one table."""

import datetime as dt

import pytest
from django.core import mail
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from athletes.changes import answer_kit
from athletes.models import Child, HomeKit
from athletes.signals import circumstances_of_many_changed
from library.usual_home import USUAL_HOME_KIT
from tests.support.children_pages import assert_well_made, errors_of, text
from tests.support.factories import ChildFactory, ItemFactory, UserFactory
from tests.support.work import work_off

pytestmark = pytest.mark.django_db


@pytest.fixture
def items():
    kinds = {
        "carpet": "floor",
        "smooth-floor": "floor",
        "mat-space": "space",
        "lane-space": "space",
    }
    things = dict.fromkeys(("towel", "sofa", "bench"), "thing")
    return {slug: ItemFactory(slug=slug, kind=kind) for slug, kind in (kinds | things).items()}


@pytest.fixture
def lea(cast):
    return ChildFactory(given_name="Lea", cohort=cast.cohort)


@pytest.fixture
def told_of():
    """Whom it was told of that their home is another one, each time."""
    said = []

    def note(children, what, **_):
        said.append((sorted(children), what.value))

    circumstances_of_many_changed.connect(note)
    yield said
    circumstances_of_many_changed.disconnect(note)


def page_of(cohort) -> str:
    return reverse("athletes:kits", args=[cohort.pk])


def form_of(answer) -> dict[str, list[str]]:
    """The page's form as a browser sends it when nothing is touched."""
    sent: dict[str, list[str]] = {}
    for row in answer.context["table"].rows:
        sent[f"mark-{row.child.pk}"] = [row.mark]
        sent[f"was-{row.child.pk}"] = [row.shown]
        sent[f"has-{row.child.pk}"] = [str(cell.item.pk) for cell in row.cells if cell.ticked]
    return sent


def with_ticks(form, child, *ticked):
    return form | {f"has-{child.pk}": [str(item.pk) for item in ticked]}


def at_home(child) -> set[str] | None:
    kit = HomeKit.objects.filter(child=child).first()
    return {item.slug for item in kit.items.all()} if kit else None


def test_everybody_of_the_cohort_is_a_row_and_every_thing_a_family_is_asked_about_a_column(
    cast, coach, items, lea
):
    answer = coach.get(page_of(cast.cohort))
    assert_well_made(answer)
    table = answer.context["table"]
    assert [row.child.given_name for row in table.rows] == ["Lea", "Mira"]
    assert [item.slug for item in table.items] == [
        "carpet", "smooth-floor", "lane-space", "mat-space", "sofa", "towel",
    ]  # fmt: skip
    assert "bench" not in text(answer)


def test_a_home_nobody_has_told_of_shows_what_is_taken_to_be_there(cast, coach, items):
    """Fit counts with it until somebody says."""
    (row,) = coach.get(page_of(cast.cohort)).context["table"].rows
    assert {c.item.slug for c in row.cells if c.ticked} == USUAL_HOME_KIT & items.keys()
    assert "nobody yet" in text(coach.get(page_of(cast.cohort)))


def test_it_says_who_told_and_when(cast, coach, items, lea):
    answer_kit(cast.child, [items["towel"]], cast.guardian)
    answer_kit(lea, [items["sofa"]], cast.coach)
    read = text(coach.get(page_of(cast.cohort)))
    assert "Mira T. family, 4 Nov" in read
    assert "Lea T. coach, 4 Nov" in read


def test_one_save_writes_the_rows_that_were_touched_and_no_other(cast, coach, items, lea, told_of):
    form = form_of(coach.get(page_of(cast.cohort)))
    answer = coach.post(page_of(cast.cohort), with_ticks(form, lea, items["carpet"]))
    assert answer.status_code == 302
    assert at_home(lea) == {"carpet"}
    assert lea.home_kit.answered_by == cast.coach
    assert at_home(cast.child) is None
    assert told_of == [([lea.pk], "kit")]


def test_a_usual_home_is_told_by_confirming_it(cast, coach, items):
    form = form_of(coach.get(page_of(cast.cohort)))
    coach.post(page_of(cast.cohort), form | {f"told-{cast.child.pk}": "on"})
    assert at_home(cast.child) == {"mat-space", "towel"}


def test_nothing_of_it_at_home_is_an_answer_too(cast, coach, items):
    form = form_of(coach.get(page_of(cast.cohort)))
    coach.post(page_of(cast.cohort), with_ticks(form, cast.child))
    assert at_home(cast.child) == set()


def test_what_a_family_said_meanwhile_is_not_overwritten_unseen(cast, coach, items, lea):
    form = form_of(coach.get(page_of(cast.cohort)))
    answer_kit(cast.child, [items["sofa"]], cast.guardian)
    form = with_ticks(form, cast.child, items["carpet"])
    answer = coach.post(page_of(cast.cohort), with_ticks(form, lea, items["towel"]))
    assert at_home(cast.child) == {"sofa"}
    assert at_home(lea) == {"towel"}
    read = text(answer)
    assert "Own Parent has said meanwhile what is at home for Mira T." in read
    assert "You had ticked: carpet" in read
    # Seen now, and sent again: it is the coach's word.
    again = with_ticks(form_of(answer), cast.child, items["carpet"])
    coach.post(page_of(cast.cohort), again)
    assert at_home(cast.child) == {"carpet"}


def test_a_row_of_somebody_elses_child_is_not_written(cast, coach, items):
    form = form_of(coach.get(page_of(cast.cohort)))
    other = cast.other_child
    form |= {f"mark-{other.pk}": "", f"was-{other.pk}": "", f"told-{other.pk}": "on"}
    coach.post(page_of(cast.cohort), form)
    assert at_home(other) is None


def test_a_thing_that_is_no_longer_on_the_list_is_refused_and_the_ticks_stay(cast, coach, items):
    form = form_of(coach.get(page_of(cast.cohort)))
    form[f"has-{cast.child.pk}"] = [str(items["carpet"].pk), "999999"]
    answer = coach.post(page_of(cast.cohort), form)
    assert "One of these is no longer on the list." in errors_of(answer)
    (row,) = answer.context["table"].rows
    assert {c.item.slug for c in row.cells if c.ticked} == {"carpet"}
    assert at_home(cast.child) is None


def test_saving_many_takes_no_more_queries_than_saving_few(cast, coach, items):
    def queries_for(count: int) -> int:
        children = [ChildFactory(cohort=cast.cohort) for _ in range(count)]
        form = form_of(coach.get(page_of(cast.cohort)))
        for child in children:
            form = with_ticks(form, child, items["carpet"], items["sofa"])
        with CaptureQueriesContext(connection) as asked:
            coach.post(page_of(cast.cohort), form)
        assert all(at_home(child) == {"carpet", "sofa"} for child in children)
        return len(asked)

    queries_for(1)
    assert queries_for(2) == queries_for(9)


def test_all_families_who_have_not_said_are_asked_in_one_click_and_once_a_day(
    cast, coach, items, lea
):
    answer_kit(lea, [items["sofa"]], cast.coach)
    ChildFactory(given_name="Ole", cohort=cast.cohort)
    sister = ChildFactory(given_name="Nia", cohort=cast.cohort, guardian=cast.guardian)
    ask = reverse("athletes:kits_ask", args=[cast.cohort.pk])
    read = text(coach.post(ask, follow=True))
    assert "2 families are asked: Mira T., Nia T." in read
    assert "Nobody to mail for Ole T." in read
    work_off()
    assert [each.to for each in mail.outbox] == [[cast.guardian.email]] * 2
    assert {each.subject for each in mail.outbox} == {"What is at home?"}
    assert "asked 4 Nov" in read
    assert "Whoever can be asked by mail was asked today" in text(coach.post(ask, follow=True))
    assert len(mail.outbox) == 2
    Child.objects.filter(pk=sister.pk).update(kit_asked_at=timezone.now() - dt.timedelta(days=1))
    coach.post(ask)
    work_off()
    assert len(mail.outbox) == 3


def test_the_children_list_leads_to_it(cast, coach):
    assert reverse("athletes:all_kits") in coach.get(reverse("athletes:children")).text
    answer = coach.get(reverse("athletes:all_kits"))
    assert answer.headers["location"] == page_of(cast.cohort)


def test_a_coach_without_a_cohort_is_told_what_has_to_be_there(client_for):
    stranger = UserFactory(role="coach")
    assert_well_made(client_for(stranger).get(reverse("athletes:all_kits")))
