from django.urls import path

from program.views import follow

urlpatterns = [
    path("family/<uuid:child_id>/<uuid:assigned_id>/follow/", follow.follow, name="follow"),
    path("inbox/", follow.inbox, name="inbox"),
]
