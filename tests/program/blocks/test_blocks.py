"""Blocks: the list, the form, and new sessions in a block."""

import datetime as dt
import re

import pytest
from django.urls import reverse

from program.blocks.views import blocks
from program.models import Block, Session
from tests.support.factories import MONDAY, BlockFactory, CohortFactory, SessionFactory, UserFactory
from tests.support.markup import fields_of, markup
from tests.support.planning import HTMX, MOST_QUERIES, assert_well_made, queries_of

pytestmark = pytest.mark.django_db

LAST = MONDAY + dt.timedelta(days=55)


def block_url(name, block):
    return reverse(f"program:{name}", args=[block.pk])


def sent(cast, **changes):
    return {
        "cohort": cast.cohort.pk,
        "name": "Autumn",
        "aim": "One leg strong and quiet",
        "starts_on": MONDAY.isoformat(),
        "ends_on": LAST.isoformat(),
        **Block().pauses,
    } | changes


def field_of(html, name):
    """What stands around a field of a form page."""
    return html.partition(f'id="div_id_{name}"')[2].partition("</div>\n")[0]


@pytest.mark.parametrize("number", [-1, 0, 1, 2, 8, 9])
def test_a_week_starts_on_the_first_of_the_days_counted_to_it(number):
    block = Block(starts_on=MONDAY, ends_on=LAST)
    starts = block.week_starts(number)
    assert block.week_of(starts) == number
    assert block.week_of(starts - dt.timedelta(days=1)) == number - 1
    assert block.week_starts(1) == MONDAY


class TestList:
    def test_blocks_stand_under_their_cohorts_latest_first(self, coach, cast):
        early = BlockFactory(cohort=cast.cohort, name="Summer", starts_on=MONDAY.replace(day=1))
        late = BlockFactory(cohort=cast.cohort, name="Autumn")
        BlockFactory(cohort=cast.other_cohort, name="Not mine")
        SessionFactory(block=late, published_at="2026-11-02T08:00Z")
        SessionFactory(block=late)
        html = markup(coach.get(reverse("program:blocks")))
        assert_well_made(html)
        assert html.index(late.name) < html.index(early.name)
        assert "2 sessions, 1 published" in html
        assert "Not mine" not in html

    def test_a_coach_without_a_cohort_reads_why_nothing_is_there(self, cast, client_for):
        cast.cohort.coaches.clear()
        html = markup(client_for(cast.coach).get(reverse("program:blocks")))
        assert "Ask the head coach to give you one." in html

    @pytest.mark.parametrize("name", ["blocks", "week"])
    def test_a_head_coach_without_any_cohort_is_led_to_making_the_first(self, client_for, name):
        head = client_for(UserFactory(role="head_coach"))
        html = markup(head.get(reverse(f"program:{name}")))
        assert reverse("athletes:new_cohort") in html

    def test_a_cohort_without_a_block_offers_to_make_one_for_it(self, coach, cast):
        html = markup(coach.get(reverse("program:blocks")))
        address = f"{reverse('program:block_new')}?cohort={cast.cohort.pk}"
        assert address in html
        form = markup(coach.get(address, follow=True))
        assert f'<option value="{cast.cohort.pk}" selected' in form

    def test_more_blocks_cost_no_more_queries(self, coach, cast):
        BlockFactory(cohort=cast.cohort)
        few = queries_of(coach, reverse("program:blocks"))
        for _ in range(6):
            SessionFactory(block=BlockFactory(cohort=CohortFactory(coached_by=[cast.coach])))
        assert queries_of(coach, reverse("program:blocks")) == few <= MOST_QUERIES


