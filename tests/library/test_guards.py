"""What the database holds by itself, whoever writes: revisions and pathways."""

import itertools
import threading
import time

import psycopg
import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction

from library.models import Exercise, ExerciseRevision, Lateral, Pathway, Step
from program.config.grants import GRANTS
from tests.support.factories import ExerciseFactory, PathwayFactory, RevisionFactory

IMMUTABLE = "An exercise revision is never changed; write a new one."
BACK_TO_START = "This step would lead back to where it starts."
HARDER = "One of these two is harder than the other."
WORDS = {"change": "Deeper.", "ready": "Eight calm ones."}


def refused(message):
    return pytest.raises(IntegrityError, match=message)


# Revisions


@pytest.mark.django_db
@pytest.mark.parametrize(
    "write",
    [
        lambda revision: ExerciseRevision.objects.update(name="Other"),
        lambda revision: revision.save(),
        lambda revision: revision.save(update_fields=["stop"]),
        lambda revision: ExerciseRevision.objects.bulk_update([revision], ["stop"]),
        lambda revision: ExerciseRevision.objects.update_or_create(
            pk=revision.pk, defaults={"stop": "Never."}
        ),
        lambda revision: connection.cursor().execute(
            "UPDATE library_exerciserevision SET stop = stop"
        ),
    ],
    ids=["update", "save", "save one field", "bulk_update", "update_or_create", "sql"],
)
def test_a_revision_is_never_changed(write):
    revision = ExerciseFactory().current
    said = ExerciseRevision.objects.filter(pk=revision.pk).values().get()
    with refused(IMMUTABLE), transaction.atomic():
        write(revision)
    assert ExerciseRevision.objects.filter(pk=revision.pk).values().get() == said


@pytest.fixture
def web_role(transactional_db):
    """A connection of the role that serves pages, with the rights that migrating gives it."""
    server = connection.settings_dict
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1 FROM pg_roles WHERE rolname = 'fledge_web'")
        if cursor.fetchone() is None:
            pytest.skip("the given DATABASE_URL has no role fledge_web")
        cursor.execute(GRANTS.format(role='"fledge_web"'))
    with psycopg.connect(
        host=server["HOST"], port=server["PORT"], dbname=server["NAME"], user="fledge_web"
    ) as as_web:
        as_web.autocommit = True
        yield as_web


def test_the_web_role_changes_no_revision_and_lifts_no_guard(web_role):
    exercise = ExerciseFactory()
    assert web_role.execute("SELECT count(*) FROM library_exerciserevision").fetchone() == (1,)
    with pytest.raises(psycopg.errors.RestrictViolation, match=IMMUTABLE):
        web_role.execute("UPDATE library_exerciserevision SET name = 'Other'")
    for lifting in (
        "ALTER TABLE library_exerciserevision DISABLE TRIGGER revision_is_immutable",
        "DROP TRIGGER revision_is_immutable ON library_exerciserevision",
        "DROP TRIGGER step_closes_no_cycle ON library_step",
        "SET session_replication_role = replica",
        "CREATE OR REPLACE FUNCTION library_revision_is_immutable() RETURNS trigger "
        "LANGUAGE plpgsql AS 'BEGIN RETURN NEW; END'",
    ):
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            web_role.execute(lifting)
    exercise.current.refresh_from_db()
    assert exercise.current.name != "Other"


