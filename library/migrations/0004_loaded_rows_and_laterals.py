"""What loading from files remembers, what a revision may say, and laterals that fit the steps."""

from importlib import import_module

import django.core.validators
from django.db import migrations, models

TEMPO = "^(?!0-0-0-0$)([0-9]|10|X)-([0-9]|10)-([0-9]|10|X)-([0-9]|10)$"
REGIONS = [
    "head_neck",
    "shoulder",
    "elbow",
    "wrist_hand",
    "upper_back",
    "lower_back",
    "hip_groin",
    "thigh",
    "knee",
    "lower_leg",
    "ankle",
    "foot",
]

STEPS_ALONE = import_module("library.migrations.0002_guards").PATHWAYS_NEVER_CLOSE_A_CYCLE
FORGET_STEPS_ALONE = (
    "DROP TRIGGER step_closes_no_cycle ON library_step;"
    "DROP FUNCTION library_step_closes_no_cycle();"
)

# A lateral says "just as hard", so a way back may run over laterals too, in either direction. One
# walk serves both tables: is there a way from one exercise to another, and does it climb? Both
# triggers take the same lock of the pathway, so that of two edits at once the second sees the first.
STEPS_AND_LATERALS = """
CREATE FUNCTION library_leads_to(
    pathway bigint, start bigint, goal bigint, has_climbed boolean, but_step bigint, but_lateral bigint
) RETURNS boolean LANGUAGE sql AS $$
    WITH RECURSIVE link(here, there, climbs) AS (
        SELECT easier_id, harder_id, true FROM library_step
        WHERE pathway_id = pathway AND id IS DISTINCT FROM but_step
        UNION ALL
        SELECT one_id, other_id, false FROM library_lateral
        WHERE pathway_id = pathway AND id IS DISTINCT FROM but_lateral
        UNION ALL
        SELECT other_id, one_id, false FROM library_lateral
        WHERE pathway_id = pathway AND id IS DISTINCT FROM but_lateral
    ),
    reached(exercise, climbed) AS (
        SELECT start, has_climbed
        UNION
        SELECT link.there, reached.climbed OR link.climbs
        FROM reached JOIN link ON link.here = reached.exercise
    )
    SELECT EXISTS (SELECT 1 FROM reached WHERE exercise = goal AND climbed)
$$;

CREATE FUNCTION library_step_closes_no_cycle() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_advisory_xact_lock('library_step'::regclass::oid::int, NEW.pathway_id::int);
    IF library_leads_to(NEW.pathway_id, NEW.harder_id, NEW.easier_id, true, NEW.id, NULL) THEN
        RAISE EXCEPTION 'This step would lead back to where it starts.'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'step_closes_no_cycle';
    END IF;
    RETURN NEW;
END $$;

CREATE TRIGGER step_closes_no_cycle
BEFORE INSERT OR UPDATE ON library_step
FOR EACH ROW EXECUTE FUNCTION library_step_closes_no_cycle();

CREATE FUNCTION library_lateral_closes_no_cycle() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_advisory_xact_lock('library_step'::regclass::oid::int, NEW.pathway_id::int);
    IF library_leads_to(NEW.pathway_id, NEW.one_id, NEW.other_id, false, NULL, NEW.id)
    OR library_leads_to(NEW.pathway_id, NEW.other_id, NEW.one_id, false, NULL, NEW.id) THEN
        RAISE EXCEPTION 'One of these two is harder than the other.'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'lateral_closes_no_cycle';
    END IF;
    RETURN NEW;
END $$;

CREATE TRIGGER lateral_closes_no_cycle
BEFORE INSERT OR UPDATE ON library_lateral
FOR EACH ROW EXECUTE FUNCTION library_lateral_closes_no_cycle();
"""
FORGET_STEPS_AND_LATERALS = (
    "DROP TRIGGER lateral_closes_no_cycle ON library_lateral;"
    "DROP FUNCTION library_lateral_closes_no_cycle();"
    f"{FORGET_STEPS_ALONE}"
    "DROP FUNCTION library_leads_to(bigint, bigint, bigint, boolean, bigint, bigint);"
)


class Migration(migrations.Migration):
    dependencies = [("library", "0003_edition")]

    operations = [
        migrations.RunSQL(FORGET_STEPS_ALONE, STEPS_ALONE),
        migrations.RunSQL(STEPS_AND_LATERALS, FORGET_STEPS_AND_LATERALS),
        migrations.CreateModel(
            name="LoadedRow",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.CharField(max_length=200, unique=True)),
                ("digest", models.CharField(max_length=64)),
            ],
        ),
        migrations.RemoveIndex(model_name="exerciserevision", name="revision_name_trigrams"),
        migrations.AlterField(
            model_name="exerciserevision",
            name="tempo",
            field=models.CharField(
                blank=True,
                help_text="lowering-pause-lifting-pause in seconds, X is fast",
                max_length=12,
                validators=[
                    django.core.validators.RegexValidator(
                        TEMPO,
                        "A tempo is four numbers of seconds from 0 to 10, lowering-pause-lifting-pause, such as 3-1-1-0. Lowering or lifting may be X for fast. Four zeros take no time.",
                    )
                ],
            ),
        ),
        migrations.AlterField(
            model_name="item", name="about", field=models.CharField(blank=True, max_length=250)
        ),
        migrations.AlterField(
            model_name="item", name="slug", field=models.SlugField(max_length=60, unique=True)
        ),
        migrations.AlterField(
            model_name="pathway", name="slug", field=models.SlugField(max_length=60, unique=True)
        ),
        migrations.AddConstraint(
            model_name="exerciserevision",
            constraint=models.CheckConstraint(
                name="tempo_can_be_read",
                condition=models.Q(("tempo", ""), ("tempo__regex", TEMPO), _connector="OR"),
            ),
        ),
        migrations.AddConstraint(
            model_name="exerciserevision",
            constraint=models.CheckConstraint(
                name="regions_are_known",
                condition=models.Q(
                    ("loads__contained_by", REGIONS), ("moves__contained_by", REGIONS)
                ),
            ),
        ),
        migrations.AddConstraint(
            model_name="exerciserevision",
            constraint=models.CheckConstraint(
                name="a_region_loads_or_moves",
                condition=models.Q(("loads__overlap", models.F("moves")), _negated=True),
            ),
        ),
        migrations.AddConstraint(
            model_name="exerciserevision",
            constraint=models.CheckConstraint(
                name="contacts_of_one_repetition",
                condition=models.Q(("contacts__range", (0, 10))),
            ),
        ),
    ]
