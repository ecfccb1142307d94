from django.urls import path

from program.blocks.views import blocks, board, breaks, copy_forward, progressions, templates

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
    path("blocks/<int:block_id>/end/", blocks.block_end, name="block_end"),
    path("blocks/<int:block_id>/place/", board.place, name="place"),
    path("blocks/<int:block_id>/carry/", copy_forward.carry, name="carry"),
    path(
        "blocks/<int:block_id>/changes/<int:change_id>/back/", board.take_back, name="change_back"
    ),
    path("blocks/<int:block_id>/edit/", blocks.block_edit, name="block_edit"),
    path("blocks/<int:block_id>/sessions/new/", blocks.session_new, name="session_new"),
    path("sessions/<int:session_id>/take-out/", board.delete_session, name="session_take_out"),
    path("sessions/<int:session_id>/keep/", templates.keep_session, name="keep_session"),
    path(
        "sessions/<int:session_id>/parts/<int:part_id>/keep/", templates.keep_part, name="keep_part"
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
