from django.urls import path

from program.log.views import conflicting_logs, group_log, inbox, log, safety

SESSION = "family/<uuid:child_id>/<uuid:assigned_id>/"

urlpatterns = [
    path(f"{SESSION}log/", log.log, name="log"),
    path(f"{SESSION}kept/", conflicting_logs.kept_logs, name="kept_logs"),
    path("safety/", safety.safety, name="safety"),
    path("inbox/", inbox.inbox, name="inbox"),
    path("sessions/<int:session_id>/group/", group_log.group_log, name="group_log"),
]
