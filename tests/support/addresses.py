"""Every address of Fledge, and what it may answer to whom.

A new address fails `test_every_address.py` until it has a row in `ALLOWED`. To add one:

1. The key is its full name, such as "program:build".
2. `Row(door, ids, …)`: who may enter (`EVERYONE` is everyone who is signed in, `PUBLIC` also
   everyone who is not), and for each part of the address, in order, what kind of thing it names.
   A kind is a key of `Half.ids` in `scene.py`; a kind that is new is made there, for both halves.
3. `get=` and `post=` say what a person who may enter gets, with `hx_get=`/`hx_post=` where htmx
   gets something else, and `None` where the method is not taken (405, for everybody). A dictionary
   says it by role.
4. `body=` is a function from a half to a form that does something there when posted. If nothing is
   written (a mail is sent, say), say `writes=False`.
5. `foreign_for=` are the roles for which the other half is not foreign: the head coach, if left
   out. `queries=` are query strings with which the page is looked at as well.

Everything else follows: whoever is signed out is asked to sign in; whoever may not enter, a
stranger's id, an id below another's and a missing id all get the one 404 of an address that does
not exist, and nothing is written.
"""

import datetime as dt
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import URLPattern, URLResolver, get_resolver

from tests.support.bodies import (
    Body,
    about_pain,
    access_rules,
    begin_form,
    block_form,
    break_form,
    carry_form,
    child_form,
    clear_form,
    corrected_report,
    equal_findings,
    exercise_form,
    first_week,
    from_a_phone,
    group_form,
    height_form,
    in_days,
    kit_rows,
    log_form,
    new_block_form,
    no_to_photos,
    on_paper,
    order,
    restriction_form,
    session_form,
    table,
    this_weeks_session,
    two_logs,
)
from tests.support.pictures import photo
from tests.support.planning import typed
from tests.support.scene import ANONYMOUS, MONDAY, ROLES, Half

type Answer = str
type Answers = Answer | dict[str, Answer] | None

PAGE = "a page"  # 200, a whole html document
PART = "part of a page"  # 200, html for htmx
GO = "go elsewhere"  # a redirect, or htmx's
FILE = "a file"  # 200, anything but html

COACHES = frozenset({"head_coach", "coach"})
HEAD_COACH = frozenset({"head_coach"})
GUARDIANS = frozenset({"guardian"})
GUARDIANS_AND_HEAD_COACHES = HEAD_COACH | GUARDIANS
ATHLETE = frozenset({"athlete"})
FAMILY = GUARDIANS | ATHLETE
COACHES_AND_GUARDIANS = COACHES | GUARDIANS
OFFICERS = frozenset({"welfare_officer"})
EVERYONE = frozenset(ROLES)
FAMILY_AND_COACHES = EVERYONE - OFFICERS
PUBLIC = EVERYONE | {ANONYMOUS}
NOBODY: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Route:
    """An address as the resolver knows it, with the names of its parts."""

    name: str
    path: str
    parts: tuple[str, ...]
    view: Callable[..., Any]


def routes() -> Iterator[Route]:
    """Every address there is, found by walking the resolver."""
    yield from _below(get_resolver(), "/", "")


def _below(resolver: URLResolver, path: str, space: str) -> Iterator[Route]:
    for each in resolver.url_patterns:
        here = path + str(each.pattern)
        if isinstance(each, URLResolver):
            yield from _below(each, here, f"{space}{each.namespace}:" if each.namespace else space)
        elif isinstance(each, URLPattern):
            yield Route(
                space + (each.name or ""), here, tuple(each.pattern.converters), each.callback
            )


