from django.urls import path

from program.views import follow, kept, offline, paper

urlpatterns = [
    path("family/<uuid:child_id>/<uuid:assigned_id>/follow/", follow.follow, name="follow"),
    path("family/<uuid:child_id>/<uuid:assigned_id>/kept/", kept.kept_logs, name="kept_logs"),
    path("inbox/", follow.inbox, name="inbox"),
    path("worker.js", offline.worker, name="worker"),
    path("manifest.webmanifest", offline.manifest, name="manifest"),
    path("no-connection/", offline.no_connection, name="no_connection"),
    path("family/<uuid:child_id>/<uuid:assigned_id>/sheet/", paper.sheet, name="sheet"),
    path("sessions/<int:session_id>/sheets/", paper.sheets, name="sheets"),
    path("calendar/", paper.calendar_address, name="calendar_address"),
    path("calendar/<uuid:key>.ics", paper.calendar, name="calendar"),
    path("to-keep/", offline.to_keep_list, name="to_keep"),
]
