"""What is sent to a child and what is decided about it is recorded, too; see
`athletes/0021_record_changes`. Of a sent session the head, not its exercises: those stand in a
revision that never changes, and would be most of the table."""

from django.db import migrations

RECORDED = {
    "program_assignedsession": (
        "session_id",
        "name",
        "date",
        "place",
        "published_at",
        "published_by_id",
        "closed_at",
    ),
    "program_resolution": ("finding", "action", "until", "to_id", "sentence", "undone_at"),
}
TIMES = {
    "INSERT": "REFERENCING NEW TABLE AS new_rows",
    "UPDATE": "REFERENCING OLD TABLE AS old_rows NEW TABLE AS new_rows",
    "DELETE": "REFERENCING OLD TABLE AS old_rows",
}


def record(table, columns):
    names = ", ".join(f"'{column}'" for column in columns)
    return "".join(
        f"CREATE TRIGGER record_{when.lower()} AFTER {when} ON {table} {rows}"
        f" FOR EACH STATEMENT EXECUTE FUNCTION record_changes({names});"
        for when, rows in TIMES.items()
    )


def record_no_more(table):
    return "".join(f"DROP TRIGGER record_{when.lower()} ON {table};" for when in TIMES)


class Migration(migrations.Migration):
    dependencies = [("program", "0034_row_security"), ("athletes", "0021_record_changes")]

    operations = [
        migrations.RunSQL(record(table, columns), record_no_more(table))
        for table, columns in RECORDED.items()
    ]
