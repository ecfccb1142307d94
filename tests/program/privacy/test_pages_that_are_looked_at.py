"""Which pages write down that a coach looked: in a club that has something of everything."""

from django.db import transaction
from django.urls import reverse

from athletes.models import HealthView
from tests.support.scene import NOW

LOOKED = HealthView.Kind


def looked():
    return {(view.person, view.child, view.kind) for view in HealthView.objects.filter(at=NOW)}


def page(name, *parts):
    return reverse(name, args=parts)


def test_sessions_questions_and_photos_and_the_queue_are_among_them(scene):
    with transaction.atomic():
        coach, half = scene.client("coach"), scene.own
        session = (half.child.public_id, half.assigned.public_id)
        for name in ("program:session_review", "program:session_day", "program:log"):
            coach.get(page(name, *session))
        coach.get(page("program:question", half.ids["question"]))
        photo = coach.get(page("program:question_upload", half.ids["question"]))
        assert b"".join(photo)
        coach.get(page("program:review"))
        who, child = scene.people["coach"], half.child
        kinds = (LOOKED.SESSION, LOOKED.QUESTION, LOOKED.UPLOAD, LOOKED.QUEUE)
        assert looked() == {(who, child, kind) for kind in kinds}
        transaction.set_rollback(True)


def test_a_copy_that_a_head_coach_fetches_is_too(scene):
    with transaction.atomic():
        head, child = scene.people["head_coach"], scene.own.child
        fetched = scene.client("head_coach").post(
            page("program:fetch_copy", child.public_id, scene.own.ids["copy", "head_coach"])
        )
        assert fetched.status_code == 200
        assert looked() == {(head, child, LOOKED.COPY)}
        transaction.set_rollback(True)
