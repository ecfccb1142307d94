"""No page, copy, notice or invitation shows one guardian another's address."""

import re
from pathlib import Path

import pytest
from django.conf import settings
from django.db import transaction

from program.privacy.child_data import data_of
from program.privacy.copy_files import zipped
from tests.program.privacy.test_what_a_copy_holds import unzipped
from tests.support.addresses import ALLOWED, TABLED
from tests.support.asking import OWN, address_of
from tests.support.consents import said
from tests.support.factories import UserFactory
from tests.support.scene import NOW, signed_in

ADDRESS = "quite.another.address@example.net"
MAILS = sorted(Path(settings.BASE_DIR).glob("templates/**/mail/*.txt"))


@pytest.fixture
def other(scene):
    """The scene's child has a second guardian, who says another thing about everything."""
    with transaction.atomic():
        other = UserFactory(name="Second Parent", email=ADDRESS)
        scene.own.child.guardianships.create(guardian=other)
        said(scene.own.child, other, given=False)
        yield other
        transaction.set_rollback(True)


def pages_of_a_guardian(scene):
    for name in TABLED:
        row = ALLOWED[name]
        if "guardian" in row.door and row.allowed("GET", "guardian", htmx=False):
            address = address_of(scene, name, "guardian", (OWN,) * len(row.ids))
            yield from (address, *(address + query for query in row.queries))


def test_no_page_tells_a_guardian_another_guardians_address(scene, other):
    first = signed_in(scene.people["guardian"])
    told, names = [], 0
    for address in pages_of_a_guardian(scene):
        body = b"".join(first.get(address, follow=True)).decode(errors="replace")
        names += other.name in body
        if ADDRESS in body:
            told.append(address)
    assert told == []
    assert names, "the other guardian was named nowhere, so nothing was looked at"


def test_no_copy_tells_it(scene, other):
    files = unzipped(zipped(data_of(scene.own.child, scene.people["guardian"]), NOW))
    assert any(other.name.encode() in content for content in files.values())
    assert [name for name, content in files.items() if ADDRESS.encode() in content] == []


def test_no_mail_has_room_for_an_address():
    """A mail holds a given name, who did something, and a link."""
    assert len(MAILS) > 10
    fields = {each: re.findall(r"{{(.*?)}}", each.read_text()) for each in MAILS}
    assert [each.name for each in MAILS if any("mail" in name for name in fields[each])] == []
