import uuid

from django.db import models


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
