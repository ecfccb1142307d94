"""What a phone is told to keep, and whose it is."""

import datetime as dt
import json

import html5lib
import pytest
from django.urls import reverse

from library.models import Exercise
from program.common.devices import owner_key
from program.family.offline import to_keep
from tests.support.factories import MONDAY, BlockFactory, ExerciseFactory, SessionFactory
from tests.support.family import EVENING, WEDNESDAY, assign, give

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]


def test_a_family_keeps_its_week_and_nobody_elses(cast, client_for):
    own = assign(cast.child)
    assign(cast.other_child)
    assign(cast.child, MONDAY - dt.timedelta(days=1))
    assign(cast.child, WEDNESDAY + dt.timedelta(days=8))
    told = client_for(cast.guardian).get(reverse("program:to_keep")).json()
    ids = [cast.child.public_id, own.public_id]
    assert told["pages"] == [
        reverse("program:home"),
        reverse("program:family"),
        reverse("program:child_day", args=ids[:1]),
        *(
            reverse(f"program:{name}", args=ids)
            for name in ["session_day", "read", "follow", "log", "ask", "sheet"]
        ),
    ]


def test_another_sign_in_of_the_same_person_has_another_name_and_the_person_the_same(
    cast, client_for
):
    address = reverse("program:to_keep")
    names = {client_for(cast.guardian).get(address).json()["signIn"] for _ in range(2)}
    assert len(names) == 2
    assert owner_key(cast.guardian) == owner_key(cast.guardian) != owner_key(cast.nobody)


def test_the_drawings_that_its_pages_show_are_kept_at_the_tempo_they_are_shown_at(cast, client_for):
    session = assign(cast.child)
    easier = ExerciseFactory(slug="half-squat").current
    squat = {"tempo": "2-1-1-0", "easier_revision": easier, "easier_amount": 5}
    slot = give(session, "Squat", easier_tempo="1-0-1-0", **squat)
    Exercise.objects.filter(pk=slot.revision.exercise_id).update(slug="free-squat")
    parent = client_for(cast.guardian)
    kept = parent.get(reverse("program:to_keep")).json()["figures"]
    assert kept == [
        "/library/figures/free-squat.svg?side=left&pair",
        "/library/figures/free-squat.svg?side=left&tempo=2-1-1-0",
        "/library/figures/half-squat.svg?side=left&pair",
        "/library/figures/half-squat.svg?side=left&tempo=1-0-1-0",
    ]
    ids = [cast.child.public_id, session.public_id]
    for name in ("read", "sheet", "follow"):
        page = html5lib.parse(parent.get(reverse(f"program:{name}", args=ids)).content)
        shown = {each.get(at) for each in page.iter() for at in ("src", "srcset")} - {None}
        assert {each for each in shown if "figures" in each} <= set(kept)


def test_more_sessions_cost_no_more_queries(cast, django_assert_max_num_queries):
    give(assign(cast.child), "Squat")
    with django_assert_max_num_queries(20) as few:
        to_keep(cast.guardian, WEDNESDAY)
    for day in range(3):
        give(assign(cast.child, MONDAY + dt.timedelta(days=day)), f"Hop {day}")
    with django_assert_max_num_queries(len(few)):
        to_keep(cast.guardian, WEDNESDAY)


def test_the_worker_knows_its_release_and_is_asked_for_anew_every_time(client):
    answer = client.get(reverse("program:worker"))
    assert answer["Content-Type"].startswith("text/javascript")
    assert "no-cache" in answer["Cache-Control"]
    told = json.loads(answer.content.decode().split("\n")[0].removeprefix("const TOLD = ")[:-1])
    assert (told["signOut"], len(told["version"])) == (reverse("account_logout"), 16)


def test_the_release_changes_with_any_of_our_files(settings, tmp_path):
    from program.family.offline import _hash_of_release

    settings.BASE_DIR = tmp_path
    (tmp_path / "static").mkdir()
    (tmp_path / "static/a.css").write_text("a {}")
    before = _hash_of_release()
    (tmp_path / "static/a.css").write_text("b {}")
    assert _hash_of_release() != before


def test_an_app_can_be_made_of_it(client):
    told = client.get(reverse("program:manifest")).json()
    assert told["display"] == "standalone"
    assert [icon["sizes"] for icon in told["icons"]] == ["192x192", "512x512"]


def at_the_venue(cohort, days, published=True):
    return SessionFactory(
        block=BlockFactory(cohort=cohort),
        date=WEDNESDAY + dt.timedelta(days=days),
        place="venue",
        published_at=EVENING if published else None,
    )


def groups(client, query="") -> list[str]:
    return client.get(reverse("program:to_keep") + query).json()["pages"]


def test_a_coach_keeps_the_groups_logs_of_these_days_and_the_one_just_opened(cast, client_for):
    cast.cohort.coaches.add(cast.coach)
    near = [at_the_venue(cast.cohort, days) for days in (-1, 0, 3)]
    old = at_the_venue(cast.cohort, -9)
    at_the_venue(cast.cohort, 4)
    at_the_venue(cast.cohort, 1, published=False)
    foreign = at_the_venue(cast.other_cohort, 0)
    assign(cast.child)
    coach = client_for(cast.coach)

    def page(session):
        return reverse("program:group_log", args=[session.pk])

    assert groups(coach) == [page(each) for each in near]
    assert groups(coach, f"?group={old.pk}") == [page(each) for each in (old, *near)]
    for asked in (foreign.pk, "x", "9" * 30, ""):
        assert groups(coach, f"?group={asked}") == [page(each) for each in near]
    # Every cohort is a head coach's, and no tablet's.
    assert groups(client_for(cast.head_coach)) == []
    assert groups(client_for(cast.head_coach), f"?group={foreign.pk}") == [page(foreign)]


def test_what_is_fetched_only_to_be_kept_takes_no_message_from_its_reader(cast, client_for):
    coach = client_for(cast.coach)
    report = reverse("athletes:mail_setting")
    coach.post(report, {})
    said = "is-good"
    kept = coach.get(report, headers={"x-keeps": "1"}).content.decode()
    assert said not in kept
    assert said in coach.get(report).content.decode()


def test_a_coachs_page_keeps_nothing_but_a_groups_log(cast, client_for):
    session = at_the_venue(cast.cohort, 0)
    group = reverse("program:group_log", args=[session.pk])
    assert f"?group={session.pk}" in client_for(cast.coach).get(group).content.decode()
    page = client_for(cast.coach).get(reverse("program:week")).content.decode()
    assert "data-offline" not in page
    day = reverse("program:child_day", args=[cast.child.public_id])
    assert "data-offline" not in client_for(cast.coach).get(day).content.decode()
    assert "data-offline" in client_for(cast.guardian).get(day).content.decode()
