from django.urls import path

from program.fit import views

urlpatterns = [
    path("sessions/<int:session_id>/fit/adds-up/", views.volumes, name="child_volumes"),
]
