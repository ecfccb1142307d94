"""A family asks with a photo, the coach answers once and swaps, the family reads it: on a phone, at
the desk, and without JavaScript."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import expect

from library.models import ExerciseNote
from program.models import Question
from tests.browser.test_queue import evening  # noqa: F401 -- a fixture
from tests.program.ask.test_answers import gets, of_child, sessions, slides  # noqa: F401 -- fixtures
from tests.support.pictures import clip, photo
from tests.support.screens import PHONE

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

QUESTION = "Is this floor smooth enough?"


def asking(child, session) -> str:
    return reverse("program:ask", args=[child.public_id, of_child(session, child).public_id])


def is_shown(picture) -> None:
    """A picture that came over the wire and could be drawn."""
    picture.scroll_into_view_if_needed()
    expect(picture).to_have_js_property("complete", True)
    assert picture.evaluate("image => image.naturalWidth") > 0


def has_no_fault(page) -> None:
    found = Axe().run(page).response["violations"]
    assert found == [], [(each["id"], each["nodes"][0]["html"]) for each in found]


def test_a_question_with_a_photo_comes_back_as_an_answer_and_another_exercise(
    cast, evening, sessions, browse_faultless  # noqa: F811
):  # fmt: skip
    _, today, later, _ = sessions
    phone = browse_faultless(cast.guardian, PHONE)
    phone.goto(asking(cast.child, today))
    has_no_fault(phone)
    field = phone.get_by_label("A photo or a short clip")
    field.set_input_files({"name": "a.jpg", "mimeType": "image/jpeg", "buffer": b""})
    expect(phone.get_by_role("alert")).to_have_text("This file is empty. Choose another one.")
    field.set_input_files({"name": "a.jpg", "mimeType": "image/jpeg", "buffer": photo()})
    expect(phone.get_by_role("alert")).to_have_text("")
    phone.get_by_label("About").select_option("Heel slide")
    phone.get_by_label("Your question").fill(QUESTION)
    phone.get_by_role("button", name="Ask", exact=True).click()
    is_shown(phone.get_by_role("img", name="The photo that came with the question"))

    desk = browse_faultless(cast.coach)
    desk.goto(reverse("program:review"))
    asked = desk.get_by_role("article").filter(has_text=QUESTION)
    is_shown(asked.get_by_role("img", name="The photo that came with the question"))
    asked.get_by_role("link", name=re.compile("Answer and swap Heel slide")).click()
    expect(desk.get_by_text("still has Heel slide in 3 sessions not yet started")).to_be_visible()
    has_no_fault(desk)
    desk.get_by_label("Your answer").fill("Two socks over each other.")
    desk.get_by_label("Instead of Heel slide").select_option("Heel walk out")
    desk.get_by_label("Also keep it as a note on Heel slide").check()
    desk.get_by_role("button", name="Answer").click()
    expect(desk.get_by_role("button", name="Take it all back")).to_be_visible()
    assert ExerciseNote.objects.get().text == "Two socks over each other."
    assert gets(later, cast.child) == "heel-walk-out"

    phone.reload()
    expect(phone.get_by_text("Two socks over each other.")).to_be_visible()
    desk.get_by_role("button", name="Take it all back").click()
    expect(desk.get_by_text("Not answered yet.")).to_be_visible()
    assert gets(later, cast.child) == "heel-slide"


def test_a_clip_is_sent_and_answered_without_javascript(
    cast, evening, sessions, browse_faultless  # noqa: F811
):  # fmt: skip
    phone = browse_faultless(cast.guardian, PHONE, java_script_enabled=False)
    phone.goto(asking(cast.child, sessions[1]))
    buffer = clip(seconds=0.5)
    field = phone.get_by_label("A photo or a short clip")
    field.set_input_files({"name": "a.mp4", "mimeType": "video/mp4", "buffer": buffer})
    phone.get_by_label("About").select_option("Heel slide")
    phone.get_by_label("Your question").fill(QUESTION)
    phone.get_by_role("button", name="Ask", exact=True).click()
    expect(phone.get_by_label("The clip that came with the question")).to_be_visible()
    desk = browse_faultless(cast.coach, java_script_enabled=False)
    desk.goto(reverse("program:review"))
    desk.get_by_label("Your answer, which every guardian reads").fill("It is.")
    desk.get_by_role("button", name=re.compile("^Answer")).click()
    expect(desk.get_by_text("It is.")).to_be_visible()
    assert Question.objects.get().answer == "It is."
