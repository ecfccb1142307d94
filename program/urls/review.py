from django.urls import path

from program.views import child_review, questions, review

urlpatterns = [
    path("review/", review.review, name="review"),
    path("review/answer/", review.answer, name="answer"),
    path("review/answer/<int:resolution_id>/back/", review.answer_back, name="answer_back"),
    path("review/questions/<uuid:question_id>/", questions.question, name="question"),
    path("review/attendance/", review.attendance, name="attendance"),
    path("review/came-back/", review.came_back, name="came_back"),
    path("review/came-back/<int:session_id>/", review.came_back, name="came_back_of"),
    path("review/<uuid:child_id>/", child_review.child_review, name="child_review"),
    path(
        "review/<uuid:child_id>/<uuid:assigned_id>/",
        child_review.session_review,
        name="session_review",
    ),
]
