"""The named cast of most tests."""

from types import SimpleNamespace

from tests.support.factories import ChildFactory, CohortFactory, UserFactory


def named_cast() -> SimpleNamespace:
    """The people most tests need, made in the database.

    `coach` owns `cohort` with `child`, whose parent is `guardian` and whose own sign-in is
    `athlete`; `other_coach` owns `other_cohort` with `other_child` of `other_guardian`;
    `head_coach` sees all; `nobody` is a guardian without a child.
    """
    coach = UserFactory(name="Owning Coach", role="coach")
    other_coach = UserFactory(name="Other Coach", role="coach")
    head_coach = UserFactory(name="Head Coach", role="head_coach")
    guardian = UserFactory(name="Own Parent")
    other_guardian = UserFactory(name="Other Parent")
    nobody = UserFactory(name="Nobody Here")
    athlete = UserFactory(name="Young Athlete", role="athlete")
    cohort = CohortFactory(name="Own cohort", coached_by=[coach])
    other_cohort = CohortFactory(name="Other cohort", coached_by=[other_coach])
    child = ChildFactory(given_name="Mira", cohort=cohort, guardian=guardian, user=athlete)
    other_child = ChildFactory(given_name="Ivo", cohort=other_cohort, guardian=other_guardian)
    return SimpleNamespace(**locals())
