"""Who may open which page about a child: a stranger's is as missing as one that is not there."""

import uuid

import pytest
from django.urls import reverse

from athletes.models import Restriction
from tests.support.children_pages import text
from tests.support.factories import ExerciseFactory, PathwayFactory

pytestmark = pytest.mark.django_db

FAMILY_TOO = ["kit", "restrictions"]
COACHES = [
    "child",
    "edit_child",
    "enrol_child",
    "withdraw_child",
    "invite_family",
    "first_placement",
]
POSTED = ["growing"]
NESTED = [
    "end_enrolment",
    "withdraw_family_invitation",
    "remove_guardian",
    "lift_restriction",
]
WITHOUT_CHILD = ["children", "new_child", "import", "import_sample", "all_placements"]


def both(client, address) -> set[int]:
    return {client.get(address).status_code, client.post(address).status_code}


@pytest.mark.parametrize("name", FAMILY_TOO + COACHES + POSTED)
@pytest.mark.parametrize("person", ["other_coach", "other_guardian", "nobody"])
def test_a_strangers_child_is_as_missing_as_none(cast, client_for, name, person):
    stranger = client_for(getattr(cast, person))
    foreign = reverse(f"athletes:{name}", args=[cast.child.public_id])
    missing = reverse(f"athletes:{name}", args=[uuid.uuid4()])
    assert both(stranger, foreign) == both(stranger, missing) <= {404, 405}
    assert text(stranger.post(foreign)) == text(stranger.post(missing))


@pytest.mark.parametrize("name", COACHES + POSTED)
@pytest.mark.parametrize("person", ["guardian", "athlete"])
def test_a_family_does_not_find_the_coachs_pages(cast, client_for, name, person):
    address = reverse(f"athletes:{name}", args=[cast.child.public_id])
    assert 404 in both(client_for(getattr(cast, person)), address) <= {404, 405}


@pytest.mark.parametrize("name", WITHOUT_CHILD)
@pytest.mark.parametrize("person", ["guardian", "athlete"])
def test_a_family_finds_no_list_and_no_import(cast, client_for, name, person):
    address = reverse(f"athletes:{name}")
    assert client_for(getattr(cast, person)).get(address).status_code == 404


@pytest.mark.parametrize("name", NESTED)
def test_what_belongs_to_a_child_is_reached_only_through_it(cast, client_for, name, today):
    head = client_for(cast.head_coach)
    restriction = cast.child.restrictions.create(
        region="knee", kind="nothing", start=today, until=today
    )
    own = {
        "end_enrolment": cast.child.enrolments.get().pk,
        "withdraw_family_invitation": _invitation(cast).pk,
        "remove_guardian": cast.child.guardianships.get().pk,
        "lift_restriction": restriction.pk,
    }[name]
    wrong_child = reverse(f"athletes:{name}", args=[cast.other_child.public_id, own])
    missing = reverse(f"athletes:{name}", args=[cast.child.public_id, 999_999])
    assert head.post(wrong_child).status_code == head.post(missing).status_code == 404
    assert Restriction.objects.get().lifted_on is None
    assert cast.child.guardianships.exists()


def _invitation(cast):
    from athletes.models import Invitation

    return Invitation.objects.invite("a@example.org", "guardian", cast.coach, cast.child)[0]


def test_an_enrolment_in_another_coachs_cohort_is_not_ended(cast, client_for, today):
    theirs = cast.child.enrolments.create(cohort=cast.other_cohort, start=today)
    address = reverse("athletes:end_enrolment", args=[cast.child.public_id, theirs.pk])
    assert client_for(cast.coach).get(address).status_code == 404


def test_another_coachs_cohort_has_no_board_here(cast, client_for):
    pathway = PathwayFactory(chain=[ExerciseFactory(), ExerciseFactory()])
    own = reverse("athletes:placements", args=[cast.cohort.pk, pathway.slug])
    for person in ("other_coach", "guardian"):
        client = client_for(getattr(cast, person))
        assert client.get(own).status_code == client.post(f"{own}move/").status_code == 404
    coach = client_for(cast.coach)
    assert coach.get(own.replace(pathway.slug, "no-such-pathway")).status_code == 404


@pytest.mark.parametrize("name", FAMILY_TOO + COACHES)
def test_who_is_signed_out_is_asked_to_sign_in(cast, client, name):
    address = reverse(f"athletes:{name}", args=[cast.child.public_id])
    assert client.get(address).headers["location"].startswith(reverse("account_login"))


def test_what_is_sent_after_signing_out_is_said_to_be_unsaved_and_its_words_given_back(
    cast, client
):
    child = reverse("athletes:child", args=[cast.child.public_id])
    answer = client.post(
        reverse("athletes:growing", args=[cast.child.public_id]),
        {"why": "Two <b>tall</b> parents.", "until": "2026-11-30", "seen-why": "One tall parent."},
        headers={"Referer": f"http://testserver{child}?of=week"},
    )
    assert answer.status_code == 401
    html = answer.content.decode()
    assert "That was not saved" in html
    assert html.count("<textarea") == 1
    assert "Two &lt;b&gt;tall&lt;/b&gt; parents." in html
    assert f"{reverse('account_login')}?next={child}%3Fof%3Dweek" in html


def test_signing_in_leads_to_no_other_site(cast, client):
    answer = client.post(
        reverse("athletes:growing", args=[cast.child.public_id]),
        {"until": ""},
        headers={"Referer": "https://elsewhere.example/children/"},
    )
    assert f'href="{reverse("account_login")}"' in answer.content.decode()


def test_a_part_asked_for_after_signing_out_stays_on_its_page(cast, client):
    address = reverse("athletes:growing", args=[cast.child.public_id])
    answer = client.post(address, headers={"HX-Request": "true"})
    assert answer.status_code == 401
    assert "HX-Redirect" not in answer.headers


def test_what_was_said_of_a_child_is_not_read_after_signing_out(cast, client_for):
    coach = client_for(cast.coach)
    coach.post(reverse("athletes:growing", args=[cast.child.public_id]), {"no_longer": "1"})
    coach.post(reverse("account_logout"))
    page = text(coach.get(reverse("account_login")))
    assert "You have signed out." in page
    assert "Mira" not in page
