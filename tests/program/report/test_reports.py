"""Reports to families: written from what was logged, read over by a coach, sent once."""

import datetime as dt
import re

import pytest
from django.core import mail
from django.db import IntegrityError, transaction
from django.urls import reverse

from program.engine.report import Facts
from program.models import (
    AssignedSession,
    Break,
    PainReport,
    Report,
    SlotResult,
)
from program.report.facts import pages_of, paths_of
from program.report.writing import (
    AT_ONCE,
    Progress,
    begin,
    progress_of,
    write_reports,
    write_some,
)
from tests.support.factories import (
    MONDAY,
    AssignedSessionFactory,
    AssignedSlotFactory,
    BlockFactory,
    ChildFactory,
    CompletionFactory,
    ExerciseFactory,
    PathwayFactory,
    SessionFactory,
)
from tests.support.family import EVENING, text
from tests.support.planning import HTMX, queries_of
from tests.support.queue import put
from tests.support.together import together
from tests.support.work import work_off

TODAY = MONDAY + dt.timedelta(days=30)
NOW = EVENING + dt.timedelta(days=28)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def evening(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)


@pytest.fixture
def squats():
    """Sit, squat, deep squat on one pathway; a plank on none."""
    chain = [
        ExerciseFactory(revision__name=name) for name in ("Sit to stand", "Free squat", "Deep")
    ]
    pathway = PathwayFactory(name="Squat", chain=chain)
    return [*chain, ExerciseFactory(revision__name="Plank"), pathway]


@pytest.fixture
def block(cast):
    return BlockFactory(cohort=cast.cohort, name="Strong feet")


def had(block, child, day, exercises, state="done", **log):
    """A session of the block, logged unless `state` is "" (silence)."""
    session = SessionFactory(block=block, date=MONDAY + dt.timedelta(days=day))
    assigned = AssignedSessionFactory(session=session, child=child, date=session.date)
    for position, exercise in enumerate(exercises):
        AssignedSlotFactory(assigned_session=assigned, position=position, revision=exercise.current)
    if state:
        CompletionFactory(assigned_session=assigned, state=state, logged_at=EVENING, **log)
    return assigned


@pytest.fixture
def season(cast, block, squats):
    """Mira sat down and up twice, squatted once and left the plank out once; one session was
    silent, one she was sick. She moved on from sitting to the squat."""
    sit, squat, _, plank, pathway = squats
    had(block, cast.child, 0, [sit, plank])
    part = had(block, cast.child, 2, [sit, plank], state="some")
    SlotResult.objects.create(
        completion=part.completion, assigned_slot=part.slots.last(), state="not"
    )
    had(block, cast.child, 7, [squat])
    had(block, cast.child, 9, [squat], state="")
    had(block, cast.child, 14, [squat], state="not", absence="sick")
    put(cast.child, pathway, sit, cast.coach, days_ago=10)
    put(cast.child, pathway, squat, cast.coach, days_ago=-3)
    return block


def address(name, block, *ids) -> str:
    return reverse(f"program:{name}", args=[block.pk, *ids])


def a_report(block, child, **details) -> Report:
    written = {"practised": "Squats, twice.", "learnt": "Calm feet.", "consistency": "Often."}
    return Report.objects.create(
        **({"block": block, "child": child, "written": written, "generated_at": NOW} | details)
    )


def test_a_report_is_made_of_what_was_logged_and_of_the_path_travelled(cast, season):
    page = pages_of(season, [cast.child], TODAY)[cast.child.pk]
    assert page["practised"] == (
        "Mira practised 3 exercises in 3 sessions. "
        "“Sit to stand” (twice), “Free squat” (once) and “Plank” (once)."
    )
    assert page["learnt"] == (
        "Squat: Mira began with “Sit to stand” and now works on “Free squat”, one step on."
    )
    assert page["consistency"] == (
        "Mira was given 5 sessions: 2 done, some of it in one, one not done and one that does not "
        "count (1 sick). Of the one not done we heard nothing; perhaps it was done all the same."
    )
    assert page["ahead"] == ("Squat: next comes “Deep”. The test for it: eight calm ones, twice.")
    (path,) = page["paths"]
    assert (path["began"], path["here"]) == ("Sit to stand", "Free squat")
    assert path["stops"] == (("Sit to stand", 0), ("Free squat", 1), ("Deep", 2))


