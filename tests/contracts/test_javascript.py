"""The tests that are JavaScript: the follow-along's clock and wishes, what a phone keeps and has
still to send, and the builder's saving."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

TESTS = Path(__file__).resolve().parents[1] / "js"


def test_our_javascript_passes_its_own_tests():
    node = shutil.which("node")
    if node is None:
        if os.environ.get("CI") == "true":
            pytest.fail("node is needed for the tests in JavaScript, and CI does without no test.")
        pytest.skip("no node here to run the tests in JavaScript")
    files = sorted(str(path) for path in TESTS.glob("*.test.js"))
    assert files
    ran = subprocess.run([node, "--test", *files], capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr
