from django.urls import path

from program.fit import views

urlpatterns = [
    path("sessions/<int:session_id>/fit/", views.whole_table, name="who_gets_what"),
    path("sessions/<int:session_id>/fit/counts/", views.fit_counts, name="fit_counts"),
    path("sessions/<int:session_id>/fit/adds-up/", views.volumes, name="child_volumes"),
]