@dataclass(frozen=True)
class Row:
    door: frozenset[str]
    ids: tuple[str, ...] = ()
    get: Answers = PAGE
    post: Answers = None
    hx_get: Answers = None
    hx_post: Answers = None
    body: Body = lambda half: {}
    writes: bool = True
    sends_json: bool = False
    foreign_for: frozenset[str] = HEAD_COACH
    queries: tuple[str, ...] = ()

    def allowed(self, method: str, role: str, *, htmx: bool) -> Answer | None:
        """What a person who may enter gets; None where the method is not taken."""
        plain = self.get if method == "GET" else self.post
        with_htmx = self.hx_get if method == "GET" else self.hx_post
        said = (with_htmx if htmx else None) or plain
        return said.get(role, said.get("others")) if isinstance(said, dict) else said

    def sent(self, body: dict[str, Any]) -> dict[str, Any]:
        """How a body is handed to the test client."""
        if self.sends_json:
            return {"data": json.dumps(body), "content_type": "application/json"}
        return {"data": {name: _encoded(said) for name, said in body.items()}}

    def form(self, half: Half) -> dict[str, Any]:
        return self.sent(self.body(half))


def _encoded(said: Any) -> Any:
    """Half a surrogate cannot be sent in a form, only in JSON."""
    return said.encode(errors="replace").decode() if isinstance(said, str) else said


def looks(door: frozenset[str], *ids: str, **more: Any) -> Row:
    """A page that is only looked at."""
    return Row(door, ids, **more)


def fills(door: frozenset[str], *ids: str, body: Body, **more: Any) -> Row:
    """A form: shown by GET, sent by POST, which leads on."""
    return Row(door, ids, post=more.pop("post", GO), body=body, **more)


def acts(door: frozenset[str], *ids: str, body: Body = lambda half: {}, **more: Any) -> Row:
    """Something done by POST alone."""
    return Row(door, ids, get=None, post=more.pop("post", GO), body=body, **more)


def shelved(kind: Callable[..., Row], *ids: str, **more: Any) -> Row:
    """An address of the library, which is common to all coaches."""
    return kind(COACHES, *ids, foreign_for=COACHES, **more)


def builds(*ids: str, body: Body = lambda half: {}, hx: Answer = PART) -> Row:
    """A change in the builder: htmx gets the parts anew."""
    return acts(COACHES, "session", *ids, body=body, hx_post=hx)


CHILD_IN_SLOT = ("session", "slot", "child")
CHILDS = ("child", "assigned")

