from django.urls import path

from program.checks import views

urlpatterns = [
    path("checks/", views.checks, name="checks"),
    path("checks/<slug:code>/", views.check, name="check"),
    path("checks/<slug:code>/back/", views.check_back, name="check_back"),
    path("checks/<slug:code>/confirm/", views.check_confirm, name="check_confirm"),
    path("checks/<slug:code>/decline/", views.check_decline, name="check_decline"),
]
