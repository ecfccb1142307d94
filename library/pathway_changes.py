"""Steps and laterals that come and go, and word of it to whoever chooses by them."""

from collections.abc import Collection

from django.db import transaction

from library.models import Lateral, Step
from library.signals import pathways_changed


@transaction.atomic
def add(link: Step | Lateral) -> None:
    """Raises an IntegrityError for one that is there already or closes a circle."""
    link.save()
    tell([link])


@transaction.atomic
def remove(link: Step | Lateral) -> None:
    link.delete()
    tell([link])


def tell(links: Collection[Step | Lateral]) -> None:
    """Call it when these are written or gone, in their transaction."""
    pathways = {link.pathway_id for link in links}
    exercises = {end for link in links for end in _ends(link)}
    for kind, ends in ((Step, ("easier", "harder")), (Lateral, ("one", "other"))):
        for pair in kind._default_manager.filter(pathway__in=pathways).values_list(*ends):
            exercises.update(pair)
    pathways_changed.send(sender=Step, exercises=exercises)


def _ends(link: Step | Lateral) -> tuple[int, int]:
    if isinstance(link, Step):
        return link.easier_id, link.harder_id
    return link.one_id, link.other_id
