"""Somebody's role is another one, as two people have agreed."""

from django.utils import timezone

from athletes.models import RoleChange, User


def now_is(person: User, role: str) -> None:
    now = timezone.now()
    was = User.objects.get(pk=person.pk).role
    RoleChange.objects.create(person=person, was=was, role=role, asked_at=now, agreed_at=now)
    User.objects.filter(pk=person.pk).update(role=role)
