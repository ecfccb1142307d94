import pytest

from athletes.models import Child


@pytest.mark.django_db
def test_each_person_sees_only_their_children(cast):
    sees = {
        person: {child.given_name for child in Child.objects.visible_to(getattr(cast, person))}
        for person in (
            "head_coach",
            "coach",
            "other_coach",
            "guardian",
            "other_guardian",
            "athlete",
            "nobody",
        )
    }
    assert sees == {
        "head_coach": {"Mira", "Ivo"},
        "coach": {"Mira"},
        "other_coach": {"Ivo"},
        "guardian": {"Mira"},
        "other_guardian": {"Ivo"},
        "athlete": {"Mira"},
        "nobody": set(),
    }


@pytest.mark.django_db
def test_a_deactivated_account_sees_no_child(cast):
    cast.head_coach.is_active = False
    assert not Child.objects.visible_to(cast.head_coach).exists()


@pytest.mark.django_db
def test_a_coach_who_is_also_a_parent_sees_the_own_child_in_another_cohort(cast):
    cast.other_child.guardianships.create(guardian=cast.coach)
    assert set(Child.objects.visible_to(cast.coach)) == {cast.child, cast.other_child}
