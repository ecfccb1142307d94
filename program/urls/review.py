from django.urls import path

from program.views import review

urlpatterns = [
    path("review/", review.review, name="review"),
    path("review/pain/<uuid:report_id>/seen/", review.pain_seen, name="pain_seen"),
    path("review/<uuid:child_id>/", review.child_review, name="child_review"),
]
