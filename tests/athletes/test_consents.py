"""Who agrees to what for a child, which answer holds, and what no row may say."""

import datetime as dt

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, ProgrammingError, connection, transaction

from athletes.consent_texts import TEXTS
from athletes.consents import (
    Answer,
    answer,
    answer_on_paper,
    choose_mail,
    questions_about,
    remove_guardian,
)
from athletes.models import Child, Consent, ConsentPurpose, User
from athletes.models.consents import agreed_to, is_agreed_to, refused, refused_before
from athletes.signals import Circumstance, circumstances_changed
from tests.support.consents import said
from tests.support.factories import ChildFactory, UserFactory

pytestmark = pytest.mark.django_db

PHOTOS, TRAINING, MAIL = ConsentPurpose.PHOTOS, ConsentPurpose.TRAINING, ConsentPurpose.MAIL
DAY = dt.timedelta(days=1)


@pytest.fixture
def family(db):
    """A child with two guardians who were asked nothing yet."""
    one, two = UserFactory(name="Ada"), UserFactory(name="Ben")
    child = ChildFactory(guardian=one, agrees=())
    child.guardianships.create(guardian=two)
    return child, one, two


def now_says(purpose, *, given=True):
    return {purpose: Answer.now(purpose, given=given)}


def says_in_a_query(child, condition) -> bool:
    return Child.objects.filter(condition, pk=child.pk).exists()


def test_of_two_guardians_the_stricter_holds(family, today):
    """All nine pairs of what two may have said, the newest of each counting."""
    child, one, two = family
    for first in (None, True, False):
        for second in (None, True, False):
            with transaction.atomic():
                for person, given in ((one, first), (two, second)):
                    if given is not None:
                        said(child, person, [PHOTOS], given=not given)
                        said(child, person, [PHOTOS], given=given)
                holds = True in (first, second) and False not in (first, second)
                is_refused = False in (first, second)
                assert is_agreed_to(PHOTOS, child, today) == holds, (first, second)
                assert says_in_a_query(child, agreed_to(PHOTOS, today)) == holds, (first, second)
                assert says_in_a_query(child, refused(PHOTOS, today)) == is_refused
                assert not is_agreed_to(TRAINING, child, today)
                connection.check_constraints()
                transaction.set_rollback(True)


def test_a_no_of_one_childs_guardian_says_nothing_of_another_child(family, cast, today):
    child, one, _ = family
    said(child, one, [PHOTOS], given=False)
    assert is_agreed_to(PHOTOS, cast.child, today)


def test_only_who_is_a_guardian_today_counts(family, today):
    child, one, two = family
    said(child, one, [PHOTOS])
    said(child, two, [PHOTOS], given=False)
    remove_guardian(child.guardianships.get(guardian=two), today)
    assert is_agreed_to(PHOTOS, child, today)
    remove_guardian(child.guardianships.get(guardian=one), today)
    assert not is_agreed_to(PHOTOS, child, today)
    assert not says_in_a_query(child, refused(PHOTOS, today))


def test_from_eighteen_on_an_athlete_with_a_sign_in_answers_alone(family, now, today):
    """Born on the same day eighteen years before; on the day before it is still the guardians."""
    child, one, _ = family
    said(child, one, [PHOTOS])
    child.user, child.birth_date = UserFactory(role="athlete"), today.replace(year=today.year - 18)
    child.save()
    eve = today - DAY
    assert (is_agreed_to(PHOTOS, child, eve), is_agreed_to(PHOTOS, child, today)) == (True, False)
    assert not questions_about(child, child.user, eve).is_first_visit
    assert questions_about(child, child.user, today).is_first_visit
    assert not questions_about(child, one, today).is_first_visit
    said(child, child.user, [PHOTOS], at=now)
    assert is_agreed_to(PHOTOS, child, today)
    child.user = None
    child.save()
    assert is_agreed_to(PHOTOS, child, today), "without a sign-in the guardians’ answers stand"


def test_the_same_answer_to_the_same_text_is_kept_once_and_a_new_text_is_asked_anew(
    family, now, today
):
    child, one, _ = family
    assert len(answer(child, one, now_says(PHOTOS), now)) == 1
    assert answer(child, one, now_says(PHOTOS), now + DAY) == []
    old = {PHOTOS: Answer(given=True, version=0)}
    answer(child, one, old, now)
    assert is_agreed_to(PHOTOS, child, today), "an answer to an older text holds"
    (photos,) = (each for each in questions_about(child, one, today).all if each.purpose == PHOTOS)
    assert (photos.has_changed, photos.is_open, photos.holds) == (True, True, True)


def test_nobody_answers_but_who_answers_for_the_child(family, cast, now):
    child, _, _ = family
    for person in (cast.coach, cast.head_coach, cast.guardian, cast.athlete):
        with pytest.raises(PermissionDenied):
            answer(child, person, now_says(PHOTOS), now)
        with pytest.raises(ProgrammingError, match="Only a guardian"), transaction.atomic():
            said(child, person, [PHOTOS])
    with pytest.raises(PermissionDenied):
        answer(cast.child, cast.athlete, now_says(PHOTOS), now)
    with pytest.raises(ProgrammingError, match="Only a guardian"), transaction.atomic():
        said(cast.child, cast.athlete, [PHOTOS])


