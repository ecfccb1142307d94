from program.urls import build, family, fit, follow, review, week

app_name = "program"

urlpatterns = [
    *week.urlpatterns,
    *build.urlpatterns,
    *fit.urlpatterns,
    *family.urlpatterns,
    *follow.urlpatterns,
    *review.urlpatterns,
]
