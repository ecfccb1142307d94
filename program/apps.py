from django.apps import AppConfig
from django.db.models.signals import post_delete, post_migrate


class ProgramConfig(AppConfig):
    name = "program"

    def ready(self) -> None:
        from django.contrib.auth.signals import user_logged_in, user_logged_out

        from athletes.session_store import note_device, sign_everybody_out
        from athletes.signals import (
            circumstances_changed,
            circumstances_of_many_changed,
            invitation_accepted,
            switched_off,
        )
        from library.shared.uploads.keeping import on_row_deleted
        from library.signals import exercise_retired, exercises_described, pathways_changed
        from program.config.grants import grant_to_web_role
        from program.family.calendar_feed import on_session_deleted, on_switched_off
        from program.operations.backup.signals import database_restored
        from program.privacy import copies, erasing
        from program.publish.closing import (
            on_circumstances_changed,
            on_circumstances_of_many_changed,
            on_database_restored,
            on_exercises_described,
            on_pathways_changed,
        )
        from program.recall.recalling import on_exercise_retired
        from program.web.accounts import leave_messages_unread
        from program.welfare.naming import on_invitation_accepted

        post_migrate.connect(grant_to_web_role, dispatch_uid="grant_to_web_role")
        for signal in (user_logged_in, user_logged_out):
            signal.connect(leave_messages_unread, dispatch_uid="leave_messages_unread")
        user_logged_in.connect(note_device, dispatch_uid="note_device")
        circumstances_changed.connect(on_circumstances_changed, dispatch_uid="refit")
        exercise_retired.connect(on_exercise_retired, dispatch_uid="recall")
        circumstances_of_many_changed.connect(
            on_circumstances_of_many_changed, dispatch_uid="refit_many"
        )
        exercises_described.connect(on_exercises_described, dispatch_uid="refit_holders")
        pathways_changed.connect(on_pathways_changed, dispatch_uid="refit_along_pathways")
        database_restored.connect(on_database_restored, dispatch_uid="check_the_invariant")
        database_restored.connect(erasing.on_database_restored, dispatch_uid="erase_again")
        invitation_accepted.connect(on_invitation_accepted, dispatch_uid="name_officer")
        switched_off.connect(on_switched_off, dispatch_uid="void_calendar")
        database_restored.connect(sign_everybody_out, dispatch_uid="sign_everybody_out")
        post_delete.connect(
            on_row_deleted, sender="program.Question", dispatch_uid="question_upload"
        )
        post_delete.connect(
            copies.on_copy_deleted, sender="program.ChildCopy", dispatch_uid="file_of_a_copy"
        )
        post_delete.connect(
            on_session_deleted, sender="program.AssignedSession", dispatch_uid="taken_out"
        )
