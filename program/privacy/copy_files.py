"""A copy as somebody gets it: a zip with a page to read, a table for each kind of data, the same as
JSON with its schema, and the photos and clips."""

import csv
import datetime as dt
import io
import json
import zipfile
from typing import Any

from django.template.loader import render_to_string

from library.shared.csv_cells import as_text
from library.shared.uploads.keeping import uploads
from program.privacy.child_data import ChildData, Table
from program.privacy.schema import VERSION, schema


def zipped(data: ChildData, now: dt.datetime) -> bytes:
    """The whole copy. No file's name says whose it is."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as out:
        out.writestr("read-me-first.html", _page(data, now))
        out.writestr("everything.json", _json(as_json(data, now)))
        out.writestr("everything.schema.json", _json(schema()))
        for table in data.tables:
            if table.rows:
                out.writestr(f"tables/{table.held.name}.csv", _csv(table))
        for name in data.uploads:
            if uploads().exists(name):
                with uploads().open(name) as file:
                    out.writestr(f"photos-and-clips/{name}", file.read())
    return packed.getvalue()


def as_json(data: ChildData, now: dt.datetime) -> dict[str, Any]:
    return {
        "version": VERSION,
        "made": now.isoformat(timespec="seconds"),
        "tables": {table.held.name: table.rows for table in data.tables},
    }


def _json(content: Any) -> str:
    return json.dumps(content, ensure_ascii=False, indent=2)


def _page(data: ChildData, now: dt.datetime) -> str:
    return render_to_string("program/privacy/copy.html", {"data": data, "now": now})


def _csv(table: Table) -> bytes:
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(table.labels)
    writer.writerows([as_text(cell) for cell in row] for row in table.cells)
    return text.getvalue().encode("utf-8-sig")  # so that spreadsheets read it as UTF-8
