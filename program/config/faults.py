"""What the server's log says of a fault: where it happened, never about whom.

An exception's words may quote a row, and an address may carry a key, so neither is written: the
route, the kind of exception and the lines it came through are what mending it takes. One line of
JSON each, under the number that the page showed.
"""

import datetime as dt
import json
import logging

from program.operations.faults import FOR_THE_OPERATOR, Fault


class IsAFault(logging.Filter):
    """Not every answer with 5xx is one: `/health/ready` says with 503 what it was asked."""

    def filter(self, record: logging.LogRecord) -> bool:
        return bool(record.exc_info) or record.name == FOR_THE_OPERATOR


class WhereOnly(logging.Formatter):
    def format(self, record: logging.LogRecord) -> str:
        fault = Fault.of(record)
        moment = dt.datetime.fromtimestamp(record.created, dt.UTC)
        return json.dumps(
            {
                "time": moment.isoformat(timespec="milliseconds"),
                "level": record.levelname,
                "request": fault.request_id,
                "method": fault.method,
                "route": fault.route,
                "fault": fault.kind,
                "at": fault.lines,
            }
        )
