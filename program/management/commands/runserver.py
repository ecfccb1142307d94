from typing import Any

from django.conf import settings
from django.contrib.staticfiles.management.commands.runserver import Command as RunServer

from program.operations.this_machine import refuse_others


class Command(RunServer):
    """Django's own, at this machine's addresses alone."""

    addr: str

    def run(self, **options: Any) -> None:
        refuse_others("DEBUG", [self.addr] if settings.DEBUG else [])
        super().run(**options)
