"""The papers of a release name all that is shipped, and never say that all is well unasked."""

import json
import subprocess
from dataclasses import replace
from importlib import metadata

import pytest

from tests.release import audit, bill, licence_tables, licences, shipped
from tests.release.__main__ import REFUSED, UNASKED, WELL, main

FILES, PACKAGES = shipped.own_files(), {each.name: each for each in shipped.packages()}
FONTS = [each for each in FILES if "vendor" in each.path]


@pytest.fixture(scope="module")
def written() -> dict:
    return bill.of(FILES, list(PACKAGES.values()))


def named(components: list[dict], kind: str) -> dict[str, dict]:
    return {each["name"]: each for each in components if each["type"] == kind}


# The bill of materials


def test_the_bill_names_what_the_program_installs_and_no_tool_of_its_developers(written):
    libraries = named(written["components"], "library")
    assert {"django", "psycopg-binary", "av", "pyrage", "boto3", "rpds-py"} <= libraries.keys()
    assert not {"pytest", "mypy", "rcpchgrowth", "pip-audit"} & libraries.keys()
    assert libraries["django"]["version"] == metadata.version("django")


def test_the_bill_names_every_file_that_lies_in_vendor_with_its_licence(written):
    files = named(written["components"], "file")
    lying = [path for path in (shipped.REPOSITORY / "static/vendor").rglob("*") if path.is_file()]
    assert len(lying) == 8
    for path in lying:
        found = files[str(path.relative_to(shipped.REPOSITORY))]
        assert found["licenses"] == [
            {"expression": "Apache-2.0" if path.name == "README.md" else "OFL-1.1"}
        ]


def test_every_hash_is_that_of_the_file_as_it_lies_there(written):
    files = named(written["components"], "file")
    said = subprocess.run(
        ["sha256sum", "manage.py", "static/js/app.js"],
        cwd=shipped.REPOSITORY,
        capture_output=True,
        text=True,
    )
    for line in said.stdout.splitlines():
        digest, name = line.split()
        assert files[name]["hashes"] == [{"alg": "SHA-256", "content": digest}]
    assert len(PACKAGES["segno"].files) > 10
    assert shipped.altered(PACKAGES["segno"]) == []


def test_a_file_that_was_changed_after_it_was_installed_is_found():
    segno = PACKAGES["segno"]
    first, *rest = segno.files
    changed = replace(segno, files=(replace(first, sha256="0" * 64), *rest))
    assert shipped.altered(changed) == [f"segno: {first.path}"]


def test_the_bill_is_valid_by_the_schema_of_cyclonedx_which_refuses_another():
    """Of one package with libraries inside and the fonts: all of it takes half a minute."""
    small = bill.of(FONTS, [PACKAGES["psycopg-binary"]])
    assert bill.fault(json.dumps(small)) is None
    assert bill.fault(json.dumps({**small, "components": [{"name": "of no type"}]}))


def test_the_same_release_has_the_same_bill(written):
    assert bill.of(shipped.own_files(), shipped.packages()) == written


# Licences


def test_all_that_is_shipped_is_under_a_licence_that_goes_with_apache():
    assert licences.refused(FILES, list(PACKAGES.values())) == []


def test_a_part_of_gpl_is_let_in_by_its_own_name_alone():
    of_a_video = shipped.Package(
        "av", "1", "MIT", (), (shipped.Part("libx264", "", "GPL-2.0-or-later"),)
    )
    another = shipped.Package(
        "other", "1", "MIT", (), (shipped.Part("libx264", "", "GPL-2.0-or-later"),)
    )
    assert licences.refused([], [of_a_video]) == []
    assert licences.refused([], [another]) == ["other: libx264 is under GPL-2.0-or-later"]


def test_what_nobody_has_said_the_licence_of_is_refused():
    unsaid = shipped.Package("other", "1", None, (), ())
    font = shipped.ShippedFile("static/vendor/new.woff2", "0" * 64, None)
    assert licences.refused([font], [unsaid]) == [
        "static/vendor/new.woff2 is under nothing that is known",
        "other is under nothing that is known",
    ]


