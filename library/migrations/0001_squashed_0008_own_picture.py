"""The library's tables, and what no form may be trusted to hold: revisions never change, pathways
never close a cycle, every change renews the edition."""

import uuid

import django.contrib.postgres.fields
import django.contrib.postgres.indexes
import django.contrib.postgres.search
import django.core.validators
import django.db.models.deletion
from django.contrib.postgres.operations import CreateExtension, TrigramExtension
from django.db import migrations, models

REVISIONS_NEVER_CHANGE = """
CREATE FUNCTION library_revision_is_immutable() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'An exercise revision is never changed; write a new one.'
        USING ERRCODE = 'restrict_violation', CONSTRAINT = 'revision_is_immutable';
END $$;

CREATE TRIGGER revision_is_immutable
BEFORE UPDATE ON library_exerciserevision
FOR EACH ROW EXECUTE FUNCTION library_revision_is_immutable();
"""


# A lateral says "just as hard", so a way back may run over laterals too, in either direction. One
# walk serves both tables: is there a way from one exercise to another, and does it climb? Both
# triggers take the same lock of the pathway, so that of two edits at once the second sees the first:
# under READ COMMITTED the query after it sees what the other one committed. The pair of numbers keeps
# the lock apart from any other advisory lock: the first is the steps' table's own id.
PATHWAYS_NEVER_CLOSE_A_CYCLE = """
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


OF_THE_EDITION = (
    "library_item",
    "library_exercise",
    "library_exerciserevision",
    "library_need",
    "library_need_items",
    "library_pathway",
    "library_step",
    "library_lateral",
)
A_CHANGE_RENEWS_THE_EDITION = """
CREATE FUNCTION library_renew_edition() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    INSERT INTO library_edition (id, stamp) VALUES (1, gen_random_uuid())
    ON CONFLICT (id) DO UPDATE SET stamp = excluded.stamp;
    RETURN NULL;
END $$;
""" + "".join(
    f"CREATE TRIGGER renew_edition AFTER INSERT OR UPDATE OR DELETE OR TRUNCATE ON {table}"
    " FOR EACH STATEMENT EXECUTE FUNCTION library_renew_edition();"
    for table in OF_THE_EDITION
)


# One word against another, from 0 (unlike) to 1 (the same). A word may be unfinished, have an ending
# too many, hold one typing error (two, if it is seven letters or longer), or sound the same in
# English. Below four letters nearly every word is one error away from another, so there none counts.
# Between words of one length a swap of neighbours counts as one error, like a wrong letter.
CLOSENESS = """
CREATE FUNCTION library_closeness(sought text, said text) RETURNS real
LANGUAGE plpgsql IMMUTABLE PARALLEL SAFE AS $$
DECLARE
    errors real;
BEGIN
    IF said = sought THEN RETURN 1; END IF;
    IF starts_with(said, sought) THEN RETURN 0.95; END IF;
    IF length(sought) < 4 OR length(said) < 3 THEN RETURN 0; END IF;
    IF length(said) > 3 AND starts_with(sought, said) THEN RETURN 0.85; END IF;
    IF length(said) = length(sought) THEN
        errors := levenshtein(sought, said, 1, 1, 2) / 2.0;
    ELSE
        errors := levenshtein_less_equal(sought, said, 2);
    END IF;
    IF errors > 2 THEN RETURN 0; END IF;
    IF errors = 1 OR length(sought) > 6 THEN RETURN 0.8 - 0.1 * errors; END IF;
    RETURN CASE WHEN dmetaphone(sought) = dmetaphone(said) THEN 0.55 ELSE 0 END;
END $$;
"""

# Every word sought has to be like some word of the name or, for less, of the movement pattern; the
# likeness is their mean, and 0 where one of them is like none. Costly, so asked after other filters.
LIKENESS = """
CREATE FUNCTION library_likeness(sought text[], name text, pattern text) RETURNS real
LANGUAGE plpgsql IMMUTABLE PARALLEL SAFE COST 10000 AS $$
DECLARE
    names text[] := regexp_split_to_array(lower(name), '[^[:alnum:]]+');
    patterns text[] := string_to_array(pattern, '_');
    word text;
    said text;
    closest real;
    total real := 0;
BEGIN
    FOREACH word IN ARRAY sought LOOP
        closest := 0;
        FOREACH said IN ARRAY names LOOP
            closest := greatest(closest, library_closeness(word, said));
        END LOOP;
        FOREACH said IN ARRAY patterns LOOP
            closest := greatest(closest, 0.8 * library_closeness(word, said));
        END LOOP;
        IF closest = 0 THEN RETURN 0; END IF;
        total := total + closest;
    END LOOP;
    RETURN total / greatest(cardinality(sought), 1);
