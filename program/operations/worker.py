"""The worker: does what is written in the task queue, until it is told to stop.

Any number of them may run. One that is killed leaves its task marked as being done; another, or the
same one started again, takes it up once its signs of life have stopped.
"""

import asyncio
import datetime as dt
import logging
import os
import signal
from collections.abc import Coroutine
from dataclasses import dataclass
from typing import Any, Final

from asgiref.sync import sync_to_async
from django.db import DatabaseError, transaction
from django.utils import timezone
from procrastinate import App
from procrastinate.contrib.django import app
from procrastinate.contrib.django.db_cleanup import close_db_connections
from procrastinate.contrib.django.utils import connector_params
from procrastinate.exceptions import ConnectorException
from procrastinate.job_context import JobContext
from procrastinate.jobs import DeleteJobCondition
from procrastinate.middleware import SyncCallNext
from procrastinate.psycopg_connector import PsycopgConnector
from psycopg_pool import PoolTimeout

from library.shared.task_queue import AT_THE_START, Queue, enqueue

log = logging.getLogger(__name__)
tasks = logging.getLogger("fledge.tasks")

AT_ONCE: Final = {Queue.CHANGES: 1, Queue.MAIL: 2}
"""Tasks at a time. A mail that waits for a mail server holds up one other at most."""

UPGRADE: Final = dt.timedelta(minutes=1)

SECONDS_TO_CONNECT: Final = 3
"""A worker that is told to stop while the database is away takes little longer than that."""

TAKE_UP_WHAT_A_WRONG_CLOCK_PUT_OFF: Final = """
UPDATE procrastinate_jobs SET scheduled_at = now()
WHERE status = 'todo' AND scheduled_at > now() + interval '15 minutes'
"""
"""No task is put off for longer than `GrowingPauses.LONGEST`, but by a clock that ran ahead."""

SECONDS_TO_FINISH: Final = 8

LONGEST_PAUSE: Final = 10
"""Seconds between two tries to reach the database."""


@dataclass(frozen=True)
class Pulse:
    """A sign of life every so many seconds; after four that are missing a worker counts as dead."""

    seconds: float = 5.0

    @property
    def dead_after(self) -> float:
        return 4 * self.seconds


def work(pulse: Pulse) -> None:
    """Work until SIGINT or SIGTERM. A task that is being done then is finished first, for as long
    as `SECONDS_TO_FINISH`; after that it is cut off, and done again by whoever comes next."""
    asyncio.run(_work(pulse))


async def _work(pulse: Pulse) -> None:
    stop, loop = asyncio.Event(), asyncio.get_running_loop()

    def end() -> None:
        stop.set()
        loop.call_later(SECONDS_TO_FINISH, os._exit, 0)

    for number in (signal.SIGINT, signal.SIGTERM):
        loop.add_signal_handler(number, end)
    pause = 0.5
    while not stop.is_set():
        try:
            await _either(stop.wait(), _work_while_connected(pulse))
            pause = 0.5
        except (ConnectorException, DatabaseError, PoolTimeout, OSError) as lost:
            log.warning("The database is away (%s); trying again.", type(lost).__name__)
        await _either(stop.wait(), asyncio.sleep(pause))
        pause = min(2 * pause, LONGEST_PAUSE)


async def _work_while_connected(pulse: Pulse) -> None:
    connector = PsycopgConnector(kwargs=connector_params(), timeout=SECONDS_TO_CONNECT)
    connected = app.with_connector(connector)
    async with connected.open_async():
        await sync_to_async(_begin)()
        queues = [_queue(connected, queue, pulse) for queue in Queue]
        await _either(_rescue(connected, pulse), *queues)


@transaction.atomic
def _begin() -> None:
    for each in AT_THE_START:
        enqueue(each)


async def _queue(connected: App, queue: Queue, pulse: Pulse) -> None:
    await connected.run_worker_async(
        queues=[queue],
        name=queue,
        concurrency=AT_ONCE[queue],
        delete_jobs=DeleteJobCondition.SUCCESSFUL,
        update_heartbeat_interval=pulse.seconds,
        stalled_worker_timeout=pulse.dead_after,
        fetch_job_polling_interval=pulse.seconds,
        install_signal_handlers=False,
        task_middleware=[close_db_connections, _tell_of_failing],
    )


def _tell_of_failing(call_next: SyncCallNext, context: JobContext, worker: object) -> Any:
    """Where a task failed, and nothing it was given or said."""
    try:
        return call_next()
    except Exception:
        tasks.exception("", extra={"task": context.job.task_name})
        raise


async def _rescue(connected: App, pulse: Pulse) -> None:
    """Have the tasks of dead workers done again, and soon those that no worker knew: in the middle
    of an upgrade an older one meets them first."""
    manager = connected.job_manager
    while True:
        for job in await manager.get_stalled_jobs(seconds_since_heartbeat=pulse.dead_after):
            await manager.retry_job(job)
        for job in await manager.list_jobs_async(status="failed"):
            await manager.retry_job(job, retry_at=timezone.now() + UPGRADE)
        await connected.connector.execute_query_async(TAKE_UP_WHAT_A_WRONG_CLOCK_PUT_OFF)
        await asyncio.sleep(pulse.seconds)


async def _either(*acts: Coroutine[Any, Any, Any]) -> None:
    """Until the first of them ends; the others are ended then. Raises what that one raised."""
    tasks = [asyncio.ensure_future(act) for act in acts]
    try:
        await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
    finally:
        for each in tasks:
            each.cancel()
        ended = await asyncio.gather(*tasks, return_exceptions=True)
    for outcome in ended:
        if isinstance(outcome, Exception):
            raise outcome
