"""What the athletes app tells whoever plans for the children, without knowing who that is."""

from enum import StrEnum

from django.dispatch import Signal


class Circumstance(StrEnum):
    """What about a child changed, or around it: what its venue has, what an exercise it holds is
    said to be, where that stands on its pathway. PAIN: something was reported, answered or taken
    back. LIMIT: something it holds was found to break a limit, though nobody had told of a change.
    RECALL: an exercise was taken back for everybody, or given back. WAY_BACK: a way back began,
    took a step or ended. CONSENT: the family agrees to training, or does not. DECISION: a coach
    decided something for all its sessions, or took that back."""

    KIT = "kit"
    RESTRICTION = "restriction"
    PLACEMENT = "placement"
    GROWTH = "growth"
    AGE = "age"
    COHORT = "cohort"
    PAIN = "pain"
    VENUE = "venue"
    EXERCISE = "exercise"
    PATHWAY = "pathway"
    LIMIT = "limit"
    RECALL = "recall"
    WAY_BACK = "way_back"
    CONSENT = "consent"
    DECISION = "decision"


circumstances_changed = Signal()
"""Sent once per change, in its transaction, with `child` (Child) and `what` (Circumstance).

What follows is written with the change or the change is not: a receiver that fails undoes both.
"""

switched_off = Signal()
"""Sent with `person` (User), in the transaction that switches them off."""

invitation_accepted = Signal()
"""Sent with `invitation`, `person` (User) and `at`, in the transaction in which they come in."""

circumstances_of_many_changed = Signal()
"""The same, once for all whom one change concerns, with `children` (their keys) and `what`. They
are locked."""
