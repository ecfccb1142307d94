from django.urls import path

from program.ask import views

urlpatterns = [
    path("family/<uuid:child_id>/<uuid:assigned_id>/ask/", views.ask, name="ask"),
    path("family/<uuid:child_id>/questions/", views.family_questions, name="family_questions"),
    path("questions/<uuid:question_id>/upload/", views.upload, name="question_upload"),
    path("review/questions/<uuid:question_id>/", views.question, name="question"),
]