def test_a_child_who_is_spared_is_promised_nothing_harder(cast, season):
    cast.child.restrictions.create(
        region="knee", side="left", kind="no_loading", start=TODAY, until=TODAY
    )
    page = pages_of(season, [cast.child], TODAY)[cast.child.pk]
    assert page["ahead"].startswith("For now nothing gets harder for Mira")


STEADINESS = "That steadiness is what learning is made of."
TELLING = (
    "When something hurt, we were told, and that is just right. It matters more than any count."
)


def sore(child, at, **details) -> PainReport:
    return PainReport.objects.create(child=child, region="knee", level=4, reported_at=at, **details)


def consistency(block, child) -> str:
    return pages_of(block, [child], TODAY)[child.pk]["consistency"]


def test_seven_reports_of_a_knee_in_eleven_of_eleven_are_thanked_for_and_not_praised(
    cast, block, squats
):
    """Zoe did all of hers as well, and nothing hurt. A report taken back was about another child;
    what hurt before the block is no matter of this report."""
    zoe = ChildFactory(given_name="Zoe", cohort=cast.cohort)
    sessions = [had(block, cast.child, day, [squats[0]]) for day in range(0, 22, 2)]
    for day in range(0, 22, 2):
        had(block, zoe, day, [squats[0]])
    begun = EVENING - dt.timedelta(days=2)
    sore(zoe, begun - dt.timedelta(days=1), answered_at=begun)
    sore(zoe, begun, taken_back_at=NOW, taken_back_because="It was about her brother.")
    assert consistency(block, cast.child) == f"Mira was given 11 sessions: 11 done. {STEADINESS}"
    for session in sessions[:7]:
        sore(cast.child, NOW, assigned_session=session)
    assert consistency(block, cast.child) == f"Mira was given 11 sessions: 11 done. {TELLING}"
    assert consistency(block, zoe) == f"Zoe was given 11 sessions: 11 done. {STEADINESS}"


def test_what_was_reported_in_the_blocks_days_beside_its_sessions_is_heeded_too(
    cast, block, squats
):
    had(block, cast.child, 0, [squats[0]])
    had(block, cast.child, 2, [squats[0]])
    sore(cast.child, EVENING)
    page = pages_of(block, [cast.child], TODAY)[cast.child.pk]
    assert page["consistency"] == f"Mira was given 2 sessions: 2 done. {TELLING}"
    assert page["ahead"].startswith("For now nothing gets harder for Mira")
    PainReport.objects.update(answered_at=NOW)
    ahead = pages_of(block, [cast.child], TODAY)[cast.child.pk]["ahead"]
    assert "nothing gets harder" not in ahead


def test_not_done_is_told_and_what_could_not_be_done_does_not_count(cast, block, squats):
    """Ten given: six done, two "not done", one in the holidays, one that stayed closed."""
    for day in range(6):
        had(block, cast.child, day, [squats[0]])
    for day in (7, 8):
        had(block, cast.child, day, [squats[0]], state="not")
    away, waited = (had(block, cast.child, day, [squats[0]], state="") for day in (10, 14))
    Break.objects.create(name="Half-term", first=away.date, last=away.date)
    elsewhere = BlockFactory().cohort
    Break.objects.create(cohort=elsewhere, name="Camp", first=MONDAY, last=TODAY)
    AssignedSession.objects.filter(pk=waited.pk).update(closed_at=NOW)
    assert consistency(block, cast.child) == (
        "Mira was given 10 sessions: 6 done, 2 not done and 2 that do not count (1 in a break, 1 "
        f"that stayed closed). {STEADINESS}"
    )


