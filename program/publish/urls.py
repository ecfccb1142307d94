from django.urls import path

from program.publish import views

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
    path(CELL, views.decision, name="decision"),
    path(f"{CELL}back/", views.decision_back, name="decision_back"),
    path(f"{CELL}ask/", views.ask_family, name="ask_family"),
]
