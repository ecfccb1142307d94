from django.urls import path

from program.views import checks

urlpatterns = [
    path("checks/", checks.checks, name="checks"),
    path("checks/<slug:code>/", checks.check, name="check"),
    path("checks/<slug:code>/back/", checks.check_back, name="check_back"),
]
