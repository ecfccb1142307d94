"""Every figure in the library is right by measurement, at its own tempo and at a quick one."""

from __future__ import annotations

import pytest

from library.figures import checks, movement


@pytest.mark.parametrize("slug", movement.slugs())
def test_figure_is_right_by_measurement(slug: str) -> None:
    found = checks.findings(movement.load(slug))
    assert found == [], "\n".join(str(finding) for finding in found)
