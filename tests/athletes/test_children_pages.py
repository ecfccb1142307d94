"""A coach's pages about children: the list, a child, adding, belonging."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from athletes.changes import Rule, answer_kit, place, restrict
from athletes.models import Child, Enrolment, Invitation
from library.body import Region, RestrictionKind, Side
from tests.support.children_pages import assert_well_made, errors_of, text
from tests.support.factories import (
    ChildFactory,
    CohortFactory,
    ExerciseFactory,
    ItemFactory,
    PathwayFactory,
    UserFactory,
)

pytestmark = pytest.mark.django_db

LIST = "/children/"


def page(name: str, child: Child, *more: int) -> str:
    return reverse(f"athletes:{name}", args=[child.public_id, *more])


def spare_the_knee(child, by, today, until=7):
    days = {"start": today, "until": today + dt.timedelta(days=until)}
    restrict(child, Rule(Region.KNEE, Side.LEFT, RestrictionKind.NO_LANDING, **days), by, today)


# The list


def test_the_list_says_of_each_child_what_is_known_and_what_is_not(cast, coach, today):
    quiet = ChildFactory(given_name="Lea", birth_date=dt.date(2014, 11, 5), cohort=cast.cohort)
    answer_kit(cast.child, [], cast.guardian)
    spare_the_knee(cast.child, cast.coach, today)
    Child.objects.filter(pk=quiet.pk).update(growing_fast_until=today)
    answer = coach.get(LIST)
    assert_well_made(answer)
    read = text(answer)
    assert "Lea T. 11 years not invited yet kit not known yet growing fast" in read
    assert "Mira T. 11 years family signed in kit known left knee: no landing" in read
    assert "Ivo" not in read


def test_who_was_invited_reads_so_and_who_was_not_is_invited_from_there(cast, coach):
    """An import has invited Lea's family; Noa's mail came back, and Ole's invitation is a year
    old."""
    named = {
        name: ChildFactory(given_name=name, cohort=cast.cohort) for name in ("Lea", "Noa", "Ole")
    }
    for name, child in named.items():
        Invitation.objects.invite(f"{name}@example.org", "guardian", cast.coach, child)
    Invitation.objects.filter(child=named["Noa"]).update(mail_failed_at=timezone.now())
    long_ago = timezone.now() - dt.timedelta(days=300)
    Invitation.objects.filter(child=named["Ole"]).update(
        created_at=long_ago, expires_at=long_ago + dt.timedelta(days=7)
    )
    answer = coach.get(LIST)
    read = text(answer)
    assert "Lea T. 11 years invited, not signed in" in read
    assert "Noa T. 11 years invitation not delivered" in read
    assert "Ole T. 11 years invitation ran out" in read
    html = answer.content.decode()
    invite = {name: page("invite_family", child) in html for name, child in named.items()}
    assert invite == {"Lea": False, "Noa": True, "Ole": True}


def test_what_is_over_is_not_shown(cast, coach, today):
    spare_the_knee(cast.child, cast.coach, today - dt.timedelta(days=20))
    Child.objects.update(growing_fast_until=today - dt.timedelta(days=1))
    read = text(coach.get(LIST))
    assert "knee" not in read
    assert "growing fast" not in read


def test_children_are_found_by_part_of_a_name_and_the_initial(cast, coach):
    ChildFactory(given_name="Miriam", family_initial="B", cohort=cast.cohort)
    ChildFactory(given_name="Lea", cohort=cast.cohort)
    assert "Lea" not in text(coach.post(LIST, {"q": "mir"}))
    only = text(coach.post(LIST, {"q": "mir b."}))
    assert "Miriam B." in only
    assert "Mira T." not in only
    assert "No child of yours is called “Zoë” here." in text(coach.post(LIST, {"q": "Zoë"}))


def test_children_are_filtered_by_cohort(cast, client_for):
    head = client_for(cast.head_coach)
    read = text(head.get(LIST, {"cohort": cast.cohort.pk}))
    assert "Mira T." in read
    assert "Ivo T." not in read
    assert {"Mira T.", "Ivo T."} <= {
        name for name in ("Mira T.", "Ivo T.") if name in text(head.get(LIST, {"cohort": "x"}))
    }


def test_a_child_in_two_cohorts_stands_in_both_and_one_in_none_apart(cast, client_for, today):
    cast.child.enrolments.create(cohort=cast.other_cohort, start=today)
    Enrolment.objects.filter(child=cast.other_child).update(end=today - dt.timedelta(days=1))
    head = client_for(cast.head_coach)
    assert text(head.get(LIST)).count("Mira T.") == 2
    assert "Ivo T." not in text(head.get(LIST))
    assert "In none of your cohorts now 1 Ivo T." in text(head.get(LIST, {"cohort": "without"}))
    assert "Ivo T." in text(head.post(LIST, {"q": "ivo"}))


def test_htmx_gets_the_found_part_alone(coach):
    part = coach.post(LIST, {"q": "mir"}, headers={"HX-Request": "true"})
    assert part.content.decode().strip().startswith('<div id="found"')
    assert part.headers["Vary"].count("HX-Request") == 1


def test_the_list_runs_to_further_pages(cast, coach):
    for n in range(100):
        ChildFactory(given_name=f"Aa{n}", cohort=cast.cohort)
    assert "Page 1 of 2" in text(coach.get(LIST))
    assert "Mira T." in text(coach.get(LIST, {"page": 2}))
    assert "Write more of the name." not in text(coach.get(LIST))


def test_a_name_that_too_many_bear_asks_for_more_of_it(cast, coach):
    for n in range(101):
        ChildFactory(given_name=f"Aa{n}", cohort=cast.cohort)
    assert "Write more of the name." in text(coach.post(LIST, {"q": "aa"}))
    assert "Write more of the name." not in text(coach.post(LIST, {"q": "aa10"}))


def test_a_name_in_an_address_is_not_looked_for(coach):
    """What stands in an address is kept by browsers, proxies and logs."""
    assert "Mira T." in text(coach.get(LIST, {"q": "Zoë"}))
    page = coach.post(LIST, {"q": "mir"}).content.decode()
    assert "q=mir" not in page


def test_an_empty_list_says_how_to_begin(client_for, cast):
    lonely = UserFactory(role="coach")
    assert "Ask the head coach to give you one." in text(client_for(lonely).get(LIST))
    CohortFactory(coached_by=[lonely])
    assert "No children yet" in text(client_for(lonely).get(LIST))


# A child


def test_home_and_people_of_a_child_are_on_one_page(cast, coach):
    answer_kit(cast.child, [ItemFactory(slug="towel")], cast.guardian)
    answer = coach.get(page("child", cast.child))
    assert_well_made(answer)
    read = text(answer)
    for words in (
        "Mira T. 11 years, born 15 June 2015",
        "Own Parent own.parent@example.org",
        "Mira’s own sign-in",
        "Own cohort since",
        "At home towel said 4 November by Own Parent",
    ):
        assert words in read


# Adding and editing


@pytest.fixture
def head(cast, client_for):
    return client_for(cast.head_coach)


LEA = {"given_name": " lea  Maria ", "family_initial": "b", "birth_date": "2014-02-03", "sex": ""}


def test_a_child_is_added_to_a_cohort(cast, head, today):
    answer = head.post(reverse("athletes:new_child"), LEA | {"cohort": cast.cohort.pk})
    lea = Child.objects.get(given_name="lea Maria")
    assert answer.headers["location"] == page("child", lea)
    assert (lea.family_initial, lea.birth_date, lea.sex) == ("B", dt.date(2014, 2, 3), "")
    assert (lea.enrolments.get().cohort, lea.enrolments.get().start) == (cast.cohort, today)


def test_sex_is_optional_and_asked_with_its_reason(head):
    answer = head.get(reverse("athletes:new_child"))
    assert_well_made(answer)
    assert "Optional. Only for estimating the growth spurt" in text(answer)


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"given_name": ""}, "Give the given name."),
        ({"given_name": "x" * 41}, "A given name has at most 40 letters."),
        ({"given_name": "42"}, "“42” does not read like a given name."),
        ({"family_initial": ""}, "Give the first letter of the family name."),
        ({"family_initial": "Ba"}, "Only the first letter of the family name, please."),
        ({"family_initial": "4"}, "One letter, please"),
        ({"birth_date": ""}, "Give the birth date."),
        ({"birth_date": "soon"}, "Give the day as day, month and year"),
        ({"birth_date": "2026-11-05"}, "This birth date is in the future."),
        ({"birth_date": "2022-11-05"}, "This child would be 3. Fledge is for ages 4 to 21."),
        ({"birth_date": "2004-11-04"}, "This birth date makes 22 years."),
        ({"cohort": ""}, "Choose a cohort: children train in one."),
        ({"cohort": "none"}, "This cohort is not one of yours."),
    ],
)
def test_each_wrong_entry_is_refused_at_its_field_and_adds_nobody(cast, head, wrong, message):
    if wrong.get("cohort") == "none":
        wrong = {"cohort": 999_999}
    before = Child.objects.count()
    answer = head.post(reverse("athletes:new_child"), LEA | {"cohort": cast.cohort.pk} | wrong)
    assert answer.status_code == 200
    assert message in errors_of(answer)
    assert Child.objects.count() == before


@pytest.mark.parametrize("birth_date", ["2022-11-04", "2004-11-05"])
def test_the_youngest_and_the_oldest_are_welcome(cast, head, birth_date):
    fields = LEA | {"cohort": cast.cohort.pk, "birth_date": birth_date}
    assert head.post(reverse("athletes:new_child"), fields).status_code == 302


def test_the_same_child_twice_is_refused_at_the_name_whatever_the_case(cast, head):
    same = {"given_name": "MIRA", "family_initial": "t", "birth_date": "15.06.2015"}
    answer = head.post(reverse("athletes:new_child"), LEA | same | {"cohort": cast.cohort.pk})
    assert "A child with this name and birth date is already here." in errors_of(answer)
    assert Child.objects.filter(given_name__iexact="mira").count() == 1


def test_a_child_added_at_the_same_moment_is_refused_at_the_name_too(cast, head, monkeypatch):
    # As if the other one came between the form's own look and the database's.
    monkeypatch.setattr(Child.objects, "named", lambda *_: Child.objects.none())
    monkeypatch.setattr(Child, "validate_constraints", lambda *_, **__: None)
    same = {"given_name": "Mira", "family_initial": "T", "birth_date": "2015-06-15"}
    answer = head.post(reverse("athletes:new_child"), LEA | same | {"cohort": cast.cohort.pk})
    assert "already here" in errors_of(answer)


def test_editing_changes_the_child_and_tells_planners_of_another_age(
    cast, head, told, django_capture_on_commit_callbacks
):
    facts = {"given_name": "Mira", "family_initial": "T", "birth_date": "2015-06-15", "sex": ""}
    with django_capture_on_commit_callbacks(execute=True):
        head.post(page("edit_child", cast.child), facts | {"sex": "female"})
        assert told == []
        head.post(page("edit_child", cast.child), facts | {"birth_date": "2016-06-15"})
    cast.child.refresh_from_db()
    assert (cast.child.sex, cast.child.birth_date) == ("", dt.date(2016, 6, 15))
    assert told == [("Mira", "age")]


def test_a_refused_edit_keeps_what_was_typed_and_changes_nothing(cast, head):
    typed = {"given_name": "Mirabel", "family_initial": "T", "birth_date": "2030-01-01"}
    answer = head.post(page("edit_child", cast.child), typed)
    assert 'value="Mirabel"' in answer.content.decode()
    assert "<h1>Mira T.</h1>" in answer.content.decode()
    cast.child.refresh_from_db()
    assert cast.child.given_name == "Mira"


# Growing fast


def test_growing_fast_is_set_with_what_it_does_and_cleared(cast, coach, today):
    answer = coach.get(page("growth", cast.child))
    assert "While Mira grows fast, landings are halved and nothing gets harder." in text(answer)
    answer = coach.post(page("growing", cast.child), {"until": "2027-01-31"}, follow=True)
    assert "Until 31 January 2027, landings are halved for Mira T." in text(answer)
    cast.child.refresh_from_db()
    assert cast.child.growing_fast_until == dt.date(2027, 1, 31)
    coach.post(page("growing", cast.child), {"until": "", "no_longer": "1"})
    cast.child.refresh_from_db()
    assert cast.child.growing_fast_until is None


@pytest.mark.parametrize(
    ("until", "message"),
    [
        ("", "Choose a day."),
        ("x", "Give the day as day, month and year"),
        ("2026-11-03", "This day is over. Choose today or later."),
        ("2028-11-04", "At most a year ahead"),
    ],
)
def test_a_wrong_day_for_growing_is_refused_at_its_field(cast, coach, until, message):
    answer = coach.post(page("growing", cast.child), {"until": until})
    assert message in errors_of(answer)
    assert_well_made(answer)
    cast.child.refresh_from_db()
    assert cast.child.growing_fast_until is None


# Queries


def queries_of(client, address) -> int:
    with CaptureQueriesContext(connection) as captured:
        assert client.get(address).status_code == 200
    return len(captured)


def test_the_list_takes_as_many_queries_for_many_children_as_for_few(cast, coach, today):
    spare_the_knee(cast.child, cast.coach, today)  # one of them says who looked
    few = queries_of(coach, LIST)
    for n in range(12):
        child = ChildFactory(cohort=cast.cohort, guardian=UserFactory())
        spare_the_knee(child, cast.coach, today)
        answer_kit(child, [ItemFactory(slug=f"thing-{n}")], cast.coach)
    assert queries_of(coach, LIST) == few <= 13


def test_a_childs_page_takes_as_many_queries_with_much_to_show_as_with_little(cast, coach, today):
    answer_kit(cast.child, [ItemFactory(slug="towel")], cast.coach)
    few = queries_of(coach, page("child", cast.child))  # one of them says who looked
    answer_kit(cast.child, [ItemFactory(slug=f"thing-{n}") for n in range(9)], cast.coach)
    spare_the_knee(cast.child, cast.coach, today)
    for n in range(9):
        easy = ExerciseFactory()
        place(cast.child, PathwayFactory(chain=[easy, ExerciseFactory()]), easy, cast.coach)
        cast.child.guardianships.create(guardian=UserFactory())
        cast.child.enrolments.create(cohort=CohortFactory(), start=today)
        Invitation.objects.invite(f"{n}@example.org", "guardian", cast.coach, cast.child)
    assert queries_of(coach, page("child", cast.child)) == few <= 14
