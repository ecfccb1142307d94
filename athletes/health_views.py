"""Whoever looks at a child's health is written down, so that its family can ask who did."""

from collections.abc import Mapping
from typing import Final

from django.utils import timezone

from athletes.models import Child, HealthView
from library.shared.access import Request

KIND: Final = HealthView.Kind
SHOWN_AT: Final[Mapping[str, HealthView.Kind]] = {
    "athletes:children": KIND.LIST,
    "athletes:growing": KIND.GROWTH,
    "athletes:growth": KIND.GROWTH,
    "athletes:restrictions": KIND.SPARED,
    "program:answer": KIND.QUEUE,
    "program:answer_back": KIND.QUEUE,
    "program:answer_together": KIND.QUEUE,
    "program:answers": KIND.QUEUE,
    "program:ask": KIND.QUESTION,
    "program:ask_to_erase": KIND.HELD,
    "program:attendance": KIND.ATTENDED,
    "program:block_children": KIND.FIT,
    "program:block_of_child": KIND.FIT,
    "program:came_back": KIND.SESSION,
    "program:came_back_of": KIND.SESSION,
    "program:child_data": KIND.HELD,
    "program:child_day": KIND.SESSION,
    "program:child_review": KIND.REVIEW,
    "program:decision": KIND.FIT,
    "program:erasure": KIND.HELD,
    "program:family_questions": KIND.QUESTION,
    "program:family_report": KIND.REPORT,
    "program:fetch_copy": KIND.COPY,
    "program:fit_counts": KIND.FIT,
    "program:follow": KIND.SESSION,
    "program:group_log": KIND.SESSION,
    "program:invite_again": KIND.QUEUE,
    "program:kept_logs": KIND.SESSION,
    "program:log": KIND.SESSION,
    "program:look": KIND.FIT,
    "program:question": KIND.QUESTION,
    "program:question_upload": KIND.UPLOAD,
    "program:read": KIND.SESSION,
    "program:recorded_changes": KIND.CHANGES,
    "program:report": KIND.REPORT,
    "program:report_correct": KIND.REPORT,
    "program:reports_paper": KIND.REPORT,
    "program:review": KIND.QUEUE,
    "program:session_day": KIND.SESSION,
    "program:session_review": KIND.SESSION,
    "program:week": KIND.WEEK,
    "program:week_ahead": KIND.WEEK,
    "program:who_gets_what": KIND.FIT,
}
"""Every address at which a coach may read of pain, what is spared, growth, sickness, or see a photo
or clip, and as what opening it is written down. `tests/contracts` holds it against what pages say.
"""


def looked_at(request: Request, *children: Child) -> None:
    """To be said by each page of `SHOWN_AT`, of the children of whom it tells such a thing. One
    query, and none without a child."""
    match = request.resolver_match
    kind = SHOWN_AT[match.view_name if match else ""]
    keys = (child.pk for child in children)
    HealthView.objects.write_down(request.user, kind, keys, timezone.now())