def test_the_web_role_closes_no_circle(web_role):
    easy, hard = ExerciseFactory(), ExerciseFactory()
    pathway = PathwayFactory(chain=[easy, hard])
    with pytest.raises(psycopg.errors.CheckViolation, match=BACK_TO_START):
        web_role.execute(
            "INSERT INTO library_step (pathway_id, easier_id, harder_id, change, ready)"
            " VALUES (%s, %s, %s, '', '')",
            [pathway.pk, hard.pk, easy.pk],
        )


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("said", "constraint"),
    [
        ({"low": 0}, "usual_dose_lies_in_its_range"),
        ({"low": 9, "usual": 8}, "usual_dose_lies_in_its_range"),
        ({"usual": 13, "high": 12}, "usual_dose_lies_in_its_range"),
        ({"high": 601}, "usual_dose_lies_in_its_range"),
        ({"measure": "seconds"}, "tempo_only_for_repetitions"),
        ({"tempo": "0-0-0-0"}, "tempo_can_be_read"),
        ({"tempo": "3-1-1"}, "tempo_can_be_read"),
        ({"tempo": "3-X-1-0"}, "tempo_can_be_read"),
        ({"tempo": "11-0-1-0"}, "tempo_can_be_read"),
        ({"loads": ["knee", "tail"]}, "regions_are_known"),
        ({"moves": ["tail"]}, "regions_are_known"),
        ({"moves": ["ankle", "knee"]}, "a_region_loads_or_moves"),
        ({"contacts": -1}, "contacts_of_one_repetition"),
        ({"minimum_age": 3}, "minimum_age_is_a_childs_age"),
        ({"other_names": [""]}, "other_names_are_few_and_none_is_empty"),
        ({"other_names": list("abcdefghi")}, "other_names_are_few_and_none_is_empty"),
        ({"setup_seconds": 601}, "set_up_takes_ten_minutes_at_most"),
        ({"pattern": "dance"}, "pattern_is_known"),
        ({"sides": "left"}, "sides_are_known"),
        ({"pattern": "jump", "no_landing_because": ""}, "a_landing_lands_or_says_why_not"),
        (
            {"pattern": "skip", "contacts": 2, "loads": ["knee"]},
            "a_landing_lands_or_says_why_not",
        ),
        (
            {"pattern": "land", "contacts": 1, "loads": ["ankle"]},
            "a_landing_lands_or_says_why_not",
        ),
        ({"pattern": "jump", "no_landing_because": "ok."}, "why_nothing_lands_is_in_words"),
        (
            {"pattern": "jump", "contacts": 1, "no_landing_because": "the toes stay down"},
            "why_nothing_lands_is_in_words",
        ),
    ],
)
def test_a_revision_that_makes_no_sense_is_refused(said, constraint):
    exercise = ExerciseFactory()
    with pytest.raises(DatabaseError, match=constraint), transaction.atomic():
        RevisionFactory(exercise=exercise, number=2, **said)


@pytest.mark.django_db
@pytest.mark.parametrize("tempo", ["", "3-1-1-0", "X-0-X-0", "10-10-10-10", "0-0-0-1"])
def test_a_tempo_that_can_be_read_is_kept(tempo):
    assert ExerciseFactory(revision__tempo=tempo).current.tempo == tempo


# Pathways


@pytest.fixture
def chain(db):
    """A pathway from the easiest, 0, to the hardest, 9."""
    exercises = [ExerciseFactory() for _ in range(10)]
    return PathwayFactory(chain=exercises), exercises


def test_a_step_to_itself_is_refused(chain):
    pathway, exercises = chain
    with pytest.raises(IntegrityError), transaction.atomic():
        pathway.steps.create(easier=exercises[3], harder=exercises[3], **WORDS)


@pytest.mark.parametrize(("low", "high"), [(0, 1), (2, 7), (0, 9)])
def test_a_step_back_is_refused_however_far_down(chain, low, high):
    pathway, exercises = chain
    with refused(BACK_TO_START), transaction.atomic():
        pathway.steps.create(easier=exercises[high], harder=exercises[low], **WORDS)
    assert pathway.steps.count() == 9


def test_a_circle_within_one_statement_is_refused(db):
    one, two, three = (ExerciseFactory() for _ in range(3))
    pathway = PathwayFactory()
    around = [
        Step(pathway=pathway, easier=easier, harder=harder, **WORDS)
        for easier, harder in [(one, two), (two, three), (three, one)]
    ]
    with refused(BACK_TO_START), transaction.atomic():
        Step.objects.bulk_create(around)
    assert not pathway.steps.exists()


