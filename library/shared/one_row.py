"""What a program sets about something: one row, or none while the usual holds."""

import datetime as dt
from typing import Any

from django.db import models


class OneRowQuerySet[Row: models.Model](models.QuerySet[Row]):
    """Of a model whose one row has the key 1, with `by` and `at` of who changed it last."""

    def current(self) -> Row:
        """The program's, or the usual ones where it has set none."""
        return self.filter(pk=1).first() or self.model()

    def change(self, by: Any, now: dt.datetime, **said: object) -> None:
        self.update_or_create(pk=1, defaults={**said, "by": by, "at": now})
