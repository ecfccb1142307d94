from django.conf import settings
from django.core.management.base import CommandParser
from django.core.management.commands.migrate import Command as DjangoMigrate


class Command(DjangoMigrate):
    """Django's migrate, run as the database's owner where that is another role than the web's."""

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        if "owner" in settings.DATABASES:
            parser.set_defaults(database="owner")