def test_a_step_turned_round_is_refused_where_that_closes_a_circle(chain):
    pathway, exercises = chain
    shortcut = pathway.steps.create(easier=exercises[0], harder=exercises[2], **WORDS)
    with refused(BACK_TO_START), transaction.atomic():
        Step.objects.filter(pk=shortcut.pk).update(easier=exercises[2], harder=exercises[0])


def test_a_step_may_be_worded_anew_and_a_shortcut_added(chain):
    pathway, exercises = chain
    pathway.steps.update(ready="Ten calm ones.")
    pathway.steps.create(easier=exercises[0], harder=exercises[9], **WORDS)
    assert pathway.steps.count() == 10


def test_another_pathway_may_see_it_the_other_way_round(chain):
    _, exercises = chain
    PathwayFactory(chain=[exercises[1], exercises[0]])


def test_a_lateral_between_easier_and_harder_is_refused(chain):
    pathway, exercises = chain
    for low, high in [(0, 1), (1, 6)]:
        for one, other in itertools.permutations((exercises[low], exercises[high])):
            with refused(HARDER), transaction.atomic():
                Lateral.between(pathway, one, other).save()


def test_a_step_that_climbs_back_over_laterals_is_refused(chain):
    pathway, exercises = chain
    beside, further = ExerciseFactory(), ExerciseFactory()
    Lateral.between(pathway, exercises[0], beside).save()
    Lateral.between(pathway, further, beside).save()
    for easier in (exercises[0], exercises[4]):
        with refused(BACK_TO_START), transaction.atomic():
            pathway.steps.create(easier=easier, harder=further, **WORDS)
    pathway.steps.create(easier=further, harder=exercises[4], **WORDS)


def test_laterals_in_a_ring_are_all_as_hard_and_no_circle(db):
    pathway = PathwayFactory()
    ring = [ExerciseFactory() for _ in range(4)]
    for one, other in itertools.pairwise([*ring, ring[0]]):
        Lateral.between(pathway, one, other).save()
    assert pathway.laterals.count() == 4


# Two people at once


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("second_is", ["step", "lateral"])
def test_of_two_edits_at_once_that_contradict_each_other_one_wins(second_is):
    low, high = ExerciseFactory(), ExerciseFactory()
    pathway = PathwayFactory()
    first_has_written, first_may_commit = threading.Event(), threading.Event()
    outcomes = {}

    def first() -> None:
        with transaction.atomic():
            pathway.steps.create(easier=low, harder=high, **WORDS)
            first_has_written.set()
            assert first_may_commit.wait(10)
        outcomes["first"] = "written"

    def second() -> None:
        assert first_has_written.wait(10)
        if second_is == "step":
            pathway.steps.create(easier=high, harder=low, **WORDS)
        else:
            Lateral.between(pathway, low, high).save()
        outcomes["second"] = "written"

    def run(act) -> None:
        try:
            act()
        except IntegrityError as error:
            outcomes[act.__name__] = str(error).splitlines()[0]
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=[act]) for act in (first, second)]
    for thread in threads:
        thread.start()
    try:
        wait_until_somebody_waits()
        assert "second" not in outcomes
    finally:
        first_may_commit.set()
        for thread in threads:
            thread.join(10)
    assert outcomes == {
        "first": "written",
        "second": BACK_TO_START if second_is == "step" else HARDER,
    }
    assert (pathway.steps.count(), pathway.laterals.count()) == (1, 0)


def wait_until_somebody_waits() -> None:
    """Until a second transaction queues for the pathway's lock."""
    for _ in range(200):
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1 FROM pg_locks WHERE locktype = 'advisory' AND NOT granted")
            if cursor.fetchone():
                return
        time.sleep(0.05)
    raise AssertionError("nobody waited for anybody")


@pytest.mark.django_db
def test_a_published_exercise_has_something_to_say():
    with pytest.raises(IntegrityError), transaction.atomic():
        Exercise.objects.create(slug="empty", status="published")


@pytest.mark.django_db
def test_a_pathway_is_of_a_known_pattern():
    with pytest.raises(IntegrityError), transaction.atomic():
        Pathway.objects.create(slug="dance", name="Dance", pattern="dance", about="")
