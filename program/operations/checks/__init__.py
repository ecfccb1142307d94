"""Every check of an installation, in the order in which `manage.py doctor` tells them."""

from typing import Final

from program.operations.checks.configuration import (
    hosts,
    mail_sender,
    operator,
    proxies,
    secret_key,
    time_zone,
)
from program.operations.checks.database import (
    clock,
    database_answers,
    migrations,
    owner_role,
    row_security,
    web_role,
)
from program.operations.checks.machine import disk, mail_server, uploads
from program.operations.checks.worker import worker

CHECKS: Final = (
    secret_key,
    hosts,
    proxies,
    time_zone,
    database_answers,
    migrations,
    row_security,
    web_role,
    owner_role,
    clock,
    uploads,
    disk,
    worker,
    mail_server,
    mail_sender,
    operator,
)
