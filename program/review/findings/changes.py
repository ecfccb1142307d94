"""What a change about a child did to its sessions ahead."""

from collections.abc import Iterator, Sequence
from typing import Final

from django.utils import timezone

from athletes.signals import Circumstance
from library.shared.dates import short_weekday_and_date
from program.models import Refit
from program.models.resolutions import Do, Kind
from program.review.children import Who
from program.review.finding import Action, Finding
from program.review.queries import ReviewRows

CHANGES: Final = {
    Circumstance.KIT: "What is at home has changed",
    Circumstance.RESTRICTION: "A restriction has changed",
    Circumstance.PLACEMENT: "A placement has changed",
    Circumstance.GROWTH: "Growing fast has changed",
    Circumstance.AGE: "The birth date has changed",
    Circumstance.COHORT: "The cohort has changed",
    Circumstance.VENUE: "What the venue has is different",
    Circumstance.EXERCISE: "An exercise is described otherwise",
    Circumstance.PATHWAY: "A pathway has changed",
    Circumstance.LIMIT: "A session held something not meant for this child",
    Circumstance.RECALL: "An exercise was taken back, or given back",
    Circumstance.WAY_BACK: "A way back began, took a step or ended",
    Circumstance.CONSENT: "The family has answered anew on training",
}


ABOUT_HEALTH: Final = frozenset(
    {
        Circumstance.PAIN,
        Circumstance.RESTRICTION,
        Circumstance.GROWTH,
        Circumstance.WAY_BACK,
        Circumstance.LIMIT,
        Circumstance.CONSENT,
    }
)
"""Looked at one by one."""


def change_findings(rows: ReviewRows) -> Iterator[Finding]:
    """One finding per child, however often something changed. A coach who places a child knows it:
    only what that holds up or takes back is told."""
    for child_id, refits in rows.refits.items():
        told = [each for each in refits if each.what != Circumstance.PLACEMENT or _costs(each)]
        if told:
            yield _changed(rows.who[child_id], told)


def _costs(refit: Refit) -> bool:
    return bool(refit.waiting or refit.withdrawn)


def _changed(who: Who, refits: Sequence[Refit]) -> Finding:
    newest = max(refits, key=lambda each: each.pk)
    on = timezone.localtime(newest.at).date()
    whats = dict.fromkeys(CHANGES[Circumstance(each.what)] for each in refits)
    headline = ", and ".join(whats)
    return Finding(
        key=f"{Kind.CHANGED}-{newest.pk}",
        kind=Kind.CHANGED,
        who=who,
        subjects=(newest.pk,),
        headline=headline,
        alike="" if any(each.what in ABOUT_HEALTH for each in refits) else headline,
        evidence=(f"{outcome_in_words(refits)} {short_weekday_and_date(on)}.",),
        actions=(Action(Do.SEEN, "Seen", for_all="Seen"), Action(Do.LOOK, "Look at the child")),
        on=on,
    )


def _is_the_familys(refit: Refit) -> bool:
    return refit.what == Circumstance.CONSENT


def outcome_in_words(refits: Sequence[Refit]) -> str:
    """ "2 sessions not yet started are different now, 1 waits for you." """
    counts = (
        (sum(each.changed for each in refits), "different now"),
        (sum(each.waiting for each in refits if not _is_the_familys(each)), "waiting for you"),
        (sum(each.waiting for each in refits if _is_the_familys(each)), "closed"),
        (sum(each.withdrawn for each in refits), "taken back"),
    )
    said = ", ".join(f"{count} {word}" for count, word in counts if count)
    return f"Sessions not yet started: {said or 'all as they were'}."
