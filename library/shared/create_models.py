"""Many tables made by one operation of a migration."""

from collections.abc import Sequence

from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations import CreateModel
from django.db.migrations.operations.base import Operation, OperationCategory
from django.db.migrations.state import ProjectState


class CreateModels(Operation):
    """What so many `CreateModel` do, which may point at each other.

    After each `CreateModel` Django makes anew every model that it is related to, which is most of
    them, so that 42 models took half of a fresh `migrate`. Here they are made once, at the end.
    """

    category = OperationCategory.ADDITION
    reduces_to_sql = True
    reversible = True

    def __init__(self, models: Sequence[CreateModel]) -> None:
        self.models = models

    def state_forwards(self, app_label: str, state: ProjectState) -> None:
        state.__dict__.pop("apps", None)  # rendered when it is asked for next
        for model in self.models:
            model.state_forwards(app_label, state)

    def database_forwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        for model in self.models:
            model.database_forwards(app_label, schema_editor, from_state, to_state)

    def database_backwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        for model in reversed(self.models):
            model.database_backwards(app_label, schema_editor, from_state, to_state)

    def describe(self) -> str:
        return f"Create {len(self.models)} models"
