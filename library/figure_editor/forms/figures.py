"""Making a figure of a coach's own: the key poses of an existing one, changed by sliders, in
another order, at other lengths and with other things."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Self, cast

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from library.figure_editor.forms.arranging import (
    StretchRows,
    arrangement_of,
    fields_of,
    seconds_field,
    stretch_rows,
    thing_fields,
)
from library.figure_editor.forms.drafts import packed
from library.figure_editor.forms.pieces import Piece, piece_of
from library.figure_editor.forms.sliding import SliderRow, is_moved, number_field
from library.figures.editing.changing import changed
from library.figures.editing.pieces import May, pose_may
from library.figures.editing.sliders import Group, Path, Slider, groups_of, used_poses
from library.figures.movement import Movement, read_own
from library.figures.names import in_words
from library.figures.source import MovementError
from library.models import ExerciseRevision
from library.shared.uploads.fields import UploadField
from library.shared.uploads.kinds import MEGABYTE, MOST_BYTES, MOST_SECONDS, Kind

UPLOAD_HELP = (
    f"A photo up to {MOST_BYTES[Kind.PHOTO] // MEGABYTE} MB, or a clip up to "
    f"{MOST_BYTES[Kind.CLIP] // MEGABYTE} MB and {MOST_SECONDS} seconds. "
    "Sound and the place where it was taken are left out."
)
LONGEST_TEXT = 20_000  # as `ExerciseRevision.movement` holds


@dataclass(frozen=True)
class PartRows:
    """A part of the body: its sliders, and the box that lets it go where it is held."""

    group: Group
    key: str
    joints: list[SliderRow]
    holding: list[SliderRow]
    let_go: forms.BoundField | None

    @property
    def errors(self) -> list[str]:
        fields = [row.field for row in (*self.joints, *self.holding)]
        fields += [self.let_go] if self.let_go else []
        return [str(error) for field in fields for error in field.errors]


@dataclass(frozen=True)
class PoseRows:
    number: int
    name: str
    may: May
    parts: list[PartRows]

    @property
    def key(self) -> str:
        return f"pose-{self.number}"

    @property
    def words(self) -> str:
        return f"“{self.name}”"


class PictureForm(forms.Form):
    """A photo or short clip instead of a figure, and what it shows in words."""

    base = forms.IntegerField(widget=forms.HiddenInput)
    upload = UploadField(label="Photo or short clip", help_text=UPLOAD_HELP)
    words = forms.CharField(
        label="What it shows",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="In one or two sentences, for whoever cannot see it.",
    )


class PoseForm(forms.Form):
    """Every key pose's sliders, the order and the things. What is not sent stays as it is.

    `origin` is the figure that the change began with, `start` that figure with what has been added
    and taken out since, which travels along as a draft.
    """

    base = forms.IntegerField(widget=forms.HiddenInput)
    pose = forms.IntegerField(required=False)
    draft = forms.CharField(required=False, widget=forms.HiddenInput)
    describe = forms.CharField(
        label="What moves",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="In one or two sentences, for whoever cannot see it.",
    )

    def __init__(
        self,
        data: QueryDict | None,
        origin: Movement,
        slug: str,
        base: int,
        draft: Movement | None = None,
        pose: int = 0,
    ) -> None:
        start = draft or origin
        initial = {"base": base, "describe": start.describe, "pose": pose}
        super().__init__(data, initial=initial | {"draft": packed(draft) if draft else ""})
        self.origin, self.start, self.slug = origin, start, slug
        self.movement: Movement | None = None
        self.names = used_poses(start)
        self.groups = {name: groups_of(start.poses[name]) for name in self.names}
        self.fields |= fields_of(start)
        for number, name in enumerate(self.names):
            for group in self.groups[name]:
                for slider in (*group.joints, *group.holding):
                    self.fields[_key(number, slider.path)] = number_field(slider)
                if group.held and not group.carries:
                    self.fields[_key(number, (group.part, "free"))] = forms.BooleanField(
                        label="Let go, and move it by its joints", required=False
                    )

    @property
    def shown(self) -> int:
        """The key pose that is looked at, by its number."""
        asked = str(self["pose"].value())
        return int(asked) if asked in map(str, range(len(self.names))) else 0

    def clean(self) -> dict[str, Any]:
        data = cast("dict[str, Any]", super().clean())
        if not self.errors:
            try:
                self.movement = self._movement(data)
            except MovementError as problem:
                self.add_error(self._field_of(problem), in_words(problem.message))
        return data

    def _movement(self, said: dict[str, Any]) -> Movement:
        """The changed movement; raises MovementError where it cannot be drawn."""
        let_go = [
            (name, group.part)
            for number, name, group in self._each()
            if self._is_free(number, group)
        ]
        numbers = {
            (name, slider.path): said[_key(number, slider.path)]
            for number, name, group in self._each()
            for slider in self._counting(number, group)
            if is_moved(slider, said[_key(number, slider.path)])
        }
        arrangement = arrangement_of(self.start, said)
        text = changed(self.start, said["describe"], numbers, let_go, arrangement)
        if len(text) > LONGEST_TEXT:
            raise ValidationError("This figure has grown too long to be kept.")
        return read_own(self.slug, text)

    def _each(self) -> Iterator[tuple[int, str, Group]]:
        for number, name in enumerate(self.names):
            for group in self.groups[name]:
                yield number, name, group

    def _is_free(self, number: int, group: Group) -> bool:
        return bool(self.cleaned_data.get(_key(number, (group.part, "free"))))

    def _counting(self, number: int, group: Group) -> tuple[Slider, ...]:
        """The sliders that say anything: a held limb's joints follow from where it is held."""
        if not group.held or self._is_free(number, group):
            return group.joints
        return (*group.joints, *group.holding) if group.carries else group.holding

    def _field_of(self, problem: MovementError) -> str | None:
        """The field at which to say what is wrong."""
        match problem.place:
            case ("pose", str(name), str(part), *rest) if name in self.names:
                number = self.names.index(name)
                exact = _key(number, (part, *(key for key in rest if key)))
                near = [key for key in self.fields if key.startswith(_key(number, (part,)))]
                return exact if exact in self.fields else next(iter(near), None)
            case ("phase", int(number), *_) if seconds_field(number) in self.fields:
                return seconds_field(number)
        return None

    def piece(self, asked: str) -> Piece | None:
        """The figure with a pose or part added or taken out; None where it cannot be drawn yet.

        Raises ValidationError saying why it may not be added or taken out.
        """
        if not self.is_valid() or self.movement is None:
            return None
        return piece_of(asked, self.movement, self.names, self.shown)

    def going_on(self, piece: Piece) -> Self:
        """The form of the figure with that piece added or taken out."""
        base = self.cleaned_data["base"]
        return type(self)(None, self.origin, self.slug, base, piece.movement, piece.pose)

    def rebase(self, current: ExerciseRevision) -> None:
        """Keep what was moved, and let the next save follow the revision that is current now."""
        data = cast("QueryDict", self.data).copy()
        data["base"] = str(current.number)
        self.data = data

    def problems(self) -> list[str]:
        """Why the figure cannot be drawn, each with where that is."""
        by_part = [
            f"{pose.name}, {part.group.title.lower()}: {error}"
            for pose in self.poses()
            for part in pose.parts
            for error in part.errors
        ]
        by_stretch = [
            f"{rows.stretch.title}: {error}" for rows in self.stretches() for error in rows.errors
        ]
        others = [self["describe"], *([self["tempo"]] if "tempo" in self.fields else [])]
        single = [str(error) for field in (*others, *self.things()) for error in field.errors]
        return [*map(str, self.non_field_errors()), *single, *by_part, *by_stretch]

    def stretches(self) -> list[StretchRows]:
        return stretch_rows(self, self.start)

    def things(self) -> list[forms.BoundField]:
        return thing_fields(self, self.start)

    def poses(self) -> list[PoseRows]:
        return [
            PoseRows(
                number,
                name,
                pose_may(self.start, name),
                [self._part(number, group) for group in self.groups[name]],
            )
            for number, name in enumerate(self.names)
        ]

    def _part(self, number: int, group: Group) -> PartRows:
        free = _key(number, (group.part, "free"))
        return PartRows(
            group,
            _key(number, (group.part,)),
            [SliderRow(each, self[_key(number, each.path)]) for each in group.joints],
            [SliderRow(each, self[_key(number, each.path)]) for each in group.holding],
            self[free] if free in self.fields else None,
        )


def _key(number: int, path: Path) -> str:
    return "-".join(map(str, (number, *path)))
