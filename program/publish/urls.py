from django.urls import path

from program.publish import calling_off_views, views

CELL = "sessions/<int:session_id>/fit/<int:slot_id>/<uuid:child_id>/"

urlpatterns = [
    path("sessions/<int:session_id>/publish/", views.publish, name="publish"),
    path(
        "blocks/<int:block_id>/weeks/<int:week>/publish/", views.publish_week, name="publish_week"
    ),
    path(
        "sessions/<int:session_id>/place-on-landing/",
        views.place_on_landing,
        name="place_on_landing",
    ),
    path("sessions/<int:session_id>/call-off/", calling_off_views.call_off, name="call_off"),
    path(
        "sessions/<int:session_id>/takes-place/", calling_off_views.takes_place, name="takes_place"
    ),
    path("sessions/<int:session_id>/move/", calling_off_views.move_session, name="move_session"),
    path(CELL, views.decision, name="decision"),
    path(f"{CELL}back/", views.decision_back, name="decision_back"),
    path(f"{CELL}ask/", views.ask_family, name="ask_family"),
]
