"""A figure's order, lengths and things as fields of a form, and as rows to be shown."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django import forms

from library.figure_editor.forms.sliding import SliderRow, is_moved, number_field
from library.figures.editing.arranging import (
    TAKEN_OUT,
    Arrangement,
    Stretch,
    Thing,
    stretches,
    things,
)
from library.figures.editing.pieces import May, phase_may
from library.figures.editing.sliders import used_poses
from library.figures.movement import Movement
from library.forms.tempo import TempoField

TEMPO_HELP = "Lowering, pause, lifting, pause. A child sees it at the tempo of its own session."
NEEDED = "The body needs it where it is: it can be another thing, but not taken out."


@dataclass(frozen=True)
class StretchRows:
    """A phase with the fields for how long it lasts and for the poses that it passes."""

    stretch: Stretch
    may: May
    key: str
    seconds: SliderRow | None
    stops: list[forms.BoundField]

    @property
    def words(self) -> str:
        return f"part {self.stretch.number + 1}"

    @property
    def errors(self) -> list[str]:
        fields = [*([self.seconds.field] if self.seconds else []), *self.stops]
        return [str(error) for field in fields for error in field.errors]


def fields_of(start: Movement) -> dict[str, forms.Field]:
    """The fields by name. What is not sent stays as the movement has it."""
    fields: dict[str, forms.Field] = {}
    if start.tempo:
        fields["tempo"] = TempoField(
            label="Usual tempo", required=False, initial=start.tempo, help_text=TEMPO_HELP
        )
    poses = [(name, name) for name in used_poses(start)]
    for stretch in stretches(start):
        if stretch.seconds:
            fields[seconds_field(stretch.number)] = number_field(stretch.seconds)
        for place, pose in enumerate(stretch.stops):
            last = place == len(stretch.stops) - 1 and not stretch.comes_back
            fields[_stop(stretch, place)] = forms.ChoiceField(
                label="Ends in" if last else "Passes",
                choices=poses,
                required=False,
                initial=pose,
                widget=forms.Select(attrs={"class": "form-select"}),
            )
    for thing in things(start):
        if choices := _choices(thing):
            fields[_thing(thing)] = forms.ChoiceField(
                label=thing.kind.capitalize(),
                choices=[(thing.kind, thing.kind), *choices],
                required=False,
                initial=thing.kind,
                help_text=NEEDED if thing.needed else "",
            )
    return fields


def arrangement_of(start: Movement, said: Mapping[str, Any]) -> Arrangement:
    """What of the movement is arranged anew."""
    return Arrangement(
        tempo=said.get("tempo") or "",
        seconds={
            stretch.number: said[seconds_field(stretch.number)]
            for stretch in stretches(start)
            if stretch.seconds and is_moved(stretch.seconds, said[seconds_field(stretch.number)])
        },
        stops={
            (stretch.number, place): said[_stop(stretch, place)]
            for stretch in stretches(start)
            for place, pose in enumerate(stretch.stops)
            if said[_stop(stretch, place)] not in ("", pose)
        },
        kinds={
            thing.number: said[_thing(thing)]
            for thing in things(start)
            if said.get(_thing(thing), "") not in ("", thing.kind)
        },
    )


def stretch_rows(form: forms.Form, start: Movement) -> list[StretchRows]:
    return [_rows(form, stretch, phase_may(start, stretch.number)) for stretch in stretches(start)]


def _rows(form: forms.Form, stretch: Stretch, may: May) -> StretchRows:
    lasts = stretch.seconds
    return StretchRows(
        stretch,
        may,
        f"phase-{stretch.number}",
        SliderRow(lasts, form[seconds_field(stretch.number)]) if lasts else None,
        [form[_stop(stretch, place)] for place in range(len(stretch.stops))],
    )


def thing_fields(form: forms.Form, start: Movement) -> list[forms.BoundField]:
    return [form[_thing(thing)] for thing in things(start) if _thing(thing) in form.fields]


def _choices(thing: Thing) -> list[tuple[str, str]]:
    others = [(kind, kind) for kind in thing.others]
    return others if thing.needed else [*others, (TAKEN_OUT, "nothing: taken out")]


def seconds_field(number: int) -> str:
    """The name of the field for how long the phase of this number lasts."""
    return f"phase-{number}-seconds"


def _stop(stretch: Stretch, place: int) -> str:
    return f"phase-{stretch.number}-to-{place}"


def _thing(thing: Thing) -> str:
    return f"prop-{thing.number}"