def test_what_came_before_and_after_the_block_is_not_told(cast, season, squats):
    *_, pathway = squats
    other = BlockFactory(cohort=cast.cohort)
    had(other, cast.child, 1, [squats[2]])
    put(cast.child, pathway, squats[2], cast.coach, days_ago=-70)
    page = pages_of(season, [cast.child], TODAY)[cast.child.pk]
    assert "Deep" not in page["practised"]
    assert page["paths"][0]["here"] == "Free squat"


def test_the_lane_shows_where_the_block_began_and_where_it_is_now(cast, season):
    begin(season)
    write_some(season, NOW, TODAY)
    (path,) = paths_of(Report.objects.get())
    lane = path.lane
    assert [(each.began, each.here) for each in lane.stations] == [
        (True, False),
        (False, True),
        (False, False),
    ]
    assert lane.trail == (lane.stations[0].x, lane.stations[1].x)
    assert lane.description.startswith("began with Sit to stand, works on Free squat;")


def test_a_blocks_reports_are_written_by_the_worker_and_the_page_shows_how_far_it_is(
    cast, block, squats, client_for
):
    for n in range(AT_ONCE + 3):
        had(block, ChildFactory(given_name=f"Kid{n}", cohort=cast.cohort), 0, [squats[0]])
    client = client_for(cast.coach)
    client.post(address("reports_write", block))
    page = client.get(address("reports", block)).content.decode()
    assert f"0 of {AT_ONCE + 3} written" in page
    write_some(block, NOW, TODAY)
    part = client.post(address("reports_go_on", block), headers=HTMX)
    assert f"{AT_ONCE} of {AT_ONCE + 3} written" in part.content.decode()
    assert f"{AT_ONCE} of {AT_ONCE + 3} written" in text(client.get(address("reports", block)))
    work_off()
    over = client.post(address("reports_go_on", block), headers=HTMX)
    assert over.headers["HX-Redirect"] == address("reports", block)
    assert Report.objects.ready().count() == AT_ONCE + 3
    assert "Send 11 to the families" in client.get(address("reports", block)).content.decode()


def test_what_a_killed_worker_has_written_is_not_written_again(cast, block, squats):
    for n in range(AT_ONCE + 3):
        had(block, ChildFactory(given_name=f"Kid{n}", cohort=cast.cohort), 0, [squats[0]])
    begin(block)
    earlier = NOW - dt.timedelta(hours=1)
    write_some(block, earlier, TODAY)
    write_reports(block.pk)
    assert Report.objects.filter(generated_at=earlier).count() == AT_ONCE
    assert progress_of(block).is_over


def test_a_block_in_which_nobody_had_anything_to_do_offers_no_writing(cast, block, client_for):
    SessionFactory(block=block)
    html = client_for(cast.coach).get(address("reports", block)).content.decode()
    assert "Nobody has had anything to do in this block" in html
    assert "Write the reports" not in html


def test_asked_to_begin_twice_there_is_one_report_of_each(cast, season):
    begin(season)
    begin(season)
    assert write_some(season, NOW, TODAY) == Progress(1, 1)
    assert Report.objects.count() == 1
    with pytest.raises(IntegrityError), transaction.atomic():
        Report.objects.create(block=season, child=cast.child)


def edit(client, report, **said):
    form = {"version": report.version, "words": "", **{f"own_{s}": "" for s in ("practised",)}}
    return client.post(address("report", report.block, report.public_id), form | said)


def test_written_anew_the_coachs_words_stay_and_what_was_left_alone_follows(cast, season, coach):
    begin(season)
    write_some(season, NOW, TODAY)
    report = Report.objects.get()
    sent = {f"own_{name}": report.generated(name) for name in ("learnt", "consistency", "ahead")}
    edit(coach, report, words="Quiet knees!", own_practised="Mostly sitting down.", **sent)
    report.refresh_from_db()
    assert (report.own_practised, report.own_learnt) == ("Mostly sitting down.", "")
    had(season, cast.child, 21, [report.child.placements.last().exercise])
    coach.post(address("reports_write", season))
    write_some(season, NOW, TODAY)
    report.refresh_from_db()
    assert report.words == "Quiet knees!"
    assert report.text("practised") == "Mostly sitting down."
    assert "in 4 sessions" in report.generated("practised")
    assert "given 6 sessions: 3 done, some of it in one" in report.text("consistency")
    page = text(coach.get(address("report", season, report.public_id)))
    assert "Mostly sitting down." in page
    assert "What was written from the logs Mira practised" in page


