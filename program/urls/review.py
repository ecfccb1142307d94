from django.urls import path

from program.views import review

urlpatterns = [
    path("review/", review.review, name="review"),
]
