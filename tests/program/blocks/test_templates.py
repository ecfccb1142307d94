"""Templates, breaks and deleting a block, as a coach meets them."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from program.blocks.queries import sessions_of
from program.models import (
    Block,
    BoardChange,
    Break,
    Override,
    Session,
    Slot,
    Template,
    TemplateKind,
)
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    CohortFactory,
    ExerciseFactory,
    PathwayFactory,
    SlotFactory,
)
from tests.support.planning import assert_well_made, names_of, session_of

pytestmark = pytest.mark.django_db

WEEK = dt.timedelta(weeks=1)


@pytest.fixture
def block(cast, monkeypatch):
    """Eight weeks from a Monday, with sessions on the first and the third Monday."""
    monkeypatch.setattr(timezone, "localdate", lambda *_: MONDAY)
    block = BlockFactory(cohort=cast.cohort, name="Autumn")
    session_of(cast.cohort, needing=False, block=block, name="Steps", note="Dear parents.")
    session_of(cast.cohort, needing=False, block=block, name="Hops", date=MONDAY + 2 * WEEK)
    return block


def url(name, *ids):
    return reverse(f"program:{name}", args=ids)


def kept(coach, address, name="Kept"):
    answer = coach.post(address, {"name": name})
    assert answer.status_code == 302
    return Template.objects.latest("pk")


class TestTemplates:
    def test_a_block_begins_again_for_another_cohort_on_another_day(self, coach, cast, block):
        template = kept(coach, url("keep_block", block.pk))
        assert (template.kind, template.made_by) == (TemplateKind.BLOCK, cast.coach)
        other = CohortFactory(name="Larks", coached_by=[cast.coach])
        starts = dt.date(2027, 1, 6)
        said = {"cohort": other.pk, "name": "Winter", "starts_on": starts.isoformat()}
        answer = coach.post(url("template", template.pk), said)
        made = Block.objects.get(name="Winter")
        assert answer.url == url("block", made.pk)
        assert (made.cohort, made.starts_on, made.ends_on) == (
            other,
            starts,
            starts + dt.timedelta(days=55),
        )
        sessions = list(made.sessions.order_by("date"))
        assert [(s.name, s.date) for s in sessions] == [
            ("Steps", starts),
            ("Hops", starts + 2 * WEEK),
        ]
        assert not any(session.is_published for session in sessions)
        assert names_of(sessions[0]) == names_of(block.sessions.get(name="Steps"))

    def test_a_word_to_one_cohorts_families_stays_behind(self, coach, block):
        template = kept(coach, url("keep_session", block.sessions.get(name="Steps").pk))
        assert "Dear parents." not in str(template.content)

    def test_a_session_begins_in_a_block_and_can_be_taken_back(self, coach, block):
        template = kept(coach, url("keep_session", block.sessions.get(name="Steps").pk))
        day = MONDAY + 5 * WEEK
        said = {"block": block.pk, "date": day.isoformat()}
        coach.post(url("template", template.pk), said)
        assert block.sessions.get(date=day).name == "Steps"
        coach.post(url("change_back", block.pk, BoardChange.objects.get().pk))
        assert not block.sessions.filter(date=day).exists()

    def test_a_part_is_added_at_the_end_of_a_session(self, coach, block):
        session = block.sessions.get(name="Steps")
        part = session.parts.get()
        template = kept(coach, url("keep_part", session.pk, part.pk))
        hops = block.sessions.get(name="Hops")
        html = coach.get(url("template", template.pk), {"session": hops.pk}).content.decode()
        assert f'value="{hops.pk}" selected' in html
        coach.post(url("template", template.pk), {"session": hops.pk})
        assert names_of(hops)[1] == names_of(session)[0]
        hops.refresh_from_db()
        assert hops.version == 2

    def test_a_retired_exercise_is_named_and_must_be_replaced_or_left_out(self, coach, block):
        session = block.sessions.get(name="Steps")
        slot = Slot.objects.filter(part__session=session).first()
        easier = ExerciseFactory(revision__name="Wall sit")
        PathwayFactory(chain=[easier, slot.exercise])
        template = kept(coach, url("keep_session", session.pk))
        slot.exercise.status = "retired"
        slot.exercise.save()
        page = coach.get(url("template", template.pk)).content.decode()
        assert_well_made(page)
        assert f"{slot.exercise} is not published any more." in page
        assert "Wall sit" in page
        said = {"block": block.pk, "date": (MONDAY + WEEK).isoformat()}
        answer = coach.post(url("template", template.pk), said)
        assert answer.status_code == 422
        assert "Choose what takes its place, or leave it out." in answer.content.decode()
        field = f"instead-{slot.exercise.slug}"
        coach.post(url("template", template.pk), said | {field: easier.slug})
        assert names_of(block.sessions.get(date=MONDAY + WEEK))[0][0] == "Wall sit"
        coach.post(url("template", template.pk), said | {field: "leave-out"})
        latest = block.sessions.latest("pk")
        assert len(names_of(latest)[0]) == 1

    @pytest.mark.parametrize(
        ("said", "refusal"),
        [
            ({"date": "2027-06-01"}, "The block runs from Monday 2 November 2026"),
            ({"date": "soon"}, "This is not a day."),
            ({"block": 987654}, "Choose one of your blocks."),
        ],
    )
    def test_a_wrong_place_is_refused_in_words(self, coach, block, said, refusal):
        template = kept(coach, url("keep_session", block.sessions.get(name="Steps").pk))
        right = {"block": block.pk, "date": MONDAY.isoformat()}
        answer = coach.post(url("template", template.pk), right | said)
        assert answer.status_code == 422
        assert refusal in answer.content.decode()
        assert block.sessions.count() == 2

    def test_a_template_without_a_name_is_not_kept(self, coach, block):
        answer = coach.post(url("keep_block", block.pk), {"name": "  "})
        assert answer.status_code == 422
        assert "Give it a name to find it by." in answer.content.decode()
        assert not Template.objects.exists()

    def test_only_who_kept_it_or_the_head_coach_throws_it_away(
        self, coach, cast, client_for, block
    ):
        template = kept(coach, url("keep_block", block.pk))
        other = client_for(cast.other_coach)
        assert template.name in other.get(url("templates")).content.decode()
        assert other.post(url("template_away", template.pk)).status_code == 404
        client_for(cast.head_coach).post(url("template_away", template.pk))
        assert not Template.objects.exists()

    def test_only_who_kept_it_or_the_head_coach_renames_it(self, coach, cast, client_for, block):
        template = kept(coach, url("keep_block", block.pk))
        named = url("template_name", template.pk)
        assert client_for(cast.other_coach).post(named, {"name": "Mine"}).status_code == 404
        assert named not in client_for(cast.other_coach).get(url("templates")).content.decode()
        assert named in coach.get(url("templates")).content.decode()
        for who, name in ((coach, "Calm start"), (client_for(cast.head_coach), "Calm autumn")):
            who.post(named, {"name": name})
            template.refresh_from_db()
            assert template.name == name

    def test_a_template_keeps_its_name_where_none_is_given(self, coach, block):
        template = kept(coach, url("keep_block", block.pk))
        before = template.name
        answer = coach.post(url("template_name", template.pk), {"name": " "})
        assert answer.status_code == 422
        assert "Give it a name to find it by." in answer.content.decode()
        template.refresh_from_db()
        assert template.name == before

    def test_an_empty_list_says_what_templates_are(self, coach):
        html = coach.get(url("templates")).content.decode()
        assert_well_made(html)
        assert "Nothing is kept yet" in html


class TestBreaks:
    @pytest.fixture
    def away(self, cast, block):
        """The third week."""
        return Break.objects.create(
            cohort=cast.cohort,
            name="Autumn holidays",
            first=MONDAY + 2 * WEEK,
            last=MONDAY + 2 * WEEK + dt.timedelta(days=6),
        )

    def address(self, block, away):
        return url("clear_break", block.pk, away.pk)

    def do(self, coach, block, away, way):
        html = coach.get(self.address(block, away), {"way": way}).content.decode()
        assert_well_made(html)
        mark = html.partition('name="mark" value="')[2].partition('"')[0]
        return coach.post(self.address(block, away), {"way": way, "mark": mark})

    def days(self, block):
        return [(s.name, (s.date - MONDAY).days) for s in block.sessions.order_by("date")]

    def test_a_coach_sets_one_for_a_cohort_and_only_the_head_coach_for_all(
        self, coach, cast, client_for
    ):
        said = {"name": "Camp", "first": "2026-11-05", "last": "2026-11-06", "cohort": ""}
        answer = coach.post(url("breaks"), said)
        assert "The head coach sets what is for every cohort." in answer.content.decode()
        coach.post(url("breaks"), said | {"cohort": cast.cohort.pk})
        client_for(cast.head_coach).post(url("breaks"), said)
        assert list(Break.objects.values_list("cohort", flat=True)) == [cast.cohort.pk, None]
        html = coach.get(url("breaks")).content.decode()
        assert html.count("Remove Camp") == 2  # what it asks and what it is called, of one break

    @pytest.mark.parametrize(
        ("wrong", "refusal"),
        [
            ({"last": "2026-11-04"}, "A break cannot end before it starts."),
            ({"last": "2027-11-04"}, "A break lasts at most 26 weeks."),
            ({"first": ""}, "Choose a day."),
            ({"name": ""}, "This field is required."),
        ],
    )
    def test_a_wrong_break_is_refused_in_words(self, coach, cast, wrong, refusal):
        said = {"name": "Camp", "first": "2026-11-05", "last": "2026-11-06"}
        answer = coach.post(url("breaks"), said | {"cohort": cast.cohort.pk} | wrong)
        assert answer.status_code == 422
        assert refusal in answer.content.decode()
        assert not Break.objects.exists()

    def test_it_shows_on_the_board_of_its_cohort_alone(self, coach, cast, away, block):
        assert "Autumn holidays" in coach.get(url("block", block.pk)).content.decode()
        other = BlockFactory(cohort=CohortFactory(coached_by=[cast.coach]))
        session_of(other.cohort, block=other)
        assert "Autumn holidays" not in coach.get(url("block", other.pk)).content.decode()
        assert coach.get(self.address(other, away)).status_code == 404

    def test_moving_later_and_back(self, coach, away, block):
        self.do(coach, block, away, "later")
        assert self.days(block) == [("Steps", 0), ("Hops", 21)]
        coach.post(url("change_back", block.pk, BoardChange.objects.get().pk))
        assert self.days(block) == [("Steps", 0), ("Hops", 14)]

    def test_taking_out_and_back_with_all_it_held(self, coach, away, block):
        before = names_of(block.sessions.get(name="Hops"))
        self.do(coach, block, away, "drop")
        assert self.days(block) == [("Steps", 0)]
        coach.post(url("change_back", block.pk, BoardChange.objects.get().pk))
        assert self.days(block) == [("Steps", 0), ("Hops", 14)]
        assert names_of(block.sessions.get(name="Hops")) == before

    def test_what_a_shorter_block_would_not_show_comes_back_once_it_is_longer(
        self, coach, away, block
    ):
        for way in ("drop", "later"):
            self.do(coach, block, away, way)
            change = BoardChange.objects.standing().get()
            block.sessions.filter(name="Hops").update(date=MONDAY)
            Block.objects.filter(pk=block.pk).update(ends_on=MONDAY + WEEK)
            back = url("change_back", block.pk, change.pk)
            html = coach.post(back, follow=True).content.decode()
            assert "The block does not hold Monday 16 November 2026 any more." in html
            Block.objects.filter(pk=block.pk).update(ends_on=MONDAY + 8 * WEEK)
            block.sessions.filter(name="Hops").update(date=MONDAY + 3 * WEEK)
            coach.post(back)
            assert self.days(block) == [("Steps", 0), ("Hops", 14)]

    def test_the_block_grows_where_it_must_and_shrinks_again(self, coach, away, block):
        ends = MONDAY + 2 * WEEK + dt.timedelta(days=6)
        Block.objects.filter(pk=block.pk).update(ends_on=ends)
        self.do(coach, block, away, "later")
        block.refresh_from_db()
        assert block.ends_on == MONDAY + 3 * WEEK
        coach.post(url("change_back", block.pk, BoardChange.objects.get().pk))
        block.refresh_from_db()
        assert block.ends_on == ends

    def test_nothing_is_said_about_a_child_in_what_is_kept(self, coach, cast, away, block):
        slot = SlotFactory(part=block.sessions.get(name="Hops").parts.get(), position=8)
        Override.objects.create(slot=slot, child=cast.child, note="Her knee.")
        html = coach.get(self.address(block, away), {"way": "drop"}).content.decode()
        assert "It holds a choice made for a single child" in html
        answer = self.do(coach, block, away, "drop")
        assert answer.status_code == 409
        assert Override.objects.exists()

    def test_after_somebody_changed_the_block_it_is_shown_anew_first(self, coach, away, block):
        Session.objects.filter(name="Steps").update(version=9)
        answer = coach.post(self.address(block, away), {"way": "later", "mark": "old"})
        assert answer.status_code == 409
        assert "Somebody changed the block since you looked." in answer.content.decode()
        assert self.days(block) == [("Steps", 0), ("Hops", 14)]


class TestDeleting:
    def test_a_block_of_drafts_is_deleted_with_them(self, coach, block):
        html = coach.get(url("block_away", block.pk)).content.decode()
        assert_well_made(html)
        assert "It holds 2 drafts" in html
        coach.post(url("block_away", block.pk), {"written": 2})
        assert not Block.objects.filter(pk=block.pk).exists()

    def test_a_block_that_changed_since_is_looked_at_again(self, coach, block):
        answer = coach.post(url("block_away", block.pk), {"written": 1})
        assert answer.status_code == 409
        assert block.sessions.count() == 2

    def test_a_block_with_something_published_stays(self, coach, block):
        block.sessions.filter(name="Hops").update(published_at="2026-11-01T08:00Z")
        answer = coach.post(url("block_away", block.pk), {"written": 2})
        assert answer.status_code == 409
        assert "1 of its sessions is published, so the block stays." in answer.content.decode()
        assert len(sessions_of(block)) == 2
