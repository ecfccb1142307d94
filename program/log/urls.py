from django.urls import path

from program.log.views import group_log

urlpatterns = [
    path("sessions/<int:session_id>/group/", group_log.group_log, name="group_log"),
]