def test_an_emptied_paragraph_is_the_written_one_again(cast, block, coach):
    report = a_report(block, cast.child, own_learnt="Mine.")
    edit(coach, report, own_learnt="  ")
    report.refresh_from_db()
    assert report.text("learnt") == "Calm feet."


def test_two_coaches_reading_one_report_over_do_not_overwrite_each_other(
    cast, block, coach, client_for
):
    report = a_report(block, cast.child)
    edit(client_for(cast.head_coach), report, words="Hers.")
    answer = edit(coach, report, words="Mine.")
    assert answer.status_code == 409
    page = answer.content.decode()
    assert "Head Coach has changed this report meanwhile." in page
    assert "Mine." in page
    report.refresh_from_db()
    assert report.words == "Hers."
    again = int(re.search(r'name="version" value="(\d+)"', page)[1])
    assert edit(coach, report, words="Mine.", version=again).status_code == 302
    report.refresh_from_db()
    assert report.words == "Mine."


@pytest.mark.parametrize(
    "wrong", [{"words": "x" * 2001}, {"own_ahead": "x" * 1201}, {"version": "no"}]
)
def test_bad_input_keeps_what_was_typed_and_changes_nothing(cast, block, coach, wrong):
    report = a_report(block, cast.child)
    answer = edit(coach, report, **({"own_learnt": "My sentence."} | wrong))
    assert answer.status_code == 422
    assert "My sentence." in answer.content.decode()
    report.refresh_from_db()
    assert (report.own_learnt, report.version) == ("", 1)


def test_words_about_weight_are_to_be_read_again_and_stop_nobody(cast, block, coach):
    report = a_report(block, cast.child)
    edit(coach, report, words="He lost weight.")
    page = text(coach.get(address("report", block, report.public_id)))
    assert "Read “weight” again before it goes out" in page
    assert "read “weight” again" in text(coach.get(address("reports", block)))


def test_sent_it_is_on_the_familys_pages_and_told_by_a_mail_that_says_little(
    cast, block, coach, client_for, django_capture_on_commit_callbacks
):
    report = a_report(block, cast.child, words="Quiet knees!")
    family = client_for(cast.guardian)
    read = reverse("program:family_report", args=[cast.child.public_id, report.public_id])
    every = reverse("program:family_reports", args=[cast.child.public_id])
    assert family.get(read).status_code == 404
    assert "No report yet" in text(family.get(every))
    with django_capture_on_commit_callbacks(execute=True):
        coach.post(address("report_send", block, report.public_id))
    (sent,) = mail.outbox
    assert sent.to == [cast.guardian.email]
    assert sent.subject == "A report is ready to read"
    assert sent.body.startswith("Mira’s coach has written down")
    assert "stop" in sent.extra_headers["List-Unsubscribe"]
    assert read in sent.body
    for secret in ("Mira T", "Strong feet", "Quiet knees", "squat"):
        assert secret not in sent.subject + sent.body
    assert "Strong feet" in text(family.get(every))
    assert "Quiet knees!" in text(family.get(read))
    assert client_for(cast.athlete).get(read).status_code == 200
    for stranger in (cast.other_guardian, cast.other_coach, cast.nobody):
        assert client_for(stranger).get(read).status_code == 404


def test_sent_twice_it_is_sent_once(cast, block, coach, django_capture_on_commit_callbacks):
    report = a_report(block, cast.child)
    with django_capture_on_commit_callbacks(execute=True):
        coach.post(address("report_send", block, report.public_id))
        coach.post(address("reports_send", block))
        coach.post(address("report_send", block, report.public_id))
    assert len(mail.outbox) == 1
    report.refresh_from_db()
    assert report.sent_by == cast.coach


