from django.urls import path

from program.publish.views import calling_off, deciding, sending

CELL = "sessions/<int:session_id>/fit/<int:slot_id>/<uuid:child_id>/"

urlpatterns = [
    path("sessions/<int:session_id>/publish/", sending.publish, name="publish"),
    path(
        "blocks/<int:block_id>/weeks/<int:week>/publish/",
        sending.publish_week,
        name="publish_week",
    ),
    path(
        "sessions/<int:session_id>/place-on-landing/",
        sending.place_on_landing,
        name="place_on_landing",
    ),
    path("sessions/<int:session_id>/fit/", deciding.whole_table, name="who_gets_what"),
    path("sessions/<int:session_id>/fit/counts/", deciding.fit_counts, name="fit_counts"),
    path("sessions/<int:session_id>/look/", deciding.look, name="look"),
    path("sessions/<int:session_id>/fit/decide/", deciding.decide_group, name="decide_group"),
    path(CELL, deciding.decision, name="decision"),
    path(f"{CELL}back/", deciding.decision_back, name="decision_back"),
    path(f"{CELL}ask/", deciding.ask_family, name="ask_family"),
    path(
        "children/<uuid:child_id>/decisions/<int:decision_id>/end/",
        deciding.end_standing_decision,
        name="end_decision",
    ),
    path("sessions/<int:session_id>/call-off/", calling_off.call_off, name="call_off"),
    path("sessions/<int:session_id>/takes-place/", calling_off.takes_place, name="takes_place"),
    path("sessions/<int:session_id>/move/", calling_off.move_session, name="move_session"),
]
