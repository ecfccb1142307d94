from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from athletes.models import User
from athletes.second_factor import reset


class Command(BaseCommand):
    help = (
        "Remove every app, passkey and recovery code of somebody who lost them, sign them out "
        "everywhere and mail them so. For the only head coach; everybody else asks a head coach."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("email")

    def handle(self, *args: Any, email: str, **options: Any) -> None:
        person = User.objects.filter(email__iexact=email.strip()).first()
        if person is None:
            raise CommandError("Nobody signs in with this address.")
        reset(person)
        self.stdout.write(f"{person.name} signs in by mailed code alone now, and was told.")