class TestForm:
    def test_a_block_is_made_and_opens(self, coach, cast):
        answer = coach.post(reverse("program:block_new"), sent(cast))
        block = Block.objects.get()
        assert answer.url == block_url("block", block)
        assert (block.name, block.starts_on, block.ends_on) == ("Autumn", MONDAY, LAST)

    def test_a_coach_new_here_reads_what_a_block_and_a_session_are(self, coach, cast):
        session = SessionFactory(block=BlockFactory(cohort=cast.cohort))
        block_means, session_means = "some weeks of sessions with one aim", "No family sees it"
        for address, means in (
            (reverse("program:block_new"), block_means),
            (block_url("session_new", session.block), session_means),
        ):
            assert means in markup(coach.get(address, follow=True))
        assert block_means not in markup(coach.get(block_url("block_edit", session.block)))

    def test_a_form_sent_twice_makes_one_block_and_keeps_what_was_typed(self, coach, cast):
        address = coach.get(reverse("program:block_new")).url
        coach.post(address, sent(cast))
        answer = coach.post(address, sent(cast, name="Winter"))
        block, html = Block.objects.get(), markup(answer)
        assert (answer.status_code, block.name) == (409, "Autumn")
        assert_well_made(html)
        assert "“Autumn” was made here already." in html
        assert 'value="Winter"' in field_of(html, "name")
        assert f'action="{block_url("block_edit", block)}"' in html
        # Saved from there, it is the same block.
        seen = dict(re.findall(r'name="(seen-[^"]*)" value="([^"]*)"', html))
        again = coach.post(block_url("block_edit", block), sent(cast, name="Winter") | seen)
        assert again.url == block_url("block", block)
        assert Block.objects.get().name == "Winter"

    def test_going_back_after_making_a_block_leads_to_changing_it(self, coach, cast):
        address = coach.get(reverse("program:block_new"), {"cohort": cast.cohort.pk}).url
        assert f"cohort={cast.cohort.pk}" in address
        coach.post(address, sent(cast))
        assert coach.get(address).url == block_url("block_edit", Block.objects.get())
        # A form opened anew makes another one.
        coach.post(coach.get(reverse("program:block_new")).url, sent(cast))
        assert Block.objects.count() == 2

    def test_a_form_sent_twice_at_once_makes_one_block(self, coach, cast, monkeypatch):
        address = coach.get(reverse("program:block_new")).url
        coach.post(address, sent(cast))
        made_with = blocks._made_with
        answers = iter([lambda *asked: None, made_with])  # the other one is not there yet
        monkeypatch.setattr(blocks, "_made_with", lambda *asked: next(answers)(*asked))
        again = coach.post(address, sent(cast))
        assert again.url == block_url("block", Block.objects.get())

    def test_the_key_of_anothers_form_opens_nothing(self, coach, cast, client_for):
        address = coach.get(reverse("program:block_new")).url
        coach.post(address, sent(cast))
        other = client_for(cast.other_coach)
        assert other.get(address).status_code == 404
        mine = sent(cast, cohort=cast.other_cohort.pk)
        assert other.post(address, mine).status_code == 404
        for key in ("", "an-owl", "7" * 99):
            assert coach.get(reverse("program:block_new"), {"form": key}).status_code == 302

    @pytest.mark.parametrize(
        ("field", "value", "message"),
        [
            ("ends_on", "2026-11-01", "A block cannot end before it starts."),
            ("ends_on", "2026-11-02", "A block cannot end before it starts."),
            ("ends_on", "2027-11-02", "A block lasts at most 26 weeks."),
            ("starts_on", "", "Choose a day."),
            ("starts_on", "soon", "This is not a day."),
            ("ends_on", "9999-12-31", "Choose a day between 2000 and 2099."),
            ("name", "", "This field is required."),
        ],
    )
    def test_a_bad_block_is_refused_at_its_field(self, coach, cast, field, value, message):
        answer = coach.post(reverse("program:block_new"), sent(cast, **{field: value}))
        html = markup(answer)
        assert answer.status_code == 422
        assert_well_made(html)
        assert message in field_of(html, field)
        assert not Block.objects.exists()

    def test_a_block_for_another_coachs_cohort_is_refused(self, coach, cast):
        answer = coach.post(reverse("program:block_new"), sent(cast, cohort=cast.other_cohort.pk))
        assert "Choose one of your cohorts." in field_of(markup(answer), "cohort")
        assert not Block.objects.exists()

    def test_a_block_is_edited_but_keeps_its_cohort(self, coach, cast):
        block = BlockFactory(cohort=cast.cohort)
        seen = {"seen-name": block.name, "seen-aim": "", "seen-ends_on": LAST.isoformat()}
        changes = sent(cast, name="Renamed", cohort=cast.other_cohort.pk) | seen
        assert coach.post(block_url("block_edit", block), changes).status_code == 302
        block.refresh_from_db()
        assert (block.name, block.cohort) == ("Renamed", cast.cohort)

    @pytest.mark.parametrize("field", ["starts_on", "ends_on"])
    def test_a_block_is_not_cut_shorter_than_its_sessions(self, coach, cast, field):
        block = BlockFactory(cohort=cast.cohort)
        SessionFactory(block=block, date=MONDAY)
        SessionFactory(block=block, date=LAST)
        day = MONDAY + dt.timedelta(days=10)
        answer = coach.post(block_url("block_edit", block), sent(cast, **{field: day.isoformat()}))
        where = "Monday 2 November 2026" if field == "starts_on" else "Sunday 27 December 2026"
        message = f"There is a session on {where}. Move it first."
        assert message in field_of(markup(answer), field)
        block.refresh_from_db()
        assert (block.starts_on, block.ends_on) == (MONDAY, LAST)

    def test_two_coaches_editing_one_block_are_told(self, coach, cast, client_for):
        block = BlockFactory(cohort=cast.cohort, name="Autumn", aim="")
        seen = {"seen-name": "Autumn", "seen-aim": "", "seen-starts_on": "2026-11-02"}
        mine = sent(cast, name="Mine", aim="") | seen | {"seen-ends_on": LAST.isoformat()}
        Block.objects.update(name="Theirs", aim="Quiet")
        answer = coach.post(block_url("block_edit", block), mine)
        html = markup(answer)
        assert answer.status_code == 409
        assert "yours <b>Mine</b>, theirs <b>Theirs</b>" in html
        assert 'name="seen-name" value="Theirs"' in html
        block.refresh_from_db()
        assert block.name == "Theirs"
        coach.post(block_url("block_edit", block), mine | {"seen-name": "Theirs"})
        block.refresh_from_db()
        assert (block.name, block.aim) == ("Mine", "Quiet")


