"""A coach who is shown something of a child's health is written down, at each address of one list.

That no other address shows any is looked at with every page and answer there is, in
`test_every_address.py` and `test_every_page.py`.
"""

from django.db import transaction

from athletes.health_views import SHOWN_AT
from program.models import Completion
from tests.support.addresses import ALLOWED, ROUTES
from tests.support.asking import OWN, Request, address_of, ask


def bodies(scene, row, method):
    """What is sent: what the form asks for, and what it refuses."""
    return [row.form(scene.own), row.sent({})] if method == "POST" else [None]


def looks_at(scene, name):
    """As what a coach, or where no coach may enter a head coach, is written down there."""
    row = ALLOWED[name]
    role = "coach" if "coach" in row.door else "head_coach"
    address = address_of(scene, name, role, (OWN,) * len(row.ids))
    methods = [method for method in ("GET", "POST") if row.allowed(method, role, htmx=True)]
    return {
        look.kind
        for method in methods
        for body in bodies(scene, row, method)
        for look in ask(scene, Request(role, method, htmx=True), address, body).looks
        if look.person == scene.people[role].pk
    }


def sick_today(half):
    """The half's log is of what it was given today, and says that the child was sick."""
    logs = Completion.objects.filter(assigned_session__child=half.child)
    logs.update(state="not", done_on=None, absence="sick", assigned_session=half.assigned)


def test_each_page_of_the_list_writes_down_who_looked_and_at_what(scene):
    assert SHOWN_AT.keys() <= ROUTES.keys()
    with transaction.atomic():
        sick_today(scene.own)
        written = {name: looks_at(scene, name) for name in SHOWN_AT}
        transaction.set_rollback(True)
    assert written == {name: {str(kind)} for name, kind in SHOWN_AT.items()}
