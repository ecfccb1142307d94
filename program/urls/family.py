from django.urls import path

from program.views import family, log, questions

urlpatterns = [
    path("family/", family.children, name="family"),
    path("family/<uuid:child_id>/", family.child_day, name="child_day"),
    path("family/<uuid:child_id>/invite/", family.invite, name="invite_guardian"),
    path(
        "family/<uuid:child_id>/<uuid:assigned_id>/",
        family.session_day,
        name="session_day",
    ),
    path("family/<uuid:child_id>/<uuid:assigned_id>/read/", family.read, name="read"),
    path("family/<uuid:child_id>/<uuid:assigned_id>/log/", log.log, name="log"),
    path("family/<uuid:child_id>/<uuid:assigned_id>/ask/", questions.ask, name="ask"),
    path("questions/<uuid:question_id>/upload/", questions.upload, name="question_upload"),
]
