"""What the athletes app tells whoever plans for the children, without knowing who that is."""

from enum import StrEnum

from django.dispatch import Signal


class Circumstance(StrEnum):
    """What about a child changed. LIMIT: something it holds was found to break a limit, though
    nothing about the child had changed, as where an exercise is described otherwise. PAIN:
    something was reported, answered or taken back. RECALL: an exercise was taken back for
    everybody, or given back."""

    KIT = "kit"
    RESTRICTION = "restriction"
    PLACEMENT = "placement"
    GROWTH = "growth"
    AGE = "age"
    COHORT = "cohort"
    PAIN = "pain"
    LIMIT = "limit"
    RECALL = "recall"


circumstances_changed = Signal()
"""Sent once per change, in its transaction, with `child` (Child) and `what` (Circumstance).

What follows is written with the change or the change is not: a receiver that fails undoes both.
"""
