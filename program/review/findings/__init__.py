"""What wants a coach's decision, one finding each, most urgent first. Asks the database nothing.

A finding says what it is, what it rests on and what can be done about it. It leaves the queue when
somebody answers it (`program.review.decisions`), or when what it says is no longer so.
"""

from collections.abc import Iterator
from dataclasses import replace

from program.review.finding import Finding
from program.review.findings.changes import change_findings
from program.review.findings.consent import consent_findings
from program.review.findings.effort import effort_findings
from program.review.findings.growth import growth_findings
from program.review.findings.held import decision_findings
from program.review.findings.missed import missed_findings
from program.review.findings.pain import pain_findings
from program.review.findings.progress import progress_findings
from program.review.findings.questions import question_findings
from program.review.findings.restrictions import early_restrictions, restriction_findings
from program.review.findings.sides import side_findings
from program.review.findings.sport import sport_findings
from program.review.findings.way_back import early_steps, way_back_findings
from program.review.queries import ReviewRows


def findings(rows: ReviewRows, *, early: bool = False) -> list[Finding]:
    """Everything that nobody has answered yet, most urgent first; with `early` also what is asked
    on the child's own page alone."""
    found = [
        *pain_findings(rows.who, rows.pains, rows.library.fit),
        *question_findings(rows),
        *restriction_findings(rows),
        *way_back_findings(rows),
        *(_asked_on_the_childs_page(rows) if early else ()),
        *decision_findings(rows),
        *growth_findings(rows),
        *effort_findings(rows),
        *sport_findings(rows),
        *missed_findings(rows),
        *side_findings(rows),
        *change_findings(rows),
        *progress_findings(rows),
        *consent_findings(rows),
    ]
    open_ones = [each for each in found if _place(each) not in rows.hiding]
    whose = [
        replace(each, handed=rows.handed[_place(each)]) if _place(each) in rows.handed else each
        for each in open_ones
    ]
    return sorted(whose, key=lambda each: each.order)


def _asked_on_the_childs_page(rows: ReviewRows) -> Iterator[Finding]:
    yield from early_steps(rows)
    for child, who in rows.who.items():
        rules = (each for each in rows.restrictions if each.child_id == child)
        yield from early_restrictions(who, rules, rows.today)


def _place(finding: Finding) -> tuple[int, str]:
    return finding.who.child.pk, finding.key
