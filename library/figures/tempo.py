"""Tempo: lowering, pause, lifting, pause, in seconds; "X" is as fast as it can be controlled."""

from __future__ import annotations

FAST_SECONDS = 0.5  # common practice for a brisk but controlled half-repetition
LONGEST = 20.0


def tempo_seconds(tempo: str) -> tuple[float, float, float, float]:
    """The four durations of "3-1-1-0". Raises ValueError saying what is allowed."""
    parts = tempo.strip().upper().split("-")
    wrong = f"tempo {tempo!r} must be four numbers such as 3-1-1-0, X for a fast way down or up"
    if len(parts) != 4:
        raise ValueError(wrong)
    seconds = []
    for position, part in enumerate(parts):
        moving = position in (0, 2)
        if part == "X" and moving:
            seconds.append(FAST_SECONDS)
            continue
        try:
            number = float(part)
        except ValueError:
            raise ValueError(wrong) from None
        if not 0 <= number <= LONGEST:
            raise ValueError(f"{wrong}; each part is 0 to {LONGEST:g}")
        seconds.append(number)
    return seconds[0], seconds[1], seconds[2], seconds[3]
