from django.urls import path

from program.views import reports

OF_BLOCK = "blocks/<int:block_id>/reports/"

urlpatterns = [
    path(OF_BLOCK, reports.reports, name="reports"),
    path(f"{OF_BLOCK}write/", reports.reports_write, name="reports_write"),
    path(f"{OF_BLOCK}go-on/", reports.reports_go_on, name="reports_go_on"),
    path(f"{OF_BLOCK}send/", reports.reports_send, name="reports_send"),
    path(f"{OF_BLOCK}paper/", reports.reports_paper, name="reports_paper"),
    path(f"{OF_BLOCK}<uuid:report_id>/", reports.report, name="report"),
    path(f"{OF_BLOCK}<uuid:report_id>/send/", reports.report_send, name="report_send"),
    path(f"{OF_BLOCK}<uuid:report_id>/correct/", reports.report_correct, name="report_correct"),
    path("family/<uuid:child_id>/reports/", reports.family_reports, name="family_reports"),
    path(
        "family/<uuid:child_id>/reports/<uuid:report_id>/",
        reports.family_report,
        name="family_report",
    ),
]
