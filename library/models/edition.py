import uuid

from django.db import connection, models


class Edition(models.Model):
    """One row with a stamp that database triggers renew whenever anything in the library changes.

    Whoever keeps a copy of the library in memory keeps the stamp beside it and reads both anew
    when the stamp is another one. Changed in the same transaction as the library itself.
    """

    stamp = models.UUIDField(default=uuid.uuid4)

    class Meta:
        constraints = [
            models.CheckConstraint(name="there_is_one_edition", condition=models.Q(id=1))
        ]

    def __str__(self) -> str:
        return str(self.stamp)


def hold_the_edition() -> None:
    """Nothing in the library changes until the transaction ends. Any number may hold it at once;
    whoever changes the library waits for all of them, and they for it."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1 FROM library_edition FOR SHARE")


def keep_the_edition() -> None:
    """Wait for all who hold it, and let nobody hold it until the transaction ends, as whoever
    changes the library does by changing it."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1 FROM library_edition FOR NO KEY UPDATE")
