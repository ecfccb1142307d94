from program.urls import build, checks, family, fit, follow, reports, review, venue, week

app_name = "program"

urlpatterns = [
    *week.urlpatterns,
    *build.urlpatterns,
    *fit.urlpatterns,
    *checks.urlpatterns,
    *family.urlpatterns,
    *follow.urlpatterns,
    *reports.urlpatterns,
    *review.urlpatterns,
    *venue.urlpatterns,
]
