from django.urls import path

from program.ask import views
from program.family.views import day
from program.log.views import log

urlpatterns = [
    path("family/", day.children, name="family"),
    path("family/<uuid:child_id>/", day.child_day, name="child_day"),
    path("family/<uuid:child_id>/invite/", day.invite, name="invite_guardian"),
    path(
        "family/<uuid:child_id>/<uuid:assigned_id>/",
        day.session_day,
        name="session_day",
    ),
    path("family/<uuid:child_id>/<uuid:assigned_id>/read/", day.read, name="read"),
    path("family/<uuid:child_id>/<uuid:assigned_id>/log/", log.log, name="log"),
    path("family/<uuid:child_id>/<uuid:assigned_id>/ask/", views.ask, name="ask"),
    path("questions/<uuid:question_id>/upload/", views.upload, name="question_upload"),
]