@pytest.mark.django_db(transaction=True)
def test_sent_by_two_at_the_same_moment_it_is_sent_once(cast, block, client_for):
    a_report(block, cast.child)
    one, other = client_for(cast.coach), client_for(cast.head_coach)
    path = address("reports_send", block)
    together(lambda: one.post(path), lambda: other.post(path))
    assert len(mail.outbox) == 1


@pytest.mark.django_db(transaction=True)
def test_a_mail_that_does_not_leave_undoes_nothing(cast, block, coach, monkeypatch):
    tried = []

    def broken(self, mails):
        tried.append(mails)
        raise OSError

    monkeypatch.setattr("django.core.mail.backends.locmem.EmailBackend.send_messages", broken)
    report = a_report(block, cast.child)
    assert coach.post(address("report_send", block, report.public_id)).status_code == 302
    report.refresh_from_db()
    assert report.sent_at == NOW
    assert len(tried) == 1


def test_what_is_sent_is_not_written_over(cast, season, coach):
    report = a_report(season, cast.child, sent_at=NOW)
    answer = edit(coach, report, words="Later.")
    assert answer.status_code == 409
    page = answer.content.decode()
    assert "What you wrote can go out as a correction." in page
    assert "Later." in page
    assert "Send the correction" in page
    coach.post(address("reports_write", season))
    write_some(season, NOW, TODAY)
    report.refresh_from_db()
    assert (report.words, report.text("practised")) == ("", "Squats, twice.")


def test_what_is_not_written_cannot_be_sent(cast, block, coach):
    report = a_report(block, cast.child, generated_at=None)
    coach.post(address("report_send", block, report.public_id))
    report.refresh_from_db()
    assert report.sent_at is None
    with pytest.raises(IntegrityError), transaction.atomic():
        Report.objects.filter(pk=report.pk).update(sent_at=NOW)


SENT = {"sent_at": NOW - dt.timedelta(days=1), "words": "Quiet knees!"}


@pytest.fixture
def sent(cast, block):
    """A report Mira's family has since yesterday, from the coach."""
    by = {"sent_by": cast.coach, "words_by": cast.coach}
    return a_report(block, cast.child, **SENT, **by)


def correct(client, report, correction="Four sessions, not three.", **said):
    report.refresh_from_db()
    form = {"version": report.version, "words": report.words, "correction": correction}
    return client.post(address("report_correct", report.block, report.public_id), form | said)