def tried(attempt) -> None:
    with transaction.atomic():
        attempt()
        connection.check_constraints()


def test_an_answer_is_changed_and_deleted_by_nobody_but_with_its_child(family):
    child, one, _ = family
    (row,) = said(child, one, [PHOTOS])
    for attempt in (
        lambda: Consent.objects.filter(pk=row.pk).update(given=False),
        lambda: Consent.objects.filter(pk=row.pk).update(answered_by=None),
        lambda: Consent.objects.filter(pk=row.pk).delete(),
    ):
        with pytest.raises(ProgrammingError, match="never changed"):
            tried(attempt)
    with pytest.raises(IntegrityError), transaction.atomic():
        Consent.objects.create(
            child=child, purpose="else", given=True, version=1, answered_by=one, at=row.at
        )
    User.objects.filter(pk=one.pk).delete()
    connection.check_constraints()
    assert Consent.objects.get().answered_by is None
    child.delete()
    connection.check_constraints()
    assert not Consent.objects.exists()


def test_a_paper_changes_nothing_that_was_said_here_since_or_on_that_day(family, cast, now, today):
    child, one, two = family
    answer(child, one, now_says(PHOTOS, given=False), now - 3 * DAY)
    signed = {"answers": now_says(PHOTOS), "by": cast.coach, "now": now}
    for day in (today - 9 * DAY, today - 3 * DAY):
        with pytest.raises(ValidationError, match="Ada has answered since"):
            answer_on_paper(child, one, signed_on=day, **signed)
    with pytest.raises(ProgrammingError, match="changes no answer"), transaction.atomic():
        Consent.objects.create(
            child=child,
            purpose=PHOTOS,
            given=True,
            version=1,
            answered_by=one,
            at=now,
            signed_on=today - 9 * DAY,
        )
    (paper,) = answer_on_paper(child, one, signed_on=today - 2 * DAY, **signed)
    assert (paper.recorded_by, paper.said_on) == (cast.coach, today - 2 * DAY)
    assert is_agreed_to(PHOTOS, child, today)
    with pytest.raises(ValidationError, match="Ada has answered since"):
        answer_on_paper(child, one, signed_on=today - 4 * DAY, **signed)
    # A slip of the coach's is put right from the same paper.
    slip = signed | {"answers": now_says(PHOTOS, given=False)}
    answer_on_paper(child, one, signed_on=today - 2 * DAY, **slip)
    assert not is_agreed_to(PHOTOS, child, today)
    answer_on_paper(child, two, signed_on=today - 30 * DAY, **signed)
    with pytest.raises(PermissionDenied):
        answer_on_paper(child, cast.guardian, signed_on=today, **signed)


def test_whoever_plans_hears_only_when_training_comes_to_be_refused_or_is_so_no_longer(
    family, now, today
):
    child, one, two = family
    heard = []

    def hear(child, what, **signal):
        heard.append(what)

    circumstances_changed.connect(hear)
    try:
        answer(child, one, now_says(TRAINING), now)
        answer(child, one, now_says(PHOTOS, given=False), now)
        assert heard == []
        answer(child, one, now_says(TRAINING, given=False), now)
        answer(child, two, now_says(TRAINING, given=False), now)
        answer(child, one, now_says(TRAINING), now)
        assert heard == [Circumstance.CONSENT]
        remove_guardian(child.guardianships.get(guardian=two), today)
        assert heard == [Circumstance.CONSENT] * 2
    finally:
        circumstances_changed.disconnect(hear)


def test_mail_is_one_answer_for_all_ones_children_however_it_is_given(family, now):
    child, one, two = family
    sibling = ChildFactory(guardian=one, agrees=())
    answer(child, one, now_says(MAIL, given=False), now)
    assert not User.objects.get(pk=one.pk).wants_mail
    assert User.objects.get(pk=two.pk).wants_mail
    choose_mail(one, now, wanted=True)
    assert User.objects.get(pk=one.pk).wants_mail
    for each in (child, sibling):
        newest = Consent.objects.current().get(child=each, answered_by=one, purpose=MAIL)
        assert newest.given
    assert Consent.objects.filter(child=sibling).count() == 2


def test_a_no_is_old_only_while_it_stands(family, now):
    child, one, _ = family
    said(child, one, [PHOTOS], given=False, at=now - 15 * DAY)
    assert says_in_a_query(child, refused_before(now - 14 * DAY, PHOTOS))
    assert not says_in_a_query(child, refused_before(now - 16 * DAY, PHOTOS))
    said(child, one, [PHOTOS], at=now)
    assert not says_in_a_query(child, refused_before(now - 14 * DAY, PHOTOS))


def test_every_purpose_has_a_text():
    assert set(TEXTS) == set(ConsentPurpose)
