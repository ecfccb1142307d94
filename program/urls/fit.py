from django.urls import path

from program.views import fit

CELL = "sessions/<int:session_id>/fit/<int:slot_id>/<uuid:child_id>/"

urlpatterns = [
    path("sessions/<int:session_id>/fit/", fit.whole_table, name="who_gets_what"),
    path("sessions/<int:session_id>/fit/counts/", fit.fit_counts, name="fit_counts"),
    path("sessions/<int:session_id>/fit/adds-up/", fit.volumes, name="child_volumes"),
    path("sessions/<int:session_id>/look/", fit.look, name="look"),
    path(CELL, fit.decision, name="decision"),
    path(f"{CELL}back/", fit.decision_back, name="decision_back"),
    path(f"{CELL}ask/", fit.ask_family, name="ask_family"),
]
