from django.urls import path

from program.fit import views

CELL = "sessions/<int:session_id>/fit/<int:slot_id>/<uuid:child_id>/"

urlpatterns = [
    path("sessions/<int:session_id>/fit/", views.whole_table, name="who_gets_what"),
    path("sessions/<int:session_id>/fit/counts/", views.fit_counts, name="fit_counts"),
    path("sessions/<int:session_id>/fit/adds-up/", views.volumes, name="child_volumes"),
    path("sessions/<int:session_id>/look/", views.look, name="look"),
    path(CELL, views.decision, name="decision"),
    path(f"{CELL}back/", views.decision_back, name="decision_back"),
    path(f"{CELL}ask/", views.ask_family, name="ask_family"),
]
