"""What is taken to be at home until somebody says. Imports no Django."""

from typing import Final

USUAL_HOME_KIT: Final = frozenset(
    {"wall", "dining-chair", "towel", "socks", "cushion", "books", "water-bottle", "mat-space"}
)
"""By slug. Common practice: things in every home, and no floor, stair, table or open space, because
those decide whether sliding and jumping are safe."""
