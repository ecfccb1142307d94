"""What is chosen and decided for children, in one line of a test."""

from program.fit.choosing import chosen_for
from program.publish.deciding import Said, Word, decide
from program.publish.fitting import fit_and_check


def set_override(slot, child, exercise, note, by, at, because=""):
    said = Said(by=by, at=at, note=note, because=because)
    decide(slot.part.session, [Word(slot, child, exercise)], said)


def choose_for(session, children):
    """What each of these children gets; `session` is fetched `with_plan()`."""
    fitted, words = fit_and_check(session, children)
    return chosen_for(fitted, children, words)
