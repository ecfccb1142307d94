"""`uv run python -m tests.known_truth`: see `tests.known_truth`."""

from tests.known_truth import DOCUMENT, SEED, sides

HEAD = f"""# What the rules say of children whose truth is known

Written by `uv run python -m tests.known_truth` (seed {SEED}); change the children or the rules and
write it anew. The children are invented, each with a truth nobody in the program can see
(`tests/known_truth/`). By chance a share of {{seasons}} seasons is off by up to 1.5 points, one
of 400 by up to 5.
"""


def document() -> str:
    head = HEAD.format(seasons=sides.SEASONS)
    return "\n".join((head, sides.text()))


if __name__ == "__main__":
    DOCUMENT.write_text(document())
