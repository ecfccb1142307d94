"""Faults mailed to whoever runs Fledge, each kind at most once an hour, over all processes.

A thread of its own sends them: nobody's page waits for a mail server. What was mailed is counted in
the database's cache; while the database is what broke, each process counts for itself. Nothing here
raises, and nothing that fails here is mailed.
"""

import hashlib
import logging
import queue
import threading
import time
from dataclasses import dataclass, field
from smtplib import SMTPException
from typing import Final

from django.conf import settings
from django.core.cache import cache
from django.core.mail import EmailMessage, mailers
from django.db import connections, transaction

from program.operations.faults import FOR_THE_OPERATOR, Fault

log = logging.getLogger(__name__)

HOUR: Final = 3600
MOST_WAITING: Final = 50
"""Faults that wait to be told of; more are only logged."""


class MailToOperator(logging.Handler):
    """Takes what is said of faults, and what is said to the operator; does nothing without
    `OPERATOR_MAIL`."""

    def emit(self, record: logging.LogRecord) -> None:
        if settings.OPERATOR_MAIL and (record.exc_info or record.name == FOR_THE_OPERATOR):
            _sender.take(Fault.of(record))


class _Sender:
    """A thread that begins with the first fault and ends with its process."""

    def __init__(self) -> None:
        self._waiting: queue.Queue[Fault] = queue.Queue(MOST_WAITING)
        self._lock = threading.Lock()
        self._thread: threading.Thread | None = None

    def take(self, fault: Fault) -> None:
        try:
            self._waiting.put_nowait(fault)
        except queue.Full:
            return
        with self._lock:
            if self._thread is None or not self._thread.is_alive():  # nor does it outlive a fork
                self._thread = threading.Thread(target=self._send_all, daemon=True)
                self._thread.start()

    def wait(self) -> None:
        """Until all that was taken is told of."""
        self._waiting.join()

    def _send_all(self) -> None:
        while True:
            fault = self._waiting.get()
            try:
                tell(fault)
            except Exception as failed:
                log.warning("a fault could not be mailed: %s", type(failed).__name__)
            finally:
                connections.close_all()
                self._waiting.task_done()


_sender = _Sender()


def tell(fault: Fault) -> None:
    """Mail it, unless its like was mailed within the hour: then it is counted for the next mail."""
    key = _key(fault)
    swallowed = _turn(key)
    if swallowed is None:
        return
    subject = (f"Fledge: {fault.kind}" + (f" at {fault.place}" if fault.place else ""))[:200]
    body = _body(fault, swallowed)
    try:
        mail = EmailMessage(subject, body, None, [settings.OPERATOR_MAIL])
        mailers.default.send_messages([mail])
    except (OSError, SMTPException):
        _send_later(subject, body)


@transaction.atomic
def _send_later(subject: str, body: str) -> None:
    """The mail server itself may be what broke: the worker goes on trying."""
    # Logging is set up before there are models.
    from athletes.mailing import send_after_commit, written_mail

    send_after_commit([written_mail(settings.OPERATOR_MAIL, subject, body)])


def _key(fault: Fault) -> str:
    said = f"{fault.kind} {fault.place}".encode()
    return f"fault:{hashlib.sha256(said).hexdigest()[:32]}"


def _body(fault: Fault, swallowed: int) -> str:
    return "\n".join(
        [
            f"{fault.kind} at {fault.place}",
            f"Request {fault.request_id}: {fault.method} {fault.route}",
            f"Its like since the last mail about it, not mailed: {swallowed}",
            "",
            "The log has the request under this number. It came through:",
            *fault.lines,
            "",
            "Of this kind there is no other mail within the next hour.",
        ]
    )


@dataclass
class _InThisProcess:
    """When a kind was mailed last, and how many came since."""

    mailed: dict[str, float] = field(default_factory=dict)
    swallowed: dict[str, int] = field(default_factory=dict)

    def turn(self, key: str) -> int | None:
        now = time.monotonic()
        if now - self.mailed.get(key, -HOUR) < HOUR:
            self.swallowed[key] = self.swallowed.get(key, 0) + 1
            return None
        self.mailed[key] = now
        return self.swallowed.pop(key, 0)


_own = _InThisProcess()


def _turn(key: str) -> int | None:
    """How many of its like were not mailed since the last mail; None where it is not due."""
    try:
        if cache.add(key, 1, HOUR):
            swallowed = cache.get(f"{key}:swallowed", 0)
            cache.set(f"{key}:swallowed", 0, 24 * HOUR)
            return int(swallowed)
        cache.add(f"{key}:swallowed", 0, 24 * HOUR)
        cache.incr(f"{key}:swallowed")
    except Exception:  # the database is away, or only its cache
        return _own.turn(key)
    return None