END $$;
"""


class Migration(migrations.Migration):
    replaces = [
        ("library", "0001_initial"),
        ("library", "0002_guards"),
        ("library", "0003_edition"),
        ("library", "0004_loaded_rows_and_laterals"),
        ("library", "0005_likeness"),
        ("library", "0006_own_movement"),
        ("library", "0007_exercise_notes"),
        ("library", "0008_own_picture"),
    ]

    initial = True

    dependencies = []

    operations = [
        TrigramExtension(),
        CreateExtension("fuzzystrmatch"),
        migrations.CreateModel(
            name="Item",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("slug", models.SlugField(max_length=60, unique=True)),
                ("name", models.CharField(max_length=60)),
                (
                    "kind",
                    models.CharField(
                        choices=[("thing", "thing"), ("floor", "floor"), ("space", "clear space")],
                        max_length=5,
                    ),
                ),
                ("about", models.CharField(blank=True, max_length=250)),
            ],
            options={
                "ordering": ["kind", "name"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("kind__in", ["thing", "floor", "space"])),
                        name="item_kind_is_known",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Pathway",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("slug", models.SlugField(max_length=60, unique=True)),
                ("name", models.CharField(max_length=60)),
                (
                    "pattern",
                    models.CharField(
                        choices=[
                            ("squat", "squat"),
                            ("single_leg", "single leg"),
                            ("hinge", "hinge"),
                            ("hamstring_slide", "hamstring slide"),
                            ("push", "push"),
                            ("pull", "pull"),
                            ("front_brace", "front brace"),
                            ("side_brace", "side brace and adductor"),
                            ("crawl", "crawl"),
                            ("jump", "jump"),
                            ("land", "land"),
                            ("skip", "skip and rhythm"),
                            ("calf_ankle", "calf and ankle"),
                            ("mobility", "mobility"),
                        ],
                        max_length=20,
                    ),
                ),
                ("about", models.TextField(max_length=600)),
            ],
            options={
                "ordering": ["name"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "pattern__in",
                                [
                                    "squat",
                                    "single_leg",
                                    "hinge",
                                    "hamstring_slide",
                                    "push",
                                    "pull",
                                    "front_brace",
                                    "side_brace",
                                    "crawl",
                                    "jump",
                                    "land",
                                    "skip",
                                    "calf_ankle",
                                    "mobility",
                                ],
                            )
                        ),
                        name="pathway_pattern_is_known",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Edition",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("stamp", models.UUIDField(default=uuid.uuid4)),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("id", 1)), name="there_is_one_edition"
                    )
                ],
            },
        ),
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
        migrations.CreateModel(
            name="Exercise",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("slug", models.SlugField(max_length=80, unique=True)),
                (
                    "status",
                    models.CharField(
                        choices=[
                            ("draft", "draft"),
                            ("published", "published"),
                            ("retired", "retired"),
                        ],
                        default="draft",
                        max_length=9,
                    ),
                ),
            ],
            options={
                "ordering": ["slug"],
            },
        ),
        migrations.CreateModel(
            name="ExerciseRevision",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.PositiveIntegerField()),
                ("name", models.CharField(max_length=80)),
                (
                    "pattern",
                    models.CharField(
                        choices=[
                            ("squat", "squat"),
                            ("single_leg", "single leg"),
                            ("hinge", "hinge"),
                            ("hamstring_slide", "hamstring slide"),
                            ("push", "push"),
                            ("pull", "pull"),
                            ("front_brace", "front brace"),
                            ("side_brace", "side brace and adductor"),
                            ("crawl", "crawl"),
                            ("jump", "jump"),
                            ("land", "land"),
                            ("skip", "skip and rhythm"),
                            ("calf_ankle", "calf and ankle"),
                            ("mobility", "mobility"),
                        ],
                        max_length=20,
                    ),
                ),
                (
                    "sides",
                    models.CharField(
                        choices=[
                            ("both", "both sides together"),
                            ("each", "each side"),
                            ("alternating", "alternating"),
                        ],
                        max_length=11,
                    ),
                ),
                (
                    "measure",
                    models.CharField(
                        choices=[
                            ("repetitions", "repetitions"),
                            ("seconds", "seconds"),
                            ("metres", "metres"),
                        ],
                        max_length=11,
                    ),
                ),
                (
                    "usual",
                    models.PositiveSmallIntegerField(
                        help_text="the usual dose, in the measure's unit"
                    ),
                ),
                ("low", models.PositiveSmallIntegerField(help_text="the least that makes sense")),
                ("high", models.PositiveSmallIntegerField(help_text="the most for a child")),
                (
                    "tempo",
                    models.CharField(
                        blank=True,
                        help_text="lowering-pause-lifting-pause in seconds, X is fast",
                        max_length=12,
                        validators=[
                            django.core.validators.RegexValidator(
                                "^(?!0-0-0-0$)([0-9]|10|X)-([0-9]|10)-([0-9]|10|X)-([0-9]|10)$",
                                "A tempo is four numbers of seconds from 0 to 10, lowering-pause-lifting-pause, such as 3-1-1-0. Lowering or lifting may be X for fast. Four zeros take no time.",
                            )
                        ],
                    ),
                ),
                (
                    "plain",
                    models.CharField(help_text="one sentence a parent understands", max_length=200),
                ),
                ("setup", models.TextField(max_length=600)),
                (
                    "cues",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=60), size=4
                    ),
                ),
                ("faults", models.JSONField(help_text="a list of {see, say}")),
                ("feel", models.CharField(max_length=300)),
                ("stop", models.CharField(max_length=300)),
                ("caution", models.CharField(blank=True, max_length=300)),
                (
                    "contacts",
                    models.DecimalField(
                        decimal_places=1,
                        default=0,
                        help_text="ground contacts in one repetition, second or metre",
                        max_digits=4,
                        validators=[
                            django.core.validators.MinValueValidator(0),
                            django.core.validators.MaxValueValidator(10),
                        ],
                    ),
                ),
                (
                    "loads",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=12), default=list
                    ),
                ),
                (
                    "moves",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=12), blank=True, default=list
                    ),
                ),
                ("minimum_age", models.PositiveSmallIntegerField(default=6)),
                ("watch", models.BooleanField(default=False, help_text="a grown-up watches")),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("created_by_name", models.CharField(blank=True, max_length=80)),
                (
                    "search",
                    models.GeneratedField(
                        db_persist=True,
                        expression=django.contrib.postgres.search.CombinedSearchVector(
                            django.contrib.postgres.search.CombinedSearchVector(
                                django.contrib.postgres.search.SearchVector(
                                    "name", config="english", weight="A"
                                ),
                                "||",
                                django.contrib.postgres.search.SearchVector(
                                    "plain", config="english", weight="B"
                                ),
                                django.contrib.postgres.search.SearchConfig("english"),
                            ),
                            "||",
                            django.contrib.postgres.search.SearchVector(
                                "setup", config="english", weight="C"
                            ),
                            django.contrib.postgres.search.SearchConfig("english"),
                        ),
                        output_field=django.contrib.postgres.search.SearchVectorField(),
                    ),
                ),
                (
                    "exercise",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="revisions",
                        to="library.exercise",
                    ),
                ),
                (
                    "movement",
                    models.CharField(
                        blank=True,
                        help_text="a figure of its own, as a movement file; empty: the figure drawn for the slug",
                        max_length=20000,
                    ),
                ),
                (
                    "picture",
                    models.CharField(blank=True, default="", editable=False, max_length=36),
                ),
                (
                    "picture_words",
                    models.CharField(
                        blank=True, help_text="what the picture shows", max_length=300
                    ),
                ),
            ],
            options={
                "ordering": ["exercise", "-number"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("exercise", "number"), name="revision_number_once_per_exercise"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("high__lte", 600),
                            ("low__gte", 1),
                            ("low__lte", models.F("usual")),
                            ("usual__lte", models.F("high")),
                        ),
                        name="usual_dose_lies_in_its_range",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("tempo", ""), ("measure", "repetitions"), _connector="OR"
                        ),
                        name="tempo_only_for_repetitions",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("minimum_age__range", (4, 18))),
                        name="minimum_age_is_a_childs_age",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "pattern__in",
                                [
                                    "squat",
                                    "single_leg",
                                    "hinge",
                                    "hamstring_slide",
                                    "push",
                                    "pull",
                                    "front_brace",
                                    "side_brace",
                                    "crawl",
                                    "jump",
                                    "land",
                                    "skip",
                                    "calf_ankle",
                                    "mobility",
                                ],
                            )
                        ),
                        name="pattern_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("sides__in", ["both", "each", "alternating"])),
                        name="sides_are_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("measure__in", ["repetitions", "seconds", "metres"])),
                        name="measure_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("tempo", ""),
                            (
                                "tempo__regex",
                                "^(?!0-0-0-0$)([0-9]|10|X)-([0-9]|10)-([0-9]|10|X)-([0-9]|10)$",
                            ),
                            _connector="OR",
                        ),
                        name="tempo_can_be_read",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "loads__contained_by",
                                [
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
                                ],
                            ),
                            (
                                "moves__contained_by",
                                [
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
                                ],
                            ),
                        ),
                        name="regions_are_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("loads__overlap", models.F("moves")), _negated=True),
                        name="a_region_loads_or_moves",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("contacts__range", (0, 10))),
                        name="contacts_of_one_repetition",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("movement", ""),
                            (
                                "movement__regex",
                                "^title = .*\\n\\[pose\\..*\\n\\[pose\\..*\\n\\[\\[phase\\]\\]\\nname = .*\\nseconds = ",
                            ),
                            _connector="OR",
                        ),
                        name="own_movement_has_two_poses_and_a_phase",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("picture__regex", "^([0-9a-f]{32}\\.(jpg|mp4))?$")),
                        name="own_picture_is_an_upload",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("movement", ""), ("picture", ""), _connector="OR"),
                        name="own_movement_or_own_picture",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("picture", ""), ("picture_words", "")),
                            models.Q(
                                models.Q(("picture", ""), _negated=True),
                                models.Q(("picture_words", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="own_picture_is_said_in_words",
                    ),
                ],
                "indexes": [
                    django.contrib.postgres.indexes.GinIndex(
                        fields=["search"], name="revision_search"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Need",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("position", models.PositiveSmallIntegerField()),
                ("what", models.CharField(max_length=100)),
                ("items", models.ManyToManyField(related_name="needs", to="library.item")),
                (
                    "revision",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="needs",
                        to="library.exerciserevision",
                    ),
                ),
            ],
            options={
                "ordering": ["revision", "position"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("revision", "position"), name="need_position_once"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Lateral",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "one",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="laterals_first",
                        to="library.exercise",
                    ),
                ),
                (
                    "other",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="laterals_second",
                        to="library.exercise",
                    ),
                ),
                (
                    "pathway",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="laterals",
                        to="library.pathway",
                    ),
                ),
            ],
            options={
                "ordering": ["pathway", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("pathway", "one", "other"), name="lateral_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("one__lt", models.F("other"))),
                        name="lateral_is_kept_lower_id_first",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Step",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("change", models.CharField(max_length=200)),
                ("ready", models.CharField(max_length=300)),
                (
                    "easier",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="steps_up",
                        to="library.exercise",
                    ),
                ),
                (
                    "harder",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="steps_down",
                        to="library.exercise",
                    ),
                ),
                (
                    "pathway",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="steps",
                        to="library.pathway",
                    ),
                ),
            ],
            options={
                "ordering": ["pathway", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("pathway", "easier", "harder"), name="step_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("easier", models.F("harder")), _negated=True),
                        name="step_leads_somewhere_else",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ExerciseNote",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("text", models.CharField(max_length=1000)),
                ("kept_at", models.DateTimeField()),
                ("kept_by_name", models.CharField(max_length=80)),
                ("removed_at", models.DateTimeField(null=True)),
                ("removed_by_name", models.CharField(blank=True, max_length=80)),
                (
                    "exercise",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="notes",
                        to="library.exercise",
                    ),
                ),
            ],
            options={
                "ordering": ["kept_at", "pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("text", ""), _negated=True),
                        name="a_note_says_something",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("removed_at__isnull", True), ("removed_by_name", "")),
                            models.Q(
                                ("removed_at__gte", models.F("kept_at")),
                                models.Q(("removed_by_name", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="a_note_is_removed_by_somebody_after_it_was_kept",
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="Exercise",
            name="current",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="library.exerciserevision",
            ),
        ),
        migrations.AddConstraint(
            model_name="Exercise",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("status", "published"), _negated=True),
                    ("current__isnull", False),
                    _connector="OR",
                ),
                name="published_exercise_has_a_current_revision",
            ),
        ),
        migrations.RunSQL(
            REVISIONS_NEVER_CHANGE,
            "DROP TRIGGER revision_is_immutable ON library_exerciserevision;"
            "DROP FUNCTION library_revision_is_immutable();",
        ),
        migrations.RunSQL(
            PATHWAYS_NEVER_CLOSE_A_CYCLE,
            "DROP TRIGGER lateral_closes_no_cycle ON library_lateral;"
            "DROP FUNCTION library_lateral_closes_no_cycle();"
            "DROP TRIGGER step_closes_no_cycle ON library_step;"
            "DROP FUNCTION library_step_closes_no_cycle();"
            "DROP FUNCTION library_leads_to(bigint, bigint, bigint, boolean, bigint, bigint);",
        ),
        migrations.RunSQL(
            A_CHANGE_RENEWS_THE_EDITION,
            "".join(f"DROP TRIGGER renew_edition ON {table};" for table in OF_THE_EDITION)
            + "DROP FUNCTION library_renew_edition();",
        ),
        migrations.RunSQL(CLOSENESS, "DROP FUNCTION library_closeness(text, text);"),
        migrations.RunSQL(LIKENESS, "DROP FUNCTION library_likeness(text[], text, text);"),
    ]
