"""A form's field for one photo or clip."""

from collections.abc import Collection, Mapping
from typing import Any, BinaryIO, Final, cast

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.utils.datastructures import MultiValueDict

from library.shared.uploads.kinds import MEGABYTE, MOST_BYTES, MOST_SECONDS, Kind, NotTaken, Upload
from library.shared.uploads.reading import read_upload

TAKEN: Final = {
    Kind.PHOTO: "image/jpeg,image/png,image/webp,image/avif",
    Kind.CLIP: "video/mp4,video/quicktime,video/webm",
}


class UploadInput(forms.FileInput):
    """Hands every file sent under its name to the field, which takes one."""

    def value_from_datadict(
        self, data: Mapping[str, Any], files: MultiValueDict[str, UploadedFile[Any]], name: str
    ) -> list[UploadedFile[Any]]:
        return files.getlist(name)


class UploadField(forms.Field):
    """Cleans to an `Upload`, or None where nothing was chosen. Forms with one need `request.FILES`
    and are sent as multipart/form-data. With a `refusal`, whatever is sent is refused unread."""

    widget = UploadInput

    def __init__(self, *, kinds: Collection[Kind] = tuple(Kind), **kwargs: Any) -> None:
        kwargs.setdefault("error_messages", {"required": "Choose a file."})
        super().__init__(**kwargs)
        self.kinds, self.refusal = kinds, ""
        self.widget.attrs |= {
            "accept": ",".join(TAKEN[kind] for kind in kinds),
            "data-upload": "",
            **{f"data-most-{kind}": MOST_BYTES[kind] // MEGABYTE for kind in kinds},
        }
        if Kind.CLIP in kinds:
            self.widget.attrs["data-most-seconds"] = MOST_SECONDS

    def to_python(self, sent: list[UploadedFile[Any]] | None) -> Upload | None:
        if not sent:
            return None
        if self.refusal:
            raise ValidationError(self.refusal, code="refused")
        if len(sent) > 1:
            raise ValidationError(
                f"One file at a time, please: these were {len(sent)}. Nothing was kept of them.",
                code="many",
            )
        file = sent[0]
        try:
            return read_upload(
                cast("BinaryIO", file), file.size or 0, file.content_type or "", self.kinds
            )
        except NotTaken as reason:
            raise ValidationError(str(reason), code="not_taken") from None
