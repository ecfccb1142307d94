from program.urls import build, family, fit, follow, review, venue, week

app_name = "program"

urlpatterns = [
    *week.urlpatterns,
    *build.urlpatterns,
    *fit.urlpatterns,
    *family.urlpatterns,
    *follow.urlpatterns,
    *review.urlpatterns,
    *venue.urlpatterns,
]
