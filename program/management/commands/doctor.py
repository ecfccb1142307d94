from smtplib import SMTPException
from typing import Any

from django.core.mail import EmailMessage, mailers
from django.core.management.base import BaseCommand, CommandError, CommandParser

from program.operations.checks import CHECKS
from program.operations.checks.result import Level, Result, well, wrong


class Command(BaseCommand):
    help = "Look over this installation: a line for each thing, and how to mend what is wrong."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--mail-to", metavar="ADDRESS", help="send a mail there, too")

    def handle(self, *args: Any, mail_to: str | None, **options: Any) -> None:
        results = [(check.name, check.run()) for check in CHECKS]
        if mail_to:
            results.append(("mail sent", _send(mail_to)))
        for name, result in results:
            self.stdout.write(_line(name, result))
        if count := sum(result.is_wrong for _, result in results):
            raise CommandError(f"{count} of {len(results)} are wrong.")


def _line(name: str, result: Result) -> str:
    said = f"{result.level.value:5}  {name}: {result.says}"
    return said if result.level == Level.WELL else f"{said}. {result.mend}"


def _send(address: str) -> Result:
    mail = EmailMessage(
        "Fledge can send mail", "manage.py doctor was asked to send this.", None, [address]
    )
    try:
        mailers.default.send_messages([mail])
    except (OSError, SMTPException) as error:
        return wrong(
            f"it was not taken ({type(error).__name__})", "See what is said of the mail server."
        )
    return well(f"to {address}; look whether it came")
