"""What the server's log says of a fault: where it happened, never about whom.

An exception's words may quote a row, and an address may carry a key, so neither is written: the
route, the kind of exception and the lines it came through are what mending it takes.
"""

import logging
import traceback


class WhereOnly(logging.Formatter):
    def format(self, record: logging.LogRecord) -> str:
        request = getattr(record, "request", None)
        match = getattr(request, "resolver_match", None)
        method, route = getattr(request, "method", "?"), getattr(match, "route", "?")
        kind, _, frames = record.exc_info or (None, None, None)
        lines = [
            f"{self.formatTime(record)} {record.levelname} {method} {route}: "
            f"{kind.__name__ if kind else record.levelname}",
            *(
                f"  {frame.filename}:{frame.lineno} {frame.name}"
                for frame in traceback.extract_tb(frames)
            ),
        ]
        return "\n".join(lines)
