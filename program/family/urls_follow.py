from django.urls import path

from program.family.views import follow_along, offline, paper
from program.log.views import conflicting_logs

urlpatterns = [
    path("family/<uuid:child_id>/<uuid:assigned_id>/follow/", follow_along.follow, name="follow"),
    path(
        "family/<uuid:child_id>/<uuid:assigned_id>/kept/",
        conflicting_logs.kept_logs,
        name="kept_logs",
    ),
    path("inbox/", follow_along.inbox, name="inbox"),
    path("worker.js", offline.worker, name="worker"),
    path("manifest.webmanifest", offline.manifest, name="manifest"),
    path("no-connection/", offline.no_connection, name="no_connection"),
    path("family/<uuid:child_id>/<uuid:assigned_id>/sheet/", paper.sheet, name="sheet"),
    path("sessions/<int:session_id>/sheets/", paper.sheets, name="sheets"),
    path("calendar/", paper.calendar_address, name="calendar_address"),
    path("calendar/<uuid:key>.ics", paper.calendar, name="calendar"),
    path("to-keep/", offline.to_keep_list, name="to_keep"),
]