class TestStrangers:
    @pytest.mark.parametrize("name", ["block", "block_edit", "session_new"])
    @pytest.mark.parametrize("who", ["other_coach", "guardian", "athlete"])
    def test_a_strangers_block_does_not_exist(self, cast, client_for, who, name):
        block = BlockFactory(cohort=cast.cohort)
        client = client_for(getattr(cast, who))
        assert client.get(block_url(name, block)).status_code == 404
        if name != "block":
            assert client.post(block_url(name, block), sent(cast)).status_code == 404


def session_sent(**changes):
    return {
        "name": "Strong steps",
        "date": MONDAY.isoformat(),
        "place": "home",
        "target_minutes": "25",
        "note": "",
    } | changes


class TestSession:
    def test_a_session_is_made_and_opens_in_the_builder(self, coach, cast):
        block = BlockFactory(cohort=cast.cohort)
        answer = coach.post(block_url("session_new", block), session_sent(note="Bring water"))
        session = Session.objects.get()
        assert answer.url == reverse("program:build", args=[session.pk])
        assert (session.block, session.note, session.edited_by) == (
            block,
            "Bring water",
            cast.coach,
        )

    def test_a_form_sent_twice_makes_one_session(self, coach, cast):
        block = BlockFactory(cohort=cast.cohort)
        for _ in range(2):
            coach.post(block_url("session_new", block), session_sent(once="k"))
        assert Session.objects.count() == 1

    def test_back_and_made_again_it_is_one_session_changed(self, coach, cast):
        block = BlockFactory(cohort=cast.cohort)
        address = coach.get(block_url("session_new", block), {"on": "2026-11-18"}).url
        assert "on=2026-11-18" in address
        coach.post(address, session_sent())
        made = Session.objects.get()
        facts = reverse("program:session_facts", args=[made.pk])
        assert coach.get(address).url == facts

        again = coach.post(address, session_sent(name="Calm steps"))
        assert again.status_code == 409
        html = markup(again)
        assert f'action="{facts}"' in html
        assert 'value="Calm steps"' in html
        coach.post(facts, fields_of(again))
        assert [each.name for each in Session.objects.all()] == ["Calm steps"]

    def test_the_key_of_anothers_new_session_opens_nothing(self, coach, cast, client_for):
        address = coach.get(block_url("session_new", BlockFactory(cohort=cast.cohort))).url
        coach.post(address, session_sent())
        key = address.partition("form=")[2]
        foreign = block_url("session_new", BlockFactory(cohort=cast.other_cohort))
        other = client_for(cast.other_coach)
        assert other.get(foreign, {"form": key}).status_code == 404
        for key in ("", "an-owl", "7" * 99):
            assert other.get(foreign, {"form": key}).status_code == 302

    @pytest.mark.parametrize(
        ("asked", "offered"),
        [("2026-11-18", "2026-11-18"), ("2030-01-01", "2026-12-27"), ("2000-01-01", "2026-11-02")],
    )
    def test_the_day_offered_lies_within_the_block(self, coach, cast, asked, offered):
        block = BlockFactory(cohort=cast.cohort)
        html = markup(coach.get(block_url("session_new", block), {"on": asked}, follow=True))
        assert f'name="date" value="{offered}"' in html

    BAD = [
        ("date", "2026-11-01", "lies outside the block, which runs from Monday 2 November 2026"),
        ("date", "2026-12-28", "Monday 28 December 2026 lies outside the block"),
        ("date", "whenever", "This is not a day."),
        ("target_minutes", "4", "A session takes between 5 and 120 minutes."),
        ("target_minutes", "-25", "A session takes between 5 and 120 minutes."),
        ("target_minutes", "999999", "A session takes between 5 and 120 minutes."),
        ("target_minutes", "long", "“long” is not a whole number."),
        ("name", "", "This field is required."),
        ("place", "moon", "Select a valid choice."),
    ]

    @pytest.mark.parametrize(("field", "value", "message"), BAD)
    def test_a_bad_session_is_refused_at_its_field(self, coach, cast, field, value, message):
        block = BlockFactory(cohort=cast.cohort)
        answer = coach.post(block_url("session_new", block), session_sent(**{field: value}))
        html = markup(answer)
        assert answer.status_code == 422
        assert_well_made(html)
        assert message in html.partition(f'id="div_id_{field}"')[2][:2000]
        assert not Session.objects.exists()

    @pytest.mark.parametrize(("field", "value", "message"), BAD)
    def test_bad_facts_of_a_session_are_refused_and_change_nothing(
        self, coach, cast, field, value, message
    ):
        session = SessionFactory(block=BlockFactory(cohort=cast.cohort))
        before = Session.objects.values().get()
        answer = coach.post(
            block_url("session_facts", session), session_sent(**{field: value}), headers=HTMX
        )
        assert answer.status_code == 422
        assert message in markup(answer)
        assert Session.objects.values().get() == before

    def test_facts_changed_in_the_builder_come_back_as_its_head(self, coach, cast):
        session = SessionFactory(block=BlockFactory(cohort=cast.cohort))
        form = markup(coach.get(block_url("session_facts", session), headers=HTMX))
        assert "<main" not in form
        assert 'hx-target="#facts"' in form
        changes = session_sent(name="Renamed", version=session.version)
        html = markup(coach.post(block_url("session_facts", session), changes, headers=HTMX))
        assert "<h1>Renamed</h1>" in html
        assert 'id="panel"' in html
        session.refresh_from_db()
        assert (session.name, session.version) == ("Renamed", 2)
