"""What the library tells whoever has made use of it, without knowing who that is.

All are sent in the transaction of the change: what follows is written with it, or it is not, and a
receiver that fails undoes both.
"""

from django.dispatch import Signal

exercises_described = Signal()
"""Sent when exercises have new current revisions, with `exercises`, their keys."""

pathways_changed = Signal()
"""Sent when steps or laterals came or went, with `exercises`: the keys of all that stand on these
pathways or stood there before."""

exercise_retired = Signal()
"""Sent with `exercise` (Exercise), `by` (whoever did it) and `reason`: why it is to be taken back
from whoever has it, or "" where it stays with them."""
