"""Figures: a movement described in a small file, drawn as a moving body.

``movement.load(slug)`` reads a file, ``movement.read_own`` a revision's own text,
``motion.frames`` plays it as skeletons, ``drawing.svg`` and ``drawing.still`` draw it,
``checks.findings`` measures it. ``README.md`` here says how to write a movement file. Nothing in
this package imports Django.
"""