ALLOWED: dict[str, Row] = {
    # Signing in
    "account_login": fills(
        PUBLIC,
        body=lambda half: {"email": "own.parent@example.org"},
        get={ANONYMOUS: PAGE, "others": GO},
        writes=False,
    ),
    "account_request_login_code": fills(
        PUBLIC,
        body=lambda half: {"email": "own.parent@example.org"},
        get={ANONYMOUS: PAGE, "others": GO},
        writes=False,
    ),
    "account_confirm_login_code": fills(
        PUBLIC, body=lambda half: {"code": "ABCDEF"}, get=GO, writes=False
    ),
    "account_logout": acts(PUBLIC, writes=False),
    # The second factor. The athlete has an app and recovery codes; nobody else has anything.
    "mfa_authenticate": fills(PUBLIC, body=lambda half: {"code": "123456"}, get=GO, writes=False),
    "mfa_login_webauthn": fills(
        PUBLIC, body=lambda half: {"credential": "{}"}, get=GO, writes=False
    ),
    "mfa_index": looks(EVERYONE),
    "mfa_activate_totp": fills(
        EVERYONE,
        body=lambda half: {"code": "123456"},
        get={"athlete": GO, "others": PAGE},
        post={"athlete": GO, "others": PAGE},
        writes=False,
    ),
    "mfa_add_webauthn": fills(
        EVERYONE,
        body=lambda half: {"name": "My phone", "credential": "{}"},
        get={"athlete": GO, "others": PAGE},
        post={"athlete": GO, "others": PAGE},
        writes=False,
    ),
    "remove_second_factor": fills(
        ATHLETE, "app", body=lambda half: {}, writes=False, foreign_for=NOBODY
    ),
    "mfa_view_recovery_codes": looks(ATHLETE, get=GO),
    "mfa_generate_recovery_codes": fills(EVERYONE, body=lambda half: {}, get=GO, writes=False),
    "mfa_reauthenticate": fills(
        EVERYONE,
        body=lambda half: {"code": "123456"},
        get={"athlete": PAGE, "others": GO},
        post={"athlete": PAGE, "others": GO},
        writes=False,
    ),
    # The scene's coaches have no factor, and have just signed in by a code.
    "sign_in_again_by_mail": fills(COACHES, body=lambda half: {}, post=PAGE, writes=False),
    "mfa_reauthenticate_webauthn": fills(
        EVERYONE, body=lambda half: {"credential": "{}"}, get=GO, writes=False
    ),
    "athletes:mail_setting": fills(EVERYONE, body=lambda half: {}),
    "athletes:sign_ins": looks(EVERYONE),
    "athletes:sign_out_there": acts(EVERYONE, "sign_in", foreign_for=NOBODY, writes=False),
    "athletes:sign_out_elsewhere": acts(EVERYONE, writes=False),
    "athletes:stop_mail": fills(PUBLIC, "stop_token", body=lambda half: {}, post=PAGE),
    "athletes:accept": looks(PUBLIC, "token", get=GO),
    "athletes:invitation": fills(PUBLIC, body=lambda half: {"name": "New Coach"}, writes=False),
    # The library
    "library:figure": looks(EVERYONE, "figure", get=FILE, queries=("?still", "?side=right")),
    "library:own_figure": looks(
        EVERYONE, "own_figure", "own_figure_number", get=FILE, queries=("?still", "?side=right")
    ),
    "library:picture_file": looks(EVERYONE, "own_picture", "own_picture_number", get=FILE),
    "library:list": shelved(
        looks,
        hx_get=PART,
        queries=("?q=own", "?q=nothing-like-it", "?pattern=squat&kit=nothing&landings=without"),
    ),
    "library:exercise": shelved(looks, "exercise"),
    "library:new_exercise": shelved(
        fills, body=exercise_form(), queries=("?like=own-exercise-1", "?like=nothing-like-it")
    ),
    "library:edit_exercise": shelved(fills, "exercise", body=exercise_form(base=1)),
    "library:publish": shelved(acts, "draft_exercise"),
    "library:retire": shelved(fills, "exercise", body=lambda half: {"take_back": "no"}),
    "library:showing": shelved(looks, "exercise"),
    "library:drawn": shelved(acts, "own_figure"),
    "library:picture": shelved(
        acts,
        "exercise",
        body=lambda half: {
            "base": 1,
            "words": "Feet flat.",
            "upload": SimpleUploadedFile("a.jpg", photo(), "image/jpeg"),
        },
    ),
    "library:poses": shelved(
        fills, "exercise", "figure", body=lambda half: {"base": 1, "describe": "Up and down."}
    ),
    "library:look": shelved(
        acts,
        "exercise",
        "figure",
        body=lambda half: {"base": 1, "describe": "Up and down."},
        post=PAGE,
        hx_post=PART,
        writes=False,
    ),
    "library:arrange": shelved(
        acts,
        "exercise",
        "figure",
        body=lambda half: {"base": 1, "describe": "Up and down.", "do": "copy-pose-1"},
        post=PAGE,
        writes=False,
    ),
    "library:remove_note": shelved(acts, "exercise", "note"),
    "library:pathway": shelved(looks, "pathway"),
    "library:new_pathway": shelved(
        fills, body=lambda half: {"name": "Onto one leg", "pattern": "squat", "about": "Slowly."}
    ),
    "library:edit_pathway": shelved(
        fills, "pathway", body=lambda half: {"name": "Onto one leg", "about": "Slowly."}
    ),
    "library:add_step": shelved(
        acts,
        "pathway",
        body=lambda half: {
            "easier": half.chain[1].pk,
            "harder": half.chain[3].pk,
            "change": "Deeper.",
            "ready": "Eight calm ones.",
        },
    ),
    "library:step": shelved(
        fills,
        "pathway",
        "step",
        body=lambda half: {"change": "Slower.", "ready": "Six calm ones."},
    ),
    "library:remove_step": shelved(acts, "pathway", "step"),
    "library:add_lateral": shelved(
        acts,
        "pathway",
        body=lambda half: {"one": half.chain[1].pk, "other": half.aside.pk},
    ),
    "library:remove_lateral": shelved(acts, "pathway", "lateral"),
    # Children
    "athletes:children": fills(
        COACHES,
        body=lambda half: {"q": "mi"},
        post=PAGE,
        hx_get=PART,
        hx_post=PART,
        writes=False,
        queries=("?cohort=none", "?page=9"),
    ),
    "athletes:new_child": fills(COACHES, body=child_form),
    "athletes:import": fills(COACHES, body=table),
    "athletes:import_sample": looks(COACHES, get=FILE),
    "athletes:import_preview": looks(COACHES, "draft", foreign_for=NOBODY),
    "athletes:import_confirm": acts(COACHES, "draft", foreign_for=NOBODY),
    "athletes:import_drop": acts(COACHES, "draft", foreign_for=NOBODY),
    "athletes:all_kits": looks(COACHES, get=GO),
    "athletes:kits": fills(COACHES, "cohort", body=kit_rows),
    "athletes:kits_ask": acts(COACHES, "cohort", writes=False),
    "athletes:all_placements": looks(COACHES, get=GO),
    "athletes:starting_profile": fills(
        HEAD_COACH, body=lambda half: {"own-pathway-new": "own-exercise-2"}
    ),
    "athletes:place_group": fills(COACHES, "cohort", body=lambda half: {"counted_as": "new"}),
    "athletes:see_placements": acts(
        COACHES, "cohort", "any_pathway", body=lambda half: {"at": "own-exercise-0"}, hx_post=PART
    ),
    "athletes:placements": looks(COACHES, "cohort", "any_pathway", hx_get=PART),
    "athletes:move_child": acts(
        COACHES,
        "cohort",
        "any_pathway",
        body=lambda half: {"move": f"{half.child.public_id}:own-exercise-1", "why": "Ready."},
        hx_post=PART,
    ),
    "athletes:child": looks(COACHES, "child"),
    "athletes:edit_child": fills(COACHES, "child", body=child_form),
    "athletes:growth": fills(COACHES_AND_GUARDIANS, "child", body=height_form),
    "athletes:consents": looks(FAMILY_AND_COACHES, "child"),
    "athletes:answer_consents": acts(GUARDIANS, "child", body=no_to_photos, foreign_for=NOBODY),
    "athletes:consents_on_paper": fills(COACHES, "child", body=on_paper),
    "athletes:measurement_out": acts(COACHES_AND_GUARDIANS, "child", "height"),
    "athletes:growing": acts(COACHES, "child", body=lambda half: {"until": in_days(60)}),
    "athletes:enrol_child": fills(
        COACHES,
        "child",
        body=lambda half: {"cohort": half.second_cohort.pk, "start": in_days(0)},
    ),
    "athletes:withdraw_child": fills(COACHES, "child", body=lambda half: {"last_day": in_days(0)}),
    "athletes:end_enrolment": fills(
        COACHES, "child", "enrolment", body=lambda half: {"last_day": in_days(0)}
    ),
    "athletes:invite_family": fills(
        COACHES, "child", body=lambda half: {"email": "gran@example.org", "role": "guardian"}
    ),
    "athletes:withdraw_family_invitation": acts(COACHES, "child", "family_invitation"),
    "athletes:remove_guardian": fills(HEAD_COACH, "child", "guardianship", body=lambda half: {}),
    "athletes:own_sign_in": fills(
        GUARDIANS, "child", body=lambda half: {"do": "end"}, foreign_for=NOBODY
    ),
    "athletes:who_reads": fills(ATHLETE, body=lambda half: {"who": "1"}, writes=False),
    "athletes:kit": fills(COACHES_AND_GUARDIANS, "child", body=lambda half: {"nothing": "on"}),
    "athletes:restrictions": fills(FAMILY_AND_COACHES, "child", body=restriction_form),
    "athletes:lift_restriction": acts(COACHES, "child", "restriction"),
    "athletes:child_placements": looks(COACHES, "child", get=GO),
    "athletes:seen_placements": acts(COACHES, "child"),
    "athletes:first_placement": fills(
        COACHES, "child", body=lambda half: {"on-own-pathway": "own-exercise-2"}
    ),
    # People
    "athletes:people": looks(HEAD_COACH),
    "athletes:reset_second_factor": fills(HEAD_COACH, "with_second_factor", body=lambda half: {}),
    "athletes:invite_coach": fills(
        HEAD_COACH, body=lambda half: {"email": "coach3@example.org", "role": "coach"}
    ),
    "athletes:withdraw_invitation": acts(HEAD_COACH, "invitation"),
    "athletes:agree_to_invitation": acts(HEAD_COACH, "invitation"),
    "athletes:change_role": fills(
        HEAD_COACH, body=lambda half: {"person": half.ids["person"], "role": "coach"}
    ),
    "athletes:agree_to_role": acts(HEAD_COACH, "role_change"),
    "athletes:take_back_role": acts(HEAD_COACH, "role_change"),
    "athletes:switch_off": acts(HEAD_COACH, "person"),
    "athletes:switch_on": acts(HEAD_COACH, "person"),
    "athletes:new_cohort": fills(
        HEAD_COACH, body=lambda half: {"name": "Larks", "youngest": 8, "oldest": 9}
    ),
    "athletes:edit_cohort": fills(
        HEAD_COACH, "cohort", body=lambda half: {"name": "Larks", "youngest": 8, "oldest": 9}
    ),
    "athletes:access_rules": fills(HEAD_COACH, body=access_rules),
    # The week and its blocks
    "program:home": looks(EVERYONE, get=GO),
    "program:week": looks(COACHES, queries=(f"?of={MONDAY - dt.timedelta(days=7)}",)),
    "program:week_ahead": looks(COACHES, queries=(f"?of={MONDAY}",)),
    "program:publish_ahead": acts(COACHES, body=this_weeks_session),
    "program:blocks": looks(COACHES),
    "program:block_new": fills(
        COACHES,
        body=new_block_form,
        get=GO,
        queries=("?form=7f0c4d525f0e4b7f9d552f8f4c1f3a10",),
    ),
    "program:block": looks(COACHES, "block", hx_get=PART),
    "program:block_away": fills(COACHES, "draft_block", body=lambda half: {"written": 0}),
    "program:keep_block": fills(COACHES, "block", body=lambda half: {"name": "Eight weeks"}),
    "program:clear_break": fills(
        COACHES, "block", "break", body=clear_form, hx_get=PART, queries=("?way=drop",)
    ),
    "program:breaks": fills(COACHES, body=break_form),
    "program:break_away": acts(COACHES, "break"),
    "program:templates": looks(COACHES),
    "program:template": fills(COACHES, "template", body=begin_form, foreign_for=COACHES),
    "program:template_name": fills(
        COACHES, "template", body=lambda half: {"name": "Another name"}, foreign_for=HEAD_COACH
    ),
    "program:template_away": acts(COACHES, "template", foreign_for=COACHES),
    "program:block_end": looks(COACHES, "block"),
    "program:place": acts(COACHES, "block", body=order, hx_post=PART),
    "program:change_back": acts(COACHES, "block", "board_change", hx_post=PART),
    "program:publish_week": acts(COACHES, "block", "week", body=first_week),
    "program:carry": fills(
        COACHES,
        "block",
        body=carry_form,
        hx_get=PART,
        queries=("?week=1&to=2&change=round&pace=more&beyond=end&taken=skip",),
    ),
    "program:block_edit": fills(COACHES, "block", body=block_form),
    "program:session_new": fills(
        COACHES,
        "block",
        body=session_form(),
        get=GO,
        queries=("?form=7f0c4d525f0e4b7f9d552f8f4c1f3a11",),
    ),
    # The builder
    "program:build": looks(COACHES, "session"),
    "program:session_facts": fills(
        COACHES, "session", body=session_form(version=1), hx_get=PART, hx_post=PART
    ),
    "program:publish": acts(COACHES, "session", body=lambda half: {"version": 1}),
    "program:session_duplicate": acts(COACHES, "session"),
    "program:session_take_out": acts(COACHES, "session"),
    "program:keep_session": fills(COACHES, "session", body=lambda half: {"name": "Kept"}),
    "program:keep_part": fills(COACHES, "session", "part", body=lambda half: {"name": "Kept"}),
    "program:session_minutes": fills(
        COACHES,
        "session",
        body=lambda half: {"minutes": 1, "session_version": 1},
        hx_get=PART,
        hx_post=PART,
        queries=("?minutes=1",),
    ),
    "program:undo_edit": acts(COACHES, "session", hx_post=PART, writes=False),
    "program:part_new": builds(body=lambda half: {"kind": "circuit"}),
    "program:part": fills(
        COACHES,
        "session",
        "part",
        body=lambda half: typed(half.session.parts.get(position=0), rounds=3),
        get=GO,
        hx_get=PART,
        hx_post=PART,
    ),
    "program:find": looks(COACHES, "session", "part", hx_get=PART, queries=("?q=own",)),
    "program:slot_new": builds("part", body=lambda half: {"exercise": half.chain[2].pk}),
    "program:part_move": builds("part", body=lambda half: {"way": "down"}),
    "program:part_duplicate": builds("part"),
    "program:part_take_out": builds("part", body=lambda half: {"session_version": 1}),
    "program:slot": fills(
        COACHES,
        "session",
        "slot",
        body=lambda half: typed(half.session.parts.get(position=0).slots.first(), amount=6),
        get=GO,
        hx_get=PART,
        hx_post=PART,
    ),
    "program:slot_move": builds("slot", body=lambda half: {"way": "down"}),
    "program:slot_duplicate": builds("slot"),
    "program:slot_take_out": builds("slot", body=lambda half: {"version": 1}),
    # Across a block's weeks
    "program:intent": fills(
        COACHES,
        "session",
        "slot",
        body=lambda half: {"kind": "grow", "start": 6, "step": 2, "every": 1, "top": 12},
    ),
    "program:intent_end": acts(COACHES, "session", "slot"),
    "program:intents_follow": acts(COACHES, "block"),
    # The checks
    "program:checks": looks(COACHES),
    "program:check": fills(
        HEAD_COACH, "check", body=lambda half: {"most": 4, "reason": "We train four days."}
    ),
    "program:check_back": acts(HEAD_COACH, "changed_check"),
    "program:check_confirm": acts(HEAD_COACH, "proposed_check"),
    "program:check_decline": acts(HEAD_COACH, "proposed_check"),
    # Fit
    "program:who_gets_what": looks(COACHES, "session", queries=("?different",)),
    "program:child_volumes": looks(COACHES, "session"),
    "program:block_children": looks(COACHES, "block"),
    "program:block_of_child": looks(COACHES, "block", "child"),
    "program:fit_counts": looks(COACHES, "session", get=PART),
    "program:look": looks(COACHES, "session", get=PART),
    "program:call_off": fills(
        COACHES, "session_out", body=lambda half: {"because": "The hall is closed."}
    ),
    "program:takes_place": acts(COACHES, "session_called_off"),
    "program:move_session": acts(COACHES, "session_out", body=lambda half: {"day": in_days(4)}),
    "program:place_on_landing": fills(
        COACHES, "session", body=lambda half: {"why": "Seen at the venue."}, writes=False
    ),
    "program:decision": fills(
        COACHES,
        *CHILD_IN_SLOT,
        body=lambda half: {"choice": "leave-out", "note": "Rest it."},
        hx_get=PART,
    ),
    "program:decision_back": acts(COACHES, *CHILD_IN_SLOT),
    # Nothing is open in the scene's session; `test_standing_decisions` decides.
    "program:decide_group": acts(COACHES, "session", writes=False),
    "program:end_decision": acts(COACHES, "child", "standing_decision"),
    "program:ask_family": acts(COACHES, *CHILD_IN_SLOT),
    # Recall
    "program:recall": shelved(
        fills,
        "exercise",
        queries=("?since=2026-10-01",),
        body=lambda half: {"reason": "Two twisted ankles."},
    ),
    "program:recall_end": shelved(acts, "recalled_exercise"),
    # A family's own pages
    "program:family": looks(EVERYONE, get={"guardian": GO, "athlete": GO, "others": PAGE}),
    "program:child_day": looks(
        FAMILY_AND_COACHES,
        "child",
        queries=(f"?day={in_days(-2)}", f"?day={in_days(1)}", f"?day={in_days(7)}"),
    ),
    "program:invite_guardian": fills(
        GUARDIANS, "child", body=lambda half: {"email": "gran@example.org"}, foreign_for=NOBODY
    ),
    "program:sport": fills(COACHES_AND_GUARDIANS, "child", body=lambda half: {"none": "1"}),
    "program:sport_week": acts(
        COACHES_AND_GUARDIANS, "child", body=lambda half: {"week": f"{MONDAY}", "how": "more"}
    ),
    "program:sport_later": acts(COACHES_AND_GUARDIANS, "child", writes=False),
    "program:session_day": looks(FAMILY_AND_COACHES, *CHILDS),
    "program:read": looks(FAMILY_AND_COACHES, *CHILDS),
    "program:log": fills(FAMILY_AND_COACHES, *CHILDS, body=log_form),
    "program:ask": fills(FAMILY_AND_COACHES, *CHILDS, body=lambda half: {"text": "How deep?"}),
    "program:family_questions": looks(FAMILY_AND_COACHES, "child"),
    "program:follow": looks(FAMILY_AND_COACHES, *CHILDS),
    "program:inbox": acts(FAMILY_AND_COACHES, body=from_a_phone, sends_json=True, post=FILE),
    "program:safety": fills(
        HEAD_COACH,
        body=lambda half: {
            "spares_from": 2,
            "call_whom": "the club doctor",
            "call_number": "112",
            "pain_free_days": 2,
            "sessions_at_a_step": 3,
            "lighter_after_days": 20,
            "lighter_after_illness": 10,
        },
    ),
    "program:kept_logs": fills(FAMILY_AND_COACHES, *CHILDS, body=two_logs),
    # Reports to families
    "program:reports": looks(COACHES, "block"),
    "program:reports_write": acts(COACHES, "block"),
    "program:reports_go_on": acts(COACHES, "waiting_block", hx_post=PART, writes=False),
    "program:reports_send": acts(COACHES, "block"),
    "program:reports_paper": looks(COACHES, "block"),
    "program:report": fills(
        COACHES, "block", "report", body=lambda half: {"version": 1, "words": "Calm feet."}
    ),
    "program:report_correct": fills(
        COACHES, "sent_block", "sent_report", body=corrected_report, queries=("?anew",)
    ),
    "program:report_send": acts(COACHES, "block", "report"),
    "program:family_reports": looks(FAMILY_AND_COACHES, "child"),
    "program:family_report": looks(FAMILY_AND_COACHES, "child", "sent_report"),
    # What is held
    "program:privacy": looks(EVERYONE),
    "program:export_schema": looks(EVERYONE, get=FILE),
    "program:child_data": looks(GUARDIANS_AND_HEAD_COACHES, "child"),
    "program:health_views": looks(GUARDIANS_AND_HEAD_COACHES, "child"),
    "program:recorded_changes": looks(HEAD_COACH, "child"),
    "program:account_changes": looks(HEAD_COACH, "person"),
    "program:own_account_changes": looks(EVERYONE),
    "program:ask_for_copy": acts(GUARDIANS_AND_HEAD_COACHES, "child"),
    "program:fetch_copy": acts(
        GUARDIANS_AND_HEAD_COACHES, "child", "copy", post=FILE, foreign_for=NOBODY
    ),
    "program:ask_to_erase": fills(
        GUARDIANS_AND_HEAD_COACHES, "child", body=lambda half: {"yes": "yes"}
    ),
    # Nothing is asked for of this child; that it ends what is: tests/program/privacy.
    "program:take_back_erasing": acts(GUARDIANS_AND_HEAD_COACHES, "child", writes=False),
    "program:erasures": looks(HEAD_COACH),
    "program:erasure": fills(HEAD_COACH, "erasure", body=lambda half: {"erase": "yes"}),
    # Whom to ask, past the coaches
    "program:welfare": fills(
        EVERYONE,
        body=lambda half: {"text": "Too rough."},
        foreign_for=NOBODY,
    ),
    "program:concerns": looks(OFFICERS),
    "program:concern": fills(
        EVERYONE,
        "concern",
        body=lambda half: {"do": "write", "text": "Again today."},
        foreign_for=OFFICERS,
    ),
    "program:welfare_officers": fills(
        HEAD_COACH, body=lambda half: {"do": "words", "whom_to_ring": "Ada: 01632 960111"}
    ),
    # Without a connection, on paper and in a calendar
    "program:worker": looks(PUBLIC, get=FILE),
    "program:manifest": looks(PUBLIC, get=FILE),
    "program:no_connection": looks(PUBLIC),
    "program:to_keep": looks(EVERYONE, get=FILE),
    "program:sheet": looks(FAMILY_AND_COACHES, *CHILDS),
    "program:sheets": looks(COACHES, "published_session"),
    "program:calendar_address": fills(FAMILY | OFFICERS, body=lambda half: {}),
    "program:calendar": looks(PUBLIC, "calendar", get=FILE),
    # What came back
    "program:review": looks(COACHES),
    "program:answer": acts(COACHES, body=about_pain, hx_post=PART),
    "program:answer_back": acts(COACHES, "resolution", hx_post=PART),
    "program:answer_together": acts(COACHES, body=equal_findings, hx_post=PART),
    "program:answers": looks(COACHES),
    "program:invite_again": acts(COACHES, hx_post=PART, writes=False),
    "program:came_back": looks(COACHES),
    "program:came_back_of": looks(COACHES, "published_session"),
    "program:attendance": looks(COACHES),
    "program:question": fills(COACHES, "question", body=lambda half: {"words": "Two books."}),
    "program:question_upload": looks(FAMILY_AND_COACHES, "question", get=FILE),
    "program:child_review": looks(COACHES, "child"),
    "program:group_log": fills(COACHES, "published_session", body=group_form, hx_get=PART),
    "program:session_review": looks(COACHES, *CHILDS),
    # Whoever watches over the server
    "program:live": looks(PUBLIC, get=FILE),
    "program:ready": looks(PUBLIC, get=FILE),
}

ROUTES = {route.name: route for route in routes()}
TABLED = sorted(ROUTES.keys() & ALLOWED.keys())
"""The names of the addresses that have a row."""
