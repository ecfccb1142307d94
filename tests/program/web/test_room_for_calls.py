"""Counted in pages of memory that the kernel has to give: a chunk mapped anew is at least one."""

import resource

from program.web.room_for_calls import make_room

TIMES = 100
DEPTHS = 120  # of some 20 words at least, so that an end of a chunk (2,048 words) lies between


def pages_taken_at_each_depth(_request=None) -> list[int]:
    """For calling something a hundred times, from ever further down."""
    return [_from(depth) for depth in range(DEPTHS)]


def _from(depth: int) -> int:
    return _from(depth - 1) if depth else _pages_taken()


def _pages_taken() -> int:
    before = resource.getrusage(resource.RUSAGE_THREAD).ru_minflt
    for _ in range(TIMES):
        _called(5)
    return resource.getrusage(resource.RUSAGE_THREAD).ru_minflt - before


def _called(more: int) -> None:
    if more:
        _called(more - 1)


def test_calls_at_the_end_of_a_chunk_take_memory_each_time_and_with_room_they_do_not():
    pages_taken_at_each_depth()
    assert max(pages_taken_at_each_depth()) >= TIMES
    make_room(pages_taken_at_each_depth)(None)
    assert max(make_room(pages_taken_at_each_depth)(None)) < TIMES / 10
