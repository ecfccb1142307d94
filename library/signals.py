"""What the library tells whoever plans with it, without knowing who that is."""

from django.dispatch import Signal

exercise_retired = Signal()
"""Sent within the transaction, with `exercise` (Exercise), `by` (whoever did it) and `reason`: why
it is to be taken back from whoever has it, or "" where it stays with them."""
