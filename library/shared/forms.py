"""The frame of a form, which the template draws with `{% crispy form %}` inside its own tags."""

from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Div, Layout, Submit


def form_helper(*rows: Any, submit: str = "") -> FormHelper:
    """These rows, or all fields where none are given; with `submit`, a button of that name last.

    The `<form>`, its token and its address are the template's.
    """
    helper = FormHelper()
    helper.form_tag = False
    helper.disable_csrf = True
    if submit:
        rows = (*rows, Div(Submit("", submit), css_class="form-actions"))
    if rows:
        helper.layout = Layout(*rows)
    return helper
