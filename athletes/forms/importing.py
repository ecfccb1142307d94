from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.db.models import QuerySet

from athletes.importing.tables import LIMITS, MOST_BYTES
from athletes.models import Cohort

XLSX: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
ACCEPT: Final = f".csv,.txt,.tsv,.xlsx,text/csv,text/plain,{XLSX}"


class UploadForm(forms.Form):
    """A file of children, and where those go who name no cohort."""

    file = forms.FileField(
        label="CSV or Excel workbook (.xlsx)",
        help_text=f"{LIMITS} Nothing is added before you have seen every row.",
        widget=forms.FileInput(attrs={"accept": ACCEPT}),
        error_messages={
            "required": "Choose a file.",
            "empty": "This file is empty.",
            "missing": "Choose a file.",
            "invalid": "The file did not arrive. Choose it once more.",
        },
    )
    cohort: Any = forms.ModelChoiceField(
        label="Cohort of rows that name none",
        queryset=Cohort.objects.none(),
        required=False,
        empty_label="every row names its cohort",
        error_messages={"invalid_choice": "This cohort is not one of yours."},
    )

    def __init__(self, *args: Any, cohorts: QuerySet[Cohort], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["cohort"].queryset = cohorts  # type: ignore[attr-defined]

    def clean_file(self) -> UploadedFile[Any]:
        file: UploadedFile[Any] = self.cleaned_data["file"]
        if (file.size or 0) > MOST_BYTES:
            raise ValidationError(
                f"This file is too large. {LIMITS} Split it and import the parts.", code="large"
            )
        return file
