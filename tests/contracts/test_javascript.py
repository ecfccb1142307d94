"""The follow-along's own tests, which are JavaScript: its clock, its wishes, what it queues."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

TESTS = Path(__file__).resolve().parents[1] / "js"


def test_the_follow_along_passes_its_own_tests():
    node = shutil.which("node")
    if node is None:
        if os.environ.get("CI") == "true":
            pytest.fail("node is needed for the follow-along's tests, and CI does without no test.")
        pytest.skip("no node here to run the follow-along's tests")
    files = sorted(str(path) for path in TESTS.glob("*.test.js"))
    assert files
    ran = subprocess.run([node, "--test", *files], capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr
