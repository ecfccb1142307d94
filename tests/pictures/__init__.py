"""The pictures of README.md, taken of the demo.

`uv run python -m tests.pictures [FOLDER]` takes them all anew, into program/docs/pictures/ where no
folder is named. Day, hour and seed are always the same, so a picture changes where its page does.
"""

from pathlib import Path

REPOSITORY = Path(__file__).resolve().parents[2]
PICTURES = REPOSITORY / "program/docs/pictures"


def file_name(station: str, scheme: str) -> str:
    return f"{station}-{scheme}.webp"
