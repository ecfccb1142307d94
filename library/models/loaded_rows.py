from django.db import models


class LoadedRow(models.Model):
    """A row of the library files as it was last loaded, by its digest.

    So that loading the same files again leaves alone what coaches have changed since: only a row
    that is new or reads differently than last time is written.
    """

    key = models.CharField(max_length=200, unique=True)
    digest = models.CharField(max_length=64)

    def __str__(self) -> str:
        return self.key
