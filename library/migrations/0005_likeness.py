"""How like a misspelt search is to the name of an exercise, word by word."""

from django.contrib.postgres.operations import CreateExtension
from django.db import migrations

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
    dependencies = [("library", "0004_loaded_rows_and_laterals")]

    operations = [
        CreateExtension("fuzzystrmatch"),
        migrations.RunSQL(CLOSENESS, "DROP FUNCTION library_closeness(text, text);"),
        migrations.RunSQL(LIKENESS, "DROP FUNCTION library_likeness(text[], text, text);"),
    ]
