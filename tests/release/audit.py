"""Which known weaknesses the shipped packages have, asked of pip-audit."""

import json
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.release.shipped import Package


@dataclass(frozen=True)
class Audit:
    """Weaknesses in words, and the packages about which nobody has answered."""

    weak: list[str]
    unasked: list[str]


def of(packages: Sequence[Package]) -> Audit:
    """What is known of these very versions.

    pip-audit ends with status 0 and "No known vulnerabilities found" where it could reach nobody:
    it skips what it finds no answer about. So only what it has answered by name counts as asked.
    """
    answers = _answers(packages)
    unasked = [each.name for each in packages if each.name not in answers]
    return Audit([line for each in answers.values() for line in _weaknesses(each)], unasked)


def _answers(packages: Sequence[Package]) -> dict[str, dict[str, Any]]:
    with tempfile.TemporaryDirectory() as folder:
        pins = Path(folder) / "requirements.txt"
        pins.write_text("".join(f"{each.name}=={each.version}\n" for each in packages))
        options = ["--no-deps", "--disable-pip", "--format=json", "--progress-spinner=off"]
        done = subprocess.run(
            [sys.executable, "-m", "pip_audit", "--requirement", pins, *options],
            capture_output=True,
            text=True,
        )
    try:
        told = json.loads(done.stdout)["dependencies"]
    except ValueError:
        return {}
    return {each["name"]: each for each in told if "vulns" in each}


def _weaknesses(answer: dict[str, Any]) -> list[str]:
    return [
        f"{answer['name']} {answer['version']}: {each['id']} ({', '.join(each['aliases'])}), "
        f"mended in {', '.join(each['fix_versions']) or 'no version yet'}"
        for each in answer["vulns"]
    ]
