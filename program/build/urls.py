from django.urls import path

from program.build.views import minutes, parts, session

urlpatterns = [
    path("sessions/<int:session_id>/", session.build, name="build"),
    path("sessions/<int:session_id>/facts/", session.facts, name="session_facts"),
    path("sessions/<int:session_id>/duplicate/", session.duplicate, name="session_duplicate"),
    path("sessions/<int:session_id>/minutes/", minutes.minutes, name="session_minutes"),
    path("sessions/<int:session_id>/undo/", session.undo, name="undo_edit"),
    path("sessions/<int:session_id>/parts/new/", parts.part_new, name="part_new"),
    path("sessions/<int:session_id>/parts/<int:part_id>/", parts.part, name="part"),
    path("sessions/<int:session_id>/parts/<int:part_id>/find/", parts.find, name="find"),
    path("sessions/<int:session_id>/parts/<int:part_id>/slots/", parts.slot_new, name="slot_new"),
    path("sessions/<int:session_id>/parts/<int:part_id>/move/", parts.part_move, name="part_move"),
    path(
        "sessions/<int:session_id>/parts/<int:part_id>/duplicate/",
        parts.part_duplicate,
        name="part_duplicate",
    ),
    path(
        "sessions/<int:session_id>/parts/<int:part_id>/take-out/",
        parts.part_take_out,
        name="part_take_out",
    ),
    path("sessions/<int:session_id>/slots/<int:slot_id>/", parts.slot, name="slot"),
    path("sessions/<int:session_id>/slots/<int:slot_id>/move/", parts.slot_move, name="slot_move"),
    path(
        "sessions/<int:session_id>/slots/<int:slot_id>/duplicate/",
        parts.slot_duplicate,
        name="slot_duplicate",
    ),
    path(
        "sessions/<int:session_id>/slots/<int:slot_id>/take-out/",
        parts.slot_take_out,
        name="slot_take_out",
    ),
]
