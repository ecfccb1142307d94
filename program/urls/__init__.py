from program.urls import accounts, build, family, review, week

app_name = "program"

urlpatterns = [
    *week.urlpatterns,
    *build.urlpatterns,
    *family.urlpatterns,
    *review.urlpatterns,
    *accounts.urlpatterns,
]
