from django.urls import path

from program.views import follow, offline

urlpatterns = [
    path("family/<uuid:child_id>/<uuid:assigned_id>/follow/", follow.follow, name="follow"),
    path("inbox/", follow.inbox, name="inbox"),
    path("worker.js", offline.worker, name="worker"),
    path("manifest.webmanifest", offline.manifest, name="manifest"),
    path("no-connection/", offline.no_connection, name="no_connection"),
    path("to-keep/", offline.to_keep_list, name="to_keep"),
]