def test_the_family_reads_the_corrected_report_and_what_was_put_right(
    cast, sent, coach, client_for, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        answer = correct(coach, sent, own_practised="Squats, four times.")
    page = text(coach.get(answer.headers["location"]))
    assert "Corrected. The family is told." in page
    assert "by Owning Coach; corrected" in page
    family, child = client_for(cast.guardian), cast.child.public_id
    read = reverse("program:family_report", args=[child, sent.public_id])
    shown = text(family.get(read))
    day = NOW.strftime("%-d %B %Y")
    assert f"Corrected on {day}. Four sessions, not three." in shown
    assert "Squats, four times." in shown
    assert "Squats, twice." not in shown
    assert "corrected on" in text(family.get(reverse("program:family_reports", args=[child])))
    (told,) = mail.outbox
    assert (told.to, told.subject) == ([cast.guardian.email], "A report is corrected")
    assert told.body.startswith("Mira’s coach has corrected a report you had.")
    assert read in told.body
    for secret in ("Mira T", "Strong feet", "Quiet knees", "Four sessions", "quats"):
        assert secret not in told.subject + told.body


def test_what_was_sent_first_is_kept_for_the_coaches_with_who_and_when(
    cast, sent, coach, client_for
):
    correct(coach, sent, own_learnt="Calm hands.")
    correct(client_for(cast.head_coach), sent, "Feet it was.", words="Quiet feet!")
    first, second = sent.earlier.order_by("version")
    assert (first.sent_at, first.sent_by) == (SENT["sent_at"], cast.coach)
    assert (first.text("learnt"), first.words, first.correction) == (
        "Calm feet.",
        SENT["words"],
        "",
    )
    assert (second.text("learnt"), second.sent_at, second.corrected_at) == ("Calm hands.", NOW, NOW)
    sent.refresh_from_db()
    assert (sent.sent_at, sent.sent_by) == (SENT["sent_at"], cast.coach)
    assert (sent.corrected_by, sent.words_by) == (cast.head_coach, cast.head_coach)
    page = text(coach.get(address("report", sent.block, sent.public_id)))
    assert page.count("As it was sent") == 2
    assert "Calm hands." in page
    child = cast.child.public_id
    read = reverse("program:family_report", args=[child, sent.public_id])
    assert "Calm hands." not in text(client_for(cast.guardian).get(read))


def test_what_a_family_had_can_be_changed_by_nobody(cast, sent, coach):
    correct(coach, sent, own_learnt="Calm hands.")
    with pytest.raises(IntegrityError, match="never changed"), transaction.atomic():
        sent.earlier.update(words="Never said.")
    cast.coach.delete()
    assert sent.earlier.get().sent_by is None


def test_words_that_are_left_alone_stay_those_of_who_said_them(cast, sent, client_for):
    correct(client_for(cast.head_coach), sent, own_learnt="Calm hands.")
    sent.refresh_from_db()
    assert (sent.words_by, sent.corrected_by) == (cast.coach, cast.head_coach)


def test_a_correction_sent_twice_is_one(cast, sent, coach, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        first = correct(coach, sent, own_learnt="Calm hands.", version=1)
        again = correct(coach, sent, own_learnt="Calm hands.", version=1)
    assert first.headers["location"] == again.headers["location"]
    assert "It is corrected already, just so." in text(coach.get(again.headers["location"]))
    assert (len(mail.outbox), sent.earlier.count()) == (1, 1)


def test_of_two_coaches_who_correct_at_once_the_second_sees_the_firsts(
    cast, sent, coach, client_for
):
    correct(client_for(cast.head_coach), sent, own_learnt="Calm hands.", version=1)
    answer = correct(coach, sent, own_learnt="Calm toes.", version=1)
    assert answer.status_code == 409
    page = answer.content.decode()
    assert "Head Coach has corrected this report meanwhile." in page
    assert "Calm toes." in page
    assert "Calm hands." in page
    again = int(re.search(r'name="version" value="(\d+)"', page)[1])
    assert correct(coach, sent, own_learnt="Calm toes.", version=again).status_code == 302
    sent.refresh_from_db()
    assert sent.text("learnt") == "Calm toes."
    assert [each.text("learnt") for each in sent.earlier.all()] == ["Calm hands.", "Calm feet."]


@pytest.mark.django_db(transaction=True)
def test_two_corrections_at_the_same_moment_are_one_and_a_refusal(cast, block, client_for):
    report = a_report(block, cast.child, **SENT, sent_by=cast.coach)
    form = {"version": 1, "words": "Quiet knees!", "correction": "The joint."}
    path = address("report_correct", block, report.public_id)

    def press(person, learnt):
        client = client_for(person)
        return lambda: client.post(path, form | {"own_learnt": learnt}).status_code

    answers = together(press(cast.coach, "Calm hands."), press(cast.head_coach, "Calm toes."))
    assert sorted(answers) == [302, 409]
    assert report.earlier.count() == 1
    assert len(mail.outbox) == 1


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ({"correction": " "}, "all you wrote is still there"),
        ({"correction": "x" * 201, "own_learnt": "Calm hands."}, "all you wrote is still there"),
        ({"own_learnt": "He is calmer than his brother, with less weight."}, "Read “weight” again"),
        ({}, "Nothing in it is changed"),
    ],
)
def test_a_correction_that_cannot_stand_is_refused_and_keeps_what_was_typed(
    sent, coach, wrong, why
):
    answer = correct(coach, sent, **wrong)
    assert answer.status_code in {409, 422}
    page = answer.content.decode()
    assert why in page
    assert wrong.get("own_learnt", "") in page
    sent.refresh_from_db()
    assert (sent.version, sent.earlier.count()) == (1, 0)


