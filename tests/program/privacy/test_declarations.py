"""Every table and column is declared: why it is held, how long, who reads it, and its name in an
export."""

from django.apps import apps
from django.db.models import ForeignKey

from athletes.models import Child, User
from program.privacy.declarations import DECLARED, HELD, NOBODYS, OF_A_CHILD, declaration_of
from program.privacy.declaring import Held

NOT_OURS = {"library"}
"""Exercises, pathways and figures: nobody's."""


def tables():
    return [model for model in apps.get_models() if model._meta.app_label not in NOT_OURS]


def columns_of(model):
    return {field.name for field in (*model._meta.local_fields, *model._meta.local_many_to_many)}


def leads_to(model, target):
    return any(
        isinstance(field, ForeignKey) and field.related_model is target
        for field in model._meta.fields
    )


def test_every_table_is_declared_once():
    missing = [model.__name__ for model in tables() if declaration_of(model) is None]
    assert missing == [], "declare these in program/privacy/declarations"
    models = [each.model for each in DECLARED]
    assert len(models) == len(set(models))


def test_every_column_of_a_table_about_people_is_declared_and_no_other():
    for held in HELD:
        declared = set(held.columns)
        assert columns_of(held.model) == declared, held.model.__name__


def test_each_column_is_in_the_export_or_says_why_not():
    for held in HELD:
        for name, column in held.columns.items():
            assert bool(column.label) != bool(column.because), f"{held.model.__name__}.{name}"
        labels = list(held.exported.values())
        assert len(labels) == len(set(labels)), held.model.__name__


def test_what_holds_nothing_of_a_child_leads_to_none_and_says_who_acted():
    for nobodys in NOBODYS:
        assert not leads_to(nobodys.model, Child), nobodys.model.__name__
        by = {field.name for field in nobodys.model._meta.fields if field.related_model is User}
        assert by == set(nobodys.by), nobodys.model.__name__
        assert set(nobodys.names_children) <= columns_of(nobodys.model)


def test_every_table_that_leads_to_a_child_says_the_way():
    found = {Child}
    while more := {
        model
        for model in tables()
        if model not in found and any(leads_to(model, target) for target in found)
    }:
        found |= more
    assert {held.model for held in OF_A_CHILD} == {
        model for model in found if isinstance(declaration_of(model), Held)
    } - {held.model for held in HELD if not held.child}
    undeclared = {model.__name__ for model in found} - {each.model.__name__ for each in OF_A_CHILD}
    assert undeclared == {"OutgoingMail"}, "it points at an invitation, and goes when it has left"


def test_what_is_kept_for_some_days_says_since_when():
    for each in DECLARED:
        if each.kept.days is not None:
            assert each.kept.since in columns_of(each.model), each.model.__name__
