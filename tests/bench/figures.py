"""What the figures cost: `uv run python -m tests.bench.figures`.

Goals: all of them drawn from cold within 10 s; one from a warm cache within 5 ms; none over 6 KB
compressed; each at its own tempo and at the slowest. Processor time of one core, so that what else
runs on the machine does not count. A page with twelve of them is measured by `family_page`.
"""

import gzip
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass

from library.figures import drawing, movement
from library.figures.movement import Movement

SLOWEST = "10-10-10-10"


@dataclass(frozen=True)
class Cost:
    """Seconds for all from cold, the slowest from warm in ms, and the largest in KB, compressed."""

    cold: float
    warm: float
    size: float


def cost_of(drawn: Callable[[Movement], str]) -> Cost:
    moves = [movement.load(slug) for slug in movement.slugs()]
    cold, texts = _timed(lambda: [drawn(each) for each in moves])
    warm = [_timed(lambda each=each: drawn(each))[0] for each in moves]
    sizes = [len(gzip.compress(text.encode())) / 1024 for text in texts]
    return Cost(cold, max(warm) * 1000, max(sizes))


def _timed[T](act: Callable[[], T]) -> tuple[float, T]:
    start = time.process_time()
    done = act()
    return time.process_time() - start, done


def main() -> None:
    reading, _ = _timed(lambda: [movement.load(slug) for slug in movement.slugs()])
    print(f"{len(movement.slugs())} movement files read in {reading:.1f} s")
    for name, drawn in (
        ("moving at its own tempo", drawing.svg),
        (f"moving at {SLOWEST}", lambda moves: drawing.svg(moves, SLOWEST)),
        ("start beside end", drawing.pair),
        ("still", drawing.still),
    ):
        cost = cost_of(drawn)
        print(
            f"{name}: all from cold {cost.cold:.1f} s, the slowest from warm {cost.warm:.2f} ms, "
            f"the largest {cost.size:.1f} KB"
        )
    sizes = [len(gzip.compress(drawing.svg(movement.load(s)).encode())) for s in movement.slugs()]
    print(f"the usual one: {statistics.median(sizes) / 1024:.1f} KB")


if __name__ == "__main__":
    main()
