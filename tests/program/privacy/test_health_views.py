"""Who looked at what of a child's health: written down by itself, read by its family, changed by
nobody."""

import datetime as dt

import pytest
from django.db import DatabaseError, connection, transaction
from django.urls import reverse

from athletes.models import Guardianship, HealthView
from library.shared.acting import acting_as
from tests.support.planning import queries_of

pytestmark = pytest.mark.django_db

NOON = dt.datetime(2026, 11, 4, 12, 0, tzinfo=dt.UTC)
LOOKED = HealthView.Kind


def looked():
    return {(view.person, view.child, view.kind) for view in HealthView.objects.all()}


def page(name, *parts):
    return reverse(name, args=parts)


def looked_at(child):
    return page("program:health_views", child.public_id)


def test_a_coach_who_opens_a_page_about_a_childs_health_is_written_down(cast, client_for):
    coach, child = client_for(cast.coach), cast.child
    for name in ("athletes:restrictions", "athletes:growth"):
        coach.get(page(name, child.public_id))
    coach.get(page("program:child_review", child.public_id))
    coach.get(page("program:child_day", child.public_id))
    kinds = (LOOKED.SPARED, LOOKED.GROWTH, LOOKED.REVIEW, LOOKED.SESSION)
    assert looked() == {(cast.coach, child, kind) for kind in kinds}


def test_looking_again_within_the_hour_is_the_same_look(cast, client_for, monkeypatch):
    coach, address = client_for(cast.coach), page("athletes:growth", cast.child.public_id)
    for minutes, rows in ((0, 1), (59, 1), (60, 2)):
        now = NOON + dt.timedelta(minutes=minutes)
        monkeypatch.setattr("django.utils.timezone.now", lambda now=now: now)
        coach.get(address)
        assert HealthView.objects.count() == rows


def test_family_is_not_written_down_nor_a_coach_who_looks_at_an_own_child(cast, client_for):
    Guardianship.objects.create(child=cast.child, guardian=cast.coach)
    for person in (cast.guardian, cast.athlete, cast.coach):
        client_for(person).get(page("athletes:restrictions", cast.child.public_id))
    assert not HealthView.objects.exists()


def test_who_is_turned_away_has_seen_nothing(cast, client_for):
    refused = client_for(cast.other_coach).get(page("athletes:growth", cast.child.public_id))
    assert refused.status_code == 404
    assert not HealthView.objects.exists()


def test_a_page_writes_in_its_readers_name_and_of_their_children_alone(cast):
    coach, mine, other = cast.coach, cast.child.pk, cast.other_child.pk
    write_down = HealthView.objects.write_down
    with acting_as(coach.pk):
        write_down(coach, LOOKED.CHILD, [mine], NOON)
        for person, child in ((cast.head_coach, mine), (coach, other)):
            with pytest.raises(DatabaseError, match="row-level"), transaction.atomic():
                write_down(person, LOOKED.GROWTH, [child], NOON)
    assert HealthView.objects.count() == 1


def view_of(cast):
    return HealthView.objects.create(
        person=cast.coach, child=cast.child, kind=LOOKED.GROWTH, at=NOON
    )


def test_nobody_changes_it_or_takes_it_away(cast):
    view = view_of(cast)
    for change in (
        lambda: HealthView.objects.update(kind=LOOKED.CHILD),
        lambda: HealthView.objects.update(person=None),
        view.delete,
    ):
        with transaction.atomic():
            change()
            with pytest.raises(DatabaseError, match="never changed"):
                connection.check_constraints()
            transaction.set_rollback(True)


def test_it_goes_with_the_child_and_outlives_the_coach(cast):
    view_of(cast)
    cast.cohort.coaches.clear()
    cast.coach.delete()
    connection.check_constraints()
    assert HealthView.objects.get().person is None
    cast.child.delete()
    connection.check_constraints()
    assert not HealthView.objects.exists()


def test_a_guardian_and_a_head_coach_read_it_in_words_and_nobody_else_does(cast, client_for):
    view_of(cast)
    for person in (cast.guardian, cast.head_coach):
        text = client_for(person).get(looked_at(cast.child)).content.decode()
        assert "Owning Coach opened the growth page" in " ".join(text.split())
        assert "4 November 2026" in text
    for person in (cast.coach, cast.athlete, cast.other_guardian):
        assert client_for(person).get(looked_at(cast.child)).status_code == 404
    held = client_for(cast.guardian).get(page("program:child_data", cast.child.public_id))
    assert looked_at(cast.child) in held.content.decode()


def test_the_newest_stands_first_page_by_page_in_as_many_queries(cast, client_for):
    parent = client_for(cast.guardian)
    view_of(cast)
    few = queries_of(parent, looked_at(cast.child))
    HealthView.objects.bulk_create(
        HealthView(
            person=cast.coach,
            child=cast.child,
            kind=LOOKED.SPARED,
            at=NOON + dt.timedelta(hours=hours),
        )
        for hours in range(1, 61)
    )
    assert queries_of(parent, looked_at(cast.child)) == few
    first = parent.get(looked_at(cast.child)).content.decode()
    assert first.count("opened the page on what is spared") == 50
    assert "opened the growth page" not in first
    second = parent.get(looked_at(cast.child) + "?page=2").content.decode()
    assert second.index("on what is spared") < second.index("the growth page")
