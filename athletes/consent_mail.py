"""Telling those who answer for a child that they do not say the same."""

from collections.abc import Sequence
from typing import Final

from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone

from athletes.mailing import link_to, notify
from athletes.models import Child, Consent
from athletes.models.consents import answers_of, those_who_answer

SUBJECT: Final = "Two answers differ"


def tell_if_they_differ(request: HttpRequest, child: Child, new: Sequence[Consent]) -> None:
    """All of them, who want mail, where one of these new answers is another than somebody else's;
    nobody's address and nobody's answer is in it. Call it in the transaction of the answers."""
    day = timezone.localdate()
    if {each.purpose for each in new} & answers_of(child, day).differing:
        link = link_to(request, reverse("athletes:consents", args=[child.public_id]))
        context = {"given_name": child.given_name, "link": link}
        people = those_who_answer(child, day)
        notify(request, people, SUBJECT, "athletes/mail/answers_differ.txt", context)
