"""Every model that holds a child's data says itself who may see it."""

import pytest
from django.apps import apps
from django.db.models import ForeignKey

from athletes.models import Child

OURS = ("athletes", "program")


def models_with_a_childs_data() -> set[type]:
    """Child, and whatever points to it, however many links away."""
    found = {Child}
    while True:
        more = {
            model
            for model in apps.get_models()
            if model._meta.app_label in OURS
            and any(
                isinstance(field, ForeignKey) and field.related_model in found
                for field in model._meta.fields
            )
        }
        if more <= found:
            return found
        found |= more


def test_the_search_for_models_finds_the_near_and_the_far():
    names = {model.__name__ for model in models_with_a_childs_data()}
    assert {"Child", "Placement", "Completion", "SlotResult"} <= names


@pytest.mark.parametrize(
    "model", sorted(models_with_a_childs_data(), key=lambda model: model.__name__)
)
def test_a_model_with_a_childs_data_has_visible_to(model):
    assert hasattr(model._default_manager.all(), "visible_to"), model.__name__
