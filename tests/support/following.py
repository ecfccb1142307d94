"""What the follow-along is tested with: a session of two exercises, and a voice to listen to."""

import datetime as dt

from playwright.sync_api import Page

from athletes.models import Child
from program.models import AssignedSession
from tests.support.family import assign, give

LISTENING = """
  globalThis.spoken = [];
  globalThis.SpeechSynthesisUtterance = class { constructor(text) { this.text = text; } };
  Object.defineProperty(globalThis, "speechSynthesis", { value: {
    pending: false, cancel() {}, getVoices: () => [{}], addEventListener() {},
    speak(utterance) { globalThis.spoken.push(utterance.text); },
  } });
"""
"""A voice that writes down what it says, where the browser of a test has none."""


def step_and_hold(child: Child, other: Child, day: dt.date) -> AssignedSession:
    """Get ready 10, left 20, change 4, right 20, drink 20, get ready 10, a hold of 20. The step has
    an easier option, which stands in a session of the other child's as well."""
    session = assign(child, day)
    easier = give(assign(other, day), "Step down from a book", revision__sides="each")
    give(
        session,
        "Slow step down",
        revision__sides="each",
        revision__loads=["knee"],
        revision__moves=[],
        rounds=1,
        amount=4,
        easier_revision=easier.revision,
        easier_amount=3,
        easier_tempo="3-1-1-0",
    )
    hold = {"revision__measure": "seconds", "revision__tempo": "", "revision__loads": ["shoulder"]}
    give(session, "Front plank", part=1, rounds=1, amount=20, revision__moves=[], **hold)
    return session


def tap(page: Page, name: str) -> None:
    """The button of that name which is shown; others wait on screens that are not."""
    page.get_by_role("button", name=name, exact=True).locator("visible=true").click()
