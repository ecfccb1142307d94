"""Of a list that waits, an erased child takes its own rows along and no other's."""

import datetime as dt

import pytest

from athletes.importing.drafts import draft_of, forget
from athletes.models import ImportDraft
from tests.support.factories import ChildFactory

pytestmark = pytest.mark.django_db

NOW = dt.datetime(2026, 11, 4, 18, 30, tzinfo=dt.UTC)
HEADINGS = "Given name;Family name;Birth date;Guardian email"


@pytest.fixture
def ann():
    return ChildFactory(given_name="Ann", family_initial="T", birth_date=dt.date(2015, 4, 3))


def waiting(cast, *rows):
    content = "\n".join([HEADINGS, *rows]).encode()
    return draft_of(content, cast.cohort, cast.coach, NOW)


def left_of(draft):
    return [" ".join(cells[:3]) for _, *cells in ImportDraft.objects.get(pk=draft.pk).table["rows"]]


def test_its_rows_go_and_the_rest_of_the_list_stays(cast, ann):
    draft = waiting(
        cast,
        "Ann;Taylor;2015-04-03;",
        "ANN;t.;03.04.2015;",
        "Ann;Taylor;3 April 2015;",
        "Ann;Underhill;2015-04-03;",
        "Ann;Taylor;2014-04-03;",
        "Hannah;Taylor;2015-05-03;",
        "Ada;Hannaford;2015-04-03;ann@example.org",
    )
    forget(ann)
    assert left_of(draft) == [
        "Ann Underhill 2015-04-03",
        "Ann Taylor 2014-04-03",
        "Hannah Taylor 2015-05-03",
        "Ada Hannaford 2015-04-03",
    ]


@pytest.mark.parametrize(
    "row",
    [
        "Ann;Taylor;4/3/2015;",  # the third of April, where the month comes first
        "Ann;Taylor;some day in spring;",
        "Ann;;2015-04-03;",
        "Taylor;Ann;2015-04-03;",
        "x;Ann;Taylor;2015-04-03;a;b",
    ],
)
def test_a_row_that_may_be_of_the_child_goes_too(cast, ann, row):
    draft = waiting(cast, row, "Ada;B;2015-02-03;")
    forget(ann)
    assert left_of(draft) == ["Ada B 2015-02-03"]


def test_a_list_without_anybody_left_goes_as_a_whole(cast, ann):
    draft = waiting(cast, "Ann;Taylor;2015-04-03;")
    forget(ann)
    assert not ImportDraft.objects.filter(pk=draft.pk).exists()


def test_what_was_taken_over_already_holds_nobody(cast, ann):
    draft = waiting(cast, "Ada;B;2015-02-03;")
    ImportDraft.objects.filter(pk=draft.pk).update(table={}, used_at=NOW)
    forget(ann)
    assert ImportDraft.objects.filter(pk=draft.pk).exists()
