"""What the athletes app tells whoever plans for the children, without knowing who that is."""

from enum import StrEnum

from django.dispatch import Signal


class Circumstance(StrEnum):
    """What about a child changed."""

    KIT = "kit"
    RESTRICTION = "restriction"
    PLACEMENT = "placement"
    GROWTH = "growth"
    AGE = "age"
    COHORT = "cohort"


circumstances_changed = Signal()
"""Sent once per change, after it is committed, with `child` (Child) and `what` (Circumstance).

A receiver that fails is logged and undoes nothing: what was said about the child stays said.
"""
