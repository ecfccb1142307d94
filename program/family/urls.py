from django.urls import path

from program.family.views import day, follow_along, offline, paper, sport

SESSION = "family/<uuid:child_id>/<uuid:assigned_id>/"

urlpatterns = [
    path("family/", day.children, name="family"),
    path("family/<uuid:child_id>/", day.child_day, name="child_day"),
    path("family/<uuid:child_id>/invite/", day.invite, name="invite_guardian"),
    path("family/<uuid:child_id>/sport/", sport.sport, name="sport"),
    path("family/<uuid:child_id>/sport/week/", sport.sport_week, name="sport_week"),
    path("family/<uuid:child_id>/sport/later/", sport.sport_later, name="sport_later"),
    path(SESSION, day.session_day, name="session_day"),
    path(f"{SESSION}read/", day.read, name="read"),
    path(f"{SESSION}follow/", follow_along.follow, name="follow"),
    path(f"{SESSION}sheet/", paper.sheet, name="sheet"),
    path("sessions/<int:session_id>/sheets/", paper.sheets, name="sheets"),
    path("calendar/", paper.calendar_address, name="calendar_address"),
    path("calendar/<uuid:key>.ics", paper.calendar, name="calendar"),
    path("worker.js", offline.worker, name="worker"),
    path("manifest.webmanifest", offline.manifest, name="manifest"),
    path("no-connection/", offline.no_connection, name="no_connection"),
    path("to-keep/", offline.to_keep_list, name="to_keep"),
]
