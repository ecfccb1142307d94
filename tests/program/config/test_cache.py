"""Sign-in limits are counted in the cache, which must not forget them for others' sake."""

import pytest
from django.core.cache import cache


@pytest.mark.django_db
def test_hundreds_of_keys_are_all_remembered():
    keys = [f"limit-{number}" for number in range(420)]
    for key in keys:
        cache.set(key, 1, 60)
    assert len(cache.get_many(keys)) == 420
