from django.urls import path

from program.blocks.views import blocks, board, breaks, copy_forward, progressions, templates
from program.build.views import parts, session

urlpatterns = [
    path("blocks/", blocks.block_list, name="blocks"),
    path("blocks/new/", blocks.block_new, name="block_new"),
    path("blocks/<int:block_id>/", board.block, name="block"),
    path("blocks/<int:block_id>/children/", board.block_children, name="block_children"),
    path(
        "blocks/<int:block_id>/children/<uuid:child_id>/",
        board.block_of_child,
        name="block_of_child",
    ),
    path("blocks/<int:block_id>/delete/", blocks.block_away, name="block_away"),
    path("blocks/<int:block_id>/keep/", templates.keep_block, name="keep_block"),
    path("blocks/<int:block_id>/breaks/<int:break_id>/", breaks.clear_break, name="clear_break"),
    path("blocks/breaks/", breaks.break_list, name="breaks"),
    path("blocks/breaks/<int:break_id>/away/", breaks.break_away, name="break_away"),
    path("blocks/templates/", templates.template_list, name="templates"),
    path("blocks/templates/<int:template_id>/", templates.begin, name="template"),
    path("blocks/templates/<int:template_id>/name/", templates.template_name, name="template_name"),
    path("blocks/templates/<int:template_id>/away/", templates.template_away, name="template_away"),
    path("blocks/<int:block_id>/place/", board.place, name="place"),
    path("blocks/<int:block_id>/carry/", copy_forward.carry, name="carry"),
    path(
        "blocks/<int:block_id>/weeks/<int:week>/publish/", board.publish_week, name="publish_week"
    ),
    path(
        "blocks/<int:block_id>/changes/<int:change_id>/back/", board.take_back, name="change_back"
    ),
    path("blocks/<int:block_id>/edit/", blocks.block_edit, name="block_edit"),
    path("blocks/<int:block_id>/sessions/new/", blocks.session_new, name="session_new"),
    path("blocks/<int:block_id>/back/<str:key>/", blocks.session_back, name="session_back"),
    path("sessions/<int:session_id>/", session.build, name="build"),
    path("sessions/<int:session_id>/facts/", session.facts, name="session_facts"),
    path("sessions/<int:session_id>/publish/", session.publish, name="publish"),
    path("sessions/<int:session_id>/duplicate/", session.duplicate, name="session_duplicate"),
    path("sessions/<int:session_id>/take-out/", session.take_out, name="session_take_out"),
    path("sessions/<int:session_id>/back/<str:key>/", session.put_back, name="put_back"),
    path("sessions/<int:session_id>/parts/new/", parts.part_new, name="part_new"),
    path("sessions/<int:session_id>/parts/<int:part_id>/", parts.part, name="part"),
    path("sessions/<int:session_id>/keep/", templates.keep_session, name="keep_session"),
    path(
        "sessions/<int:session_id>/parts/<int:part_id>/keep/", templates.keep_part, name="keep_part"
    ),
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
    path(
        "sessions/<int:session_id>/slots/<int:slot_id>/weeks/", progressions.intent, name="intent"
    ),
    path(
        "sessions/<int:session_id>/slots/<int:slot_id>/weeks/end/",
        progressions.intent_end,
        name="intent_end",
    ),
    path("blocks/<int:block_id>/follow/", progressions.follow, name="intents_follow"),
]
