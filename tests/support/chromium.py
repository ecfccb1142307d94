"""The browser that tests and benchmarks drive."""

from shutil import which
from typing import Any

WITH_WINDOWS = which("chromium")
# Debian's other build of it draws the same pages without windows around them, for two thirds of the
# processor time. It keeps no page in memory to go back to.
CHROMIUM = which("chromium-headless-shell") or WITH_WINDOWS

# Letters as wide as on any screen: the shell makes them whole pixels wide.
LAUNCH: dict[str, Any] = {"executable_path": CHROMIUM, "args": ["--font-render-hinting=none"]}
