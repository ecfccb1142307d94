"""What the threat model and the ASVS page point at is there; that it holds is for those tests."""

import re
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parents[2]
DOCS = REPOSITORY / "program/docs"
A_PATH = re.compile(r"`((?:\.ci|athletes|library|program|static|templates|tests)/[^`*…]*)`")
CHAPTERS = 17


@pytest.mark.parametrize("paper", ["threat-model.md", "asvs.md"])
def test_everything_a_paper_points_at_is_there(paper):
    text = (DOCS / paper).read_text()
    named = set(A_PATH.findall(text))
    assert len(named) > 20
    assert {path for path in named if not (REPOSITORY / path).exists()} == set()
    linked = set(re.findall(r"\]\(([\w./-]+\.md)\)", text))
    assert linked
    assert {page for page in linked if not (DOCS / page).exists()} == set()


def test_each_chapter_of_the_standard_has_its_say_and_no_claim_is_without_its_place():
    text = (DOCS / "asvs.md").read_text()
    assert re.findall(r"^## V(\d+) ", text, re.MULTILINE) == [str(n + 1) for n in range(CHAPTERS)]
    rows = [line.split("|")[1:-1] for line in text.splitlines() if line.startswith("| ")]
    claims = [[cell.strip(" *") for cell in row] for row in rows if row[0].strip() != "subject"]
    states = {state for _, state, _ in claims}
    assert {"met", "partly"} <= states <= {"met", "partly", "not", "does not apply"}
    assert [
        subject for subject, state, where in claims if state != "does not apply" and not where
    ] == []
