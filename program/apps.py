from django.apps import AppConfig
from django.db.models.signals import post_migrate


class ProgramConfig(AppConfig):
    name = "program"

    def ready(self) -> None:
        from program.config.grants import grant_to_web_role

        post_migrate.connect(grant_to_web_role, dispatch_uid="grant_to_web_role")
