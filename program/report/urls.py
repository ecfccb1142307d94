from django.urls import path

from program.report import views

OF_BLOCK = "blocks/<int:block_id>/reports/"

urlpatterns = [
    path(OF_BLOCK, views.reports, name="reports"),
    path(f"{OF_BLOCK}write/", views.reports_write, name="reports_write"),
    path(f"{OF_BLOCK}go-on/", views.reports_go_on, name="reports_go_on"),
    path(f"{OF_BLOCK}send/", views.reports_send, name="reports_send"),
    path(f"{OF_BLOCK}paper/", views.reports_paper, name="reports_paper"),
    path(f"{OF_BLOCK}<uuid:report_id>/", views.report, name="report"),
    path(f"{OF_BLOCK}<uuid:report_id>/send/", views.report_send, name="report_send"),
    path(f"{OF_BLOCK}<uuid:report_id>/correct/", views.report_correct, name="report_correct"),
    path("family/<uuid:child_id>/reports/", views.family_reports, name="family_reports"),
    path(
        "family/<uuid:child_id>/reports/<uuid:report_id>/",
        views.family_report,
        name="family_report",
    ),
]