def test_words_that_were_read_again_go_out_as_they_stand(sent, coach):
    said = {"own_learnt": "Shifts weight from foot to foot."}
    page = correct(coach, sent, **said).content.decode()
    read = re.search(r'name="read" value="([^"]+)"', page)[1]
    assert correct(coach, sent, **said, read=read).status_code == 302


def test_a_report_not_sent_yet_is_read_over_not_corrected(cast, block, coach):
    report = a_report(block, cast.child)
    answer = correct(coach, report, own_learnt="Calm hands.")
    assert answer.headers["location"] == address("report", block, report.public_id)
    report.refresh_from_db()
    assert (report.own_learnt, report.corrected_at) == ("", None)
    with pytest.raises(IntegrityError), transaction.atomic():
        Report.objects.filter(pk=report.pk).update(corrected_at=NOW, correction="So.")


def test_a_correction_can_begin_from_what_the_logs_say_today(cast, season, coach):
    begin(season)
    write_some(season, NOW, TODAY)
    Report.objects.update(sent_at=NOW, own_learnt="Mine.")
    report = Report.objects.get()
    had(season, cast.child, 21, [cast.child.placements.last().exercise])
    path = address("report_correct", season, report.public_id)
    assert "in 4 sessions" not in text(coach.get(path))
    page = text(coach.get(f"{path}?anew"))
    assert "in 4 sessions" in page
    kept = report.generated("practised")
    correct(coach, report, "A session was logged late.", own_learnt="Mine.", anew="1")
    report.refresh_from_db()
    assert "in 4 sessions" in report.text("practised")
    assert report.text("learnt") == "Mine."
    assert report.earlier.get().text("practised") == kept


def test_a_report_is_reached_through_its_own_block_only(cast, block, coach, client_for):
    report = a_report(block, cast.child)
    elsewhere = BlockFactory(cohort=cast.cohort)
    assert coach.get(address("report", elsewhere, report.public_id)).status_code == 404
    strange = client_for(cast.other_coach)
    assert strange.get(address("report", block, report.public_id)).status_code == 404
    assert strange.post(address("reports_send", block)).status_code == 404
    assert Report.objects.get().sent_at is None


def test_on_paper_each_child_has_a_sheet_and_in_the_order_of_names(cast, block, coach):
    a_report(block, ChildFactory(given_name="Zoe", cohort=cast.cohort))
    a_report(block, cast.child)
    page = coach.get(address("reports_paper", block)).content.decode()
    assert re.findall(r"<h2>(\w+):", page) == ["Mira", "Zoe"]
    assert page.count('class="paper"') == 2
    assert f'<a href="{address("reports", block)}">Back to the reports</a>' in page


def test_a_report_has_no_place_for_a_comparison():
    """What a report is made of holds nothing of any other child."""
    assert set(Facts.__slots__) == {
        "given_name",
        "sessions",
        "came_of_it",
        "practised",
        "journeys",
        "waits",
        "hurt",
        "came_all_the_same",
    }


def test_writing_for_more_children_takes_no_more_queries(
    cast, squats, django_assert_max_num_queries
):
    blocks = []
    for count in (1, AT_ONCE):
        block = BlockFactory(cohort=cast.cohort)
        for n in range(count):
            child = ChildFactory(given_name=f"Kid{count}-{n}", cohort=cast.cohort)
            had(block, child, 0, [squats[0]])
            put(child, squats[-1], squats[0], cast.coach)
        begin(block)
        blocks.append(block)
    for block in blocks:
        write_some(block, NOW, TODAY)  # the library is read once and kept
        Report.objects.filter(block=block).update(generated_at=None)
    for block in blocks:
        with django_assert_max_num_queries(12):
            write_some(block, NOW, TODAY)


def test_a_larger_block_takes_no_more_queries(cast, coach):
    counts = []
    for size in (1, 12):
        block = BlockFactory(cohort=cast.cohort)
        for n in range(size):
            a_report(block, ChildFactory(given_name=f"Kid{size}-{n}", cohort=cast.cohort))
        counts.append(
            [queries_of(coach, address(name, block)) for name in ("reports", "reports_paper")]
        )
    assert counts[0] == counts[1]
