"""A coach's own choice for one child in one slot of one session, in one line of a test."""

from program.publish.deciding import Said, Word, decide


def set_override(slot, child, exercise, note, by, at, because=""):
    said = Said(by=by, at=at, note=note, because=because)
    decide(slot.part.session, [Word(slot, child, exercise)], said)