@pytest.mark.parametrize(
    ("expression", "goes"),
    [
        ("MIT OR GPL-2.0-only", True),
        ("MIT AND GPL-2.0-only", False),
        ("(MIT OR AGPL-3.0-only) AND Zlib", True),
        ("Apache-2.0 WITH LLVM-exception", True),
        ("GPL-3.0-only WITH LLVM-exception", False),
    ],
)
def test_one_of_several_licences_is_enough_and_all_of_several_must_go(expression, goes):
    assert licences.goes_with_ours(expression) is goes


def test_no_line_of_the_tables_is_about_something_that_is_not_shipped():
    for name in licence_tables.LICENCE_OF_PACKAGE:
        assert PACKAGES[name].licence == licence_tables.LICENCE_OF_PACKAGE[name]
        assert metadata.metadata(name).get("License-Expression") is None, name
    for name, parts in licence_tables.WITHIN_WHEELS.items():
        assert parts.keys() <= {part.name for part in PACKAGES[name].parts}


# Known weaknesses


def answered(monkeypatch, stdout: str, code: int) -> None:
    def run(words, **_):
        return subprocess.CompletedProcess(words, code, stdout, "no name could be resolved")

    monkeypatch.setattr(audit.subprocess, "run", run)


DJANGO = shipped.Package("django", "6.1.3", "BSD-3-Clause", (), ())


def told(**django) -> str:
    return json.dumps({"dependencies": [{"name": "django", **django}], "fixes": []})


def test_a_package_that_was_skipped_is_not_taken_for_one_without_weaknesses(monkeypatch):
    """pip-audit says "No known vulnerabilities found", status 0, where it reached nobody."""
    answered(monkeypatch, told(skip_reason="not found and could not be audited"), 0)
    result = audit.of([DJANGO])
    assert (result.weak, result.unasked) == ([], ["django"])


def test_a_package_that_the_answer_leaves_out_was_not_asked_about(monkeypatch):
    answered(monkeypatch, json.dumps({"dependencies": []}), 0)
    assert audit.of([DJANGO]).unasked == ["django"]


def test_an_audit_that_broke_off_has_asked_about_nothing(monkeypatch):
    answered(monkeypatch, "Traceback (most recent call last):", 1)
    assert audit.of([DJANGO]).unasked == ["django"]


def test_a_known_weakness_is_told_with_where_it_is_mended(monkeypatch):
    weak = {"id": "PYSEC-1", "aliases": ["CVE-1"], "fix_versions": ["6.1.4"]}
    answered(monkeypatch, told(version="6.1.3", vulns=[weak]), 1)
    result = audit.of([DJANGO])
    assert result.weak == ["django 6.1.3: PYSEC-1 (CVE-1), mended in 6.1.4"]
    assert result.unasked == []


@pytest.fixture
def small_release(monkeypatch):
    """The fonts and two packages, about which nobody answers."""
    two = [PACKAGES["six"], PACKAGES["segno"]]
    monkeypatch.setattr(shipped, "own_files", lambda: FONTS)
    monkeypatch.setattr(shipped, "packages", lambda: two)
    answered(monkeypatch, "", 1)
    return two


def test_the_command_says_that_nobody_was_asked_and_so_does_its_status(
    small_release, tmp_path, capsys
):
    assert main([str(tmp_path)]) == UNASKED
    assert "NOT DONE for 2 of 2 packages" in capsys.readouterr().out
    assert "NOT DONE for 2 of 2 packages" in (tmp_path / "weaknesses.txt").read_text()
    assert {path.name for path in tmp_path.iterdir()} == {
        "fledge.cdx.json",
        "licences.txt",
        "weaknesses.txt",
    }
    assert "OFL-1.1" in (tmp_path / "licences.txt").read_text()


def test_the_command_is_well_where_everything_is_answered(small_release, monkeypatch, tmp_path):
    well = [{"name": each.name, "version": each.version, "vulns": []} for each in small_release]
    answered(monkeypatch, json.dumps({"dependencies": well}), 0)
    assert main([str(tmp_path)]) == WELL


def test_the_command_refuses_a_licence(small_release, monkeypatch, tmp_path):
    monkeypatch.delitem(licences.ALLOWED, "BSD-3-Clause")
    assert main([str(tmp_path)]) == REFUSED


def test_the_command_refuses_a_file_that_was_changed(small_release, monkeypatch, tmp_path):
    monkeypatch.setattr(shipped, "altered", lambda each: [f"{each.name}: x"])
    assert main([str(tmp_path)]) == REFUSED
