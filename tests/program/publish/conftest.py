import pytest
from django.utils import timezone

from program.publish.publishing import publish
from tests.support.factories import ChildFactory
from tests.support.sliding import has, session_with


@pytest.fixture
def published(cast, slides):
    """A published heel slide for a child with tiles, and for another child."""
    cast.second = ChildFactory(given_name="Second", cohort=cast.cohort)
    for child in (cast.child, cast.second):
        has(child, "smooth-floor")
    session = session_with(cast.cohort)
    publish(session, cast.coach, timezone.now())
    return session
