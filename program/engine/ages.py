"""Limits that go by age."""

from collections.abc import Iterable


def limit_for_age(age: int, younger: Iterable[tuple[int, int]], older: int) -> int:
    """A limit for a child of this age, in completed years: `younger` has pairs of an age and the
    limit below it, the lowest age first, and `older` is for whom none of them is."""
    return next((limit for below, limit in younger if age < below), older)
