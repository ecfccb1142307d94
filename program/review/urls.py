from django.urls import path

from program.review.views import child, queue

urlpatterns = [
    path("review/", queue.review, name="review"),
    path("review/answer/", queue.answer, name="answer"),
    path("review/answer/<int:resolution_id>/back/", queue.answer_back, name="answer_back"),
    path("review/answer/together/", queue.answer_together, name="answer_together"),
    path("review/answers/", queue.answers, name="answers"),
    path("review/invite-again/", queue.invite_again, name="invite_again"),
    path("review/attendance/", queue.attendance, name="attendance"),
    path("review/came-back/", queue.came_back, name="came_back"),
    path("review/came-back/<int:session_id>/", queue.came_back, name="came_back_of"),
    path("review/<uuid:child_id>/", child.child_review, name="child_review"),
    path(
        "review/<uuid:child_id>/<uuid:assigned_id>/",
        child.session_review,
        name="session_review",
    ),
]
