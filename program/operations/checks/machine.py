"""Checks of what is around Fledge: the folder of uploads, the disk, the mail server."""

import secrets
import shutil
from pathlib import Path
from smtplib import SMTPException
from typing import Any, Final

from django.conf import settings
from django.core.files.base import ContentFile
from django.core.files.storage import storages
from django.core.mail import mailers

from program.operations.checks.result import Result, check, look, well, wrong

MEGABYTE: Final = 1024 * 1024
LEAST_FREE: Final = 200 * MEGABYTE
"""Below it a photo, a clip or a backup may not fit, and Postgres is about to stop."""
SOON_FULL: Final = 2000 * MEGABYTE


@check("uploads", for_ready=True)
def uploads() -> Result:
    """Written and taken away again, since rights, a full disk and a lost one look alike before."""
    storage = storages["uploads"]
    try:
        name = storage.save(f"check-{secrets.token_hex(8)}", ContentFile(b"."))
        storage.delete(name)
    except OSError as error:
        return wrong(
            f"nothing can be written there ({error.strerror or type(error).__name__})",
            f"Let the user who runs Fledge write in {settings.UPLOADS_DIR} "
            "(FLEDGE_UPLOADS_DIR), and see that the disk has room.",
        )
    return well(f"can be written in {settings.UPLOADS_DIR}")


@check("disk")
def disk() -> Result:
    free, place = min((_free(place), place) for place in (settings.DATA_DIR, settings.UPLOADS_DIR))
    says = f"{free // MEGABYTE} MB free at {place}"
    if free < LEAST_FREE:
        return wrong(says, "Make room, or move the folder to a larger disk.")
    if free < SOON_FULL:
        return look(says, "Make room before it is full.")
    return well(says)


def _free(place: Path) -> int:
    """Where it is, or will be made."""
    there = next(folder for folder in (place, *place.parents) if folder.exists())
    return shutil.disk_usage(there).free


@check("mail server")
def mail_server() -> Result:
    if settings.PRINTS_MAILS:
        return well("none, mails are printed")
    options: Any = settings.MAILERS["default"]["OPTIONS"]
    where = f"{options['host']}:{options['port']}"
    server = mailers.default
    try:
        server.open()
        server.close()
    except (OSError, SMTPException) as error:
        return wrong(
            f"{where} lets us send nothing ({type(error).__name__})",
            "See MAIL_HOST, MAIL_PORT, MAIL_TLS, MAIL_USER and MAIL_PASSWORD: without mail nobody "
            "gets a code to sign in.",
        )
    return well(f"{where} takes mails")
