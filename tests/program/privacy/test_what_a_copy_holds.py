"""What a copy of everything about one child holds."""

import csv
import io
import json
import zipfile

import jsonschema
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from program.privacy.child_data import data_of
from program.privacy.copy_files import as_json, zipped
from program.privacy.declarations import OF_A_CHILD
from program.privacy.schema import schema
from tests.support.growing_up import grow
from tests.support.scene import NOW


def test_the_copy_is_as_the_published_schema_says_and_holds_every_kind(scene):
    made = json.loads(json.dumps(as_json(data_of(scene.own.child), NOW)))
    jsonschema.Draft202012Validator(schema()).validate(made)
    filled = {name for name, rows in made["tables"].items() if rows}
    assert len(filled) > 15
    assert {held.name for held in OF_A_CHILD} == set(made["tables"])


def test_the_schema_is_one_and_refuses_what_is_not_declared(scene):
    jsonschema.Draft202012Validator.check_schema(schema())
    made = as_json(data_of(scene.own.child), NOW)
    made["tables"]["painreport"][0]["more"] = "than declared"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(schema()).validate(json.loads(json.dumps(made)))


def unzipped(content):
    packed = zipfile.ZipFile(io.BytesIO(content))
    assert packed.testzip() is None
    return {name: packed.read(name) for name in packed.namelist()}


def test_it_holds_the_childs_own_words_and_photo_and_nothing_of_another_child(scene):
    files = unzipped(zipped(data_of(scene.own.child), NOW))
    page = files["read-me-first.html"].decode()
    assert "Is this low enough?" in page
    assert "At the bottom." in page  # what hurt, in words
    everything = b"".join(files.values()).decode(errors="replace")
    assert "Strangerschild" not in everything
    assert any(name.startswith("photos-and-clips/") for name in files)
    assert set(files) >= {"everything.json", "everything.schema.json", "tables/painreport.csv"}


def test_it_tells_no_address_and_no_key(scene):
    files = unzipped(zipped(data_of(scene.own.child), NOW))
    everything = b"".join(files.values()).decode(errors="replace")
    for person in scene.people.values():
        assert person.email not in everything


def test_a_table_has_its_labels_and_no_cell_is_a_formula(scene):
    scene.own.child.questions.update(text="=1+1")
    files = unzipped(zipped(data_of(scene.own.child), NOW))
    rows = list(csv.DictReader(io.StringIO(files["tables/question.csv"].decode("utf-8-sig"))))
    assert rows[0]["question"] == "'=1+1"
    assert rows[0]["asked by"] == "Own Parent"


def test_reading_everything_takes_as_many_queries_for_a_child_with_more(scene):
    with CaptureQueriesContext(connection) as few:
        data_of(scene.own.child)
    grow(scene, 3, "copy")
    with CaptureQueriesContext(connection) as many:
        data_of(scene.own.child)
    assert len(many) <= len(few) + 2  # tables that were empty before name what they point at
