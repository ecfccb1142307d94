from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser

from athletes.models import User
from athletes.models.users import Role


class Command(BaseCommand):
    help = (
        "Make a head coach, who signs in by emailed code, makes the cohorts and invites everybody "
        "else. A new program begins with this one."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("email")
        parser.add_argument("name", help="as children and families read it")

    def handle(self, *args: Any, email: str, name: str, **options: Any) -> None:
        person = User(email=email.strip().lower(), name=name.strip(), role=Role.HEAD_COACH)
        person.set_unusable_password()
        try:
            person.full_clean()
        except ValidationError as refused:
            raise CommandError("\n".join(refused.messages)) from None
        person.save()
        self.stdout.write(f"{person.name} is head coach and signs in as {person.email}.")
