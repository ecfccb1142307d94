"""One wrong request after another to an address: which one comes of its seed, address and number
alone, so that it can be sent again."""

import json
import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, Final
from urllib.parse import parse_qsl, quote, quote_from_bytes

from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, connection, transaction
from django.test import Client
from django.urls import reverse

from tests.fuzz.rubbish import a_key, anything, bent
from tests.support.addresses import ALLOWED, ROUTES, Row
from tests.support.pictures import photo
from tests.support.scene import ANONYMOUS, ROLES, Half, Scene


@dataclass(frozen=True)
class File:
    name: str
    content: bytes
    content_type: str


type Field = tuple[str, bytes | File]

METHODS: Final = ("HEAD", "OPTIONS", "PUT", "PATCH", "DELETE", "TRACE", "BREW", "get")
QUERIES: Final = (
    *("q", "page", "cohort", "child", "day", "of", "on", "order", "region", "side", "next", "to"),
    *("block", "session", "group", "week", "form", "way", "change", "since", "still", "like"),
    *("pattern", "kit", "landings", "different", "anew", "once", "scope", "was"),
)
EXTRA: Final = ("once", "was", "version", "session_version", "mark", "seen", "over", "look", "anew")
HEADERS: Final[dict[str, tuple[str, ...]]] = {
    "Range": (
        "bytes=0-",
        "bytes=-1",
        "bytes=5-2",
        "bytes=0-0,-1",
        "bytes=9-999999999999999999999",
        "lines=1",
        "bytes=a-b",
        "bytes=" + "0-1," * 500,
    ),
    "If-Range": ('"x"', "Mon, 99 Nov 2026 25:61:61 GMT"),
    "Accept": ("*/*;q=nan", "application/json", "text/html;q=1e999", ",;=", "a" * 3000),
    "Accept-Language": ("xx-" * 300, "de;q=-1", "\xff", "en;q=1.5,*"),
    "Accept-Encoding": ("gzip;q=0", "br, gzip", "gzip;q=nan", "identity;q=0, *;q=0"),
    "Referer": (
        "http://[::1",
        "javascript:alert(1)",
        "http://testserver/%zz",
        "//",
        "/sessions/9/",
        "http://testserver/sessions/" + "9" * 60 + "/",
        "\xe4",
    ),
    "Origin": ("null", "http://[", "http://testserver"),
    "If-Modified-Since": (
        "yesterday",
        "Mon, 01 Jan 0000 00:00:00 GMT",
        "Fri, 31 Dec 9999 23:59:59 GMT",
    ),
    "If-None-Match": ("*", '"', 'W/"' + "x" * 2000),
    "Cookie": (
        "sessionid=" + "x" * 300,
        "sessionid=\0",
        "csrftoken=short; messages=1",
        "=;;=",
        "messages=eyJ9:1:x",
        "sessionid=../../a",
    ),
    "X-Forwarded-For": ("1.2.3.4, bad, ::1", "]" * 50, ""),
    "X-Forwarded-Proto": ("https", "gopher"),
    "X-Request-Id": ("\u00e4", "x" * 2000),
    "Content-Length": ("-1", "abc", "99999999999999999999"),
    "Host": ("evil.example", "testserver:99999", "[::1", "testserver:80a"),
    "Last-Event-ID": ("1",),
    "X-Http-Method-Override": ("DELETE",),
}
HTMX: Final[dict[str, tuple[str, ...]]] = {
    "HX-Current-URL": (
        *("http://[::1", "%zz", "http://testserver/sessions/abc/", "x" * 3000),
        "http://testserver/blocks/" + "9" * 50 + "/",
    ),
    "HX-Current-URL-URI-AutoEncoded": ("true",),
    "HX-Target": ("<b>", "parts", "x" * 2000),
    "HX-Trigger": ("{", "slot-12", "%C3%28"),
    "HX-Trigger-Name": ("name", "\xff"),
    "HX-Boosted": ("true", "maybe"),
    "HX-Prompt": ("\xe4", "%00"),
    "HX-History-Restore-Request": ("true",),
    "Triggering-Event": ("{", '{"a":' * 400, "null", "[]"),
}  # fmt: skip
TYPES: Final = (
    "", "text/plain", "application/json", "application/json; charset=utf-16", "image/jpeg",
    "application/x-www-form-urlencoded; charset=nonsense",
    "application/x-www-form-urlencoded; charset=utf-16",
    "application/x-www-form-urlencoded; charset=latin-1",
    "multipart/form-data", "multipart/form-data; boundary=", "multipart/form-data; boundary=edge",
    "multipart/form-data; boundary=" + "x" * 300, "multipart/form-data; boundary=ä",
    "multipart/form-data; boundary=edge; charset=utf-7", "a" * 2000, "/", ";;;",
)  # fmt: skip
FILES: Final = (
    b"", b"\0", b"\xff\xd8\xff\xe0", b"\x89PNG\r\n\x1a\n", b"GIF89a", b"\x1aE\xdf\xa3",
    b"%PDF-1.4", b"PK\x03\x04", b"given name,family initial,birth date\n\xff\xfe,B,2015-01-05\n",
    b"a,b,c\n" * 50, b'"' * 300, b"given name;birth date\r\nNils;31.02.2015\r\n" * 3,
    "given name,birth date\nNils,٢٠١٥-٠١-٠٥\n".encode("utf-16"),
)  # fmt: skip
NAMES: Final = (
    "a.jpg",
    "a.csv",
    "../../a.png",
    "",
    "a" * 300 + ".xlsx",
    "con.mp4",
    "ä\0.webm",
    ".",
)
TYPES_OF_FILES: Final = (
    "image/jpeg",
    "text/csv",
    "video/mp4",
    "",
    "x" * 300,
    "text/plain; charset=nonsense",
)


@dataclass(frozen=True)
class Case:
    """A request, whose path and body are as they go over the line."""

    role: str
    method: str
    path: str
    body: bytes = b""
    content_type: str = ""
    headers: dict[str, str] = field(default_factory=dict)

    def __str__(self) -> str:
        told = f"{self.method} {self.path[:300]} as {self.role}"
        if self.body or self.content_type:
            told += f" with {self.content_type[:80]} {self.body[:600]!r}"
        return told + (
            f" and { {k: v[:80] for k, v in self.headers.items()} }" if self.headers else ""
        )


def case(scene: Scene, name: str, number: int, seed: int) -> Case:
    """The request of this number to the address of this name."""
    return _Wrong(scene, name, random.Random(f"{seed}:{name}:{number}")).case()


class _Wrong:
    """Makes one request to an address, with some of it wrong."""

    def __init__(self, scene: Scene, name: str, chance: random.Random) -> None:
        self.scene, self.name, self.chance = scene, name, chance
        self.row: Row = ALLOWED[name]

    def case(self) -> Case:
        role, method = self._role(), self._method()
        path = self._path(role) + self._query()
        headers = self._headers()
        if method in {"GET", "HEAD", "OPTIONS", "TRACE"} and self.chance.random() < 0.95:
            return Case(role, method, path, headers=headers)
        body, kind = self._body()
        return Case(role, method, path, body, kind, headers)

    def _is(self, share: float) -> bool:
        return self.chance.random() < share

    def _role(self) -> str:
        may = [role for role in (*ROLES, ANONYMOUS) if role in self.row.door]
        return self.chance.choice(may if self._is(0.8) else [*ROLES, ANONYMOUS])

    def _method(self) -> str:
        if self._is(0.07):
            return self.chance.choice(METHODS)
        if self.row.post and self.row.get:
            return "POST" if self._is(0.75) else "GET"
        other = self._is(0.05)
        return "GET" if bool(self.row.get) != other else "POST"

    # The address

    def _path(self, role: str) -> str:
        route = ROUTES[self.name]
        if self._is(0.7) or not route.parts:
            wanted = [self._one_that_is(kind, role) for kind in self.row.ids]
            return reverse(self.name, args=wanted)
        path = route.path
        for part, kind in zip(route.parts, self.row.ids, strict=True):
            begins = path.index("<")
            ends = path.index(">", begins)
            said = str(self._one_that_is(kind, role)) if self._is(0.5) else self._no_such()
            path = path[:begins] + _percent(said) + path[ends + 1 :]
            assert part in route.path
        return path

    def _one_that_is(self, kind: str, role: str) -> Any:
        which = self.chance.choices(["own", "foreign", "missing"], [85, 10, 5])[0]
        return self.scene.value(kind, which, role)

    def _no_such(self) -> str:
        return anything(self.chance).replace("/", "") or "-"

    def _query(self) -> str:
        if self._is(0.3 if self.row.queries else 0.6):
            return ""
        if self.row.queries and self._is(0.3):
            known = self.chance.choice(self.row.queries)
            return "?" + quote(bent(known[1:], self.chance), safe="&=%", errors="replace")
        names = self._known() if self._is(0.6) else [*QUERIES, *self._names()]
        pairs = (
            f"{self.chance.choice(names)}={_percent(self._value())}"
            for _ in range(self.chance.randint(1, 6))
        )
        return "?" + "&".join(pairs)

    def _known(self) -> list[str]:
        """What the address is known to read of its query."""
        known = "&".join(query.removeprefix("?") for query in self.row.queries)
        return [name for name, _ in parse_qsl(known, keep_blank_values=True)] or list(QUERIES)

    def _names(self) -> list[str]:
        return [str(name) for name in self.row.body(self.scene.own)]

    # What is sent

    def _body(self) -> tuple[bytes, str]:
        if self.row.sends_json or self._is(0.03):
            return self._json()
        if self._is(0.06):
            return self._raw()
        fields = self._fields()
        has_files = any(isinstance(said, File) for _, said in fields)
        if has_files or self._is(0.1):
            return _multipart(fields, self._is(0.1)), "multipart/form-data; boundary=edge"
        kind = self.chance.choice(TYPES) if self._is(0.05) else "application/x-www-form-urlencoded"
        pairs = (f"{_percent(name)}={quote_from_bytes(bytes(said))}" for name, said in fields)
        return "&".join(pairs).encode(), kind

    def _raw(self) -> tuple[bytes, str]:
        """A body of no kind at all, under the name of some kind."""
        body = self.chance.choice(
            [
                self.chance.randbytes(self.chance.randint(0, 400)),
                b"--edge\r\nContent-Disposition: form-data; name=\"a\"\r\n\r\n",
                b"--edge\r\nContent-Disposition: form-data; name=\"a\"; filename=\"b\"\r\n"
                b"Content-Transfer-Encoding: base64\r\n\r\n====\r\n--edge--\r\n",
                b"a=%zz&%=%&&&===&a",
                b"a=1&" * 1_500,
                b"{" * 5_000,
            ]
        )  # fmt: skip
        return body, self.chance.choice(TYPES)

    def _fields(self) -> list[Field]:
        """The form as it should be, with some of its fields gone, wrong, doubled or strange."""
        if self._is(0.03):
            return []
        fields: list[Field] = []
        wrong = self.chance.choice([0, 1, 1, 1, 2, 3, 99])
        form = list(_flat(self.row.body(self.scene.own)))
        spoilt = set(self.chance.sample(range(len(form)), min(wrong, len(form))))
        for place, (name, said) in enumerate(form):
            fields += self._spoilt(name, said) if place in spoilt else [(name, said)]
        while self._is(0.25):
            name = self.chance.choice([*EXTRA, *QUERIES, *self._names(), self._no_such()])
            fields.append((name, _line(self._value())))
        if self._is(0.1):
            self.chance.shuffle(fields)
        return fields

    def _spoilt(self, name: str, said: bytes | File) -> list[Field]:
        how = self.chance.randrange(12)
        if how == 0:
            return []
        if how == 1:
            return [(name, said), (name, _line(self._value()))]
        if how == 2:
            return [(name, self._file())]
        if how == 3:
            return [(f"{name}[]", said)]
        if how in {4, 5, 6} and isinstance(said, bytes):
            return [(name, _line(bent(said.decode(errors="replace"), self.chance)))]
        is_file = isinstance(said, File) and how > 7
        return [(name, self._file() if is_file else _line(self._value()))]

    def _file(self) -> File:
        content = self.chance.choice([*FILES, photo()[: self.chance.choice([20, 400, 99_999])]])
        return File(self.chance.choice(NAMES), content, self.chance.choice(TYPES_OF_FILES))

    def _value(self) -> str:
        """Rubbish, a key that names nothing, or something that is, and belongs elsewhere."""
        which = self.chance.randrange(8)
        if which == 0:
            return a_key(self.chance)
        if which in {1, 2}:
            half: Half = self.chance.choice([self.scene.own, self.scene.foreign])
            return str(self.chance.choice([*half.ids.values(), half.child.pk, half.chain[0].pk]))
        return anything(self.chance)

    def _json(self) -> tuple[bytes, str]:
        kind = self.chance.choice(["application/json"] * 8 + list(TYPES))
        if self._is(0.1):
            return self.chance.choice(_JSON), kind
        said: dict[str, Any] = dict(self.row.body(self.scene.own))
        for _ in range(self.chance.choice([0, 1, 1, 2])):
            within = said
            fields = said.get("fields")
            if isinstance(fields, dict) and self._is(0.6):
                within = fields = dict(fields)
                said["fields"] = fields
            name = self.chance.choice([*within, "kind", self._no_such()])
            within[name] = self._any_json()
        return json.dumps(said, default=str).encode(errors="surrogatepass"), kind

    def _any_json(self) -> Any:
        return self.chance.choice(
            [
                None, True, [], {}, [[]], {"a": {"b": []}}, 10**40, -1, 1.5,
                float("nan"), float("inf"),
                self._value(), self._value(), [self._value()], {self._value(): self._value()},
                *("log", "pain", "started", "easier", "ask"),
            ]
        )  # fmt: skip

    # Around it

    def _headers(self) -> dict[str, str]:
        headers: dict[str, str] = {}
        if self._is(0.3):
            headers["HX-Request"] = "true" if self._is(0.9) else "yes"
            headers |= self._some(HTMX, 0.25)
        if self._is(0.3):
            headers |= self._some(HEADERS, 0.12)
        return headers

    def _some(self, known: dict[str, tuple[str, ...]], share: float) -> dict[str, str]:
        return {name: self.chance.choice(said) for name, said in known.items() if self._is(share)}


_JSON: Final = (
    b"", b"null", b"[]", b"1", b'"x"', b"{", b"\xff\xfe", b"[" * 100_000, b'{"a":' * 5_000,
    b'{"id": NaN}', b'{"id": 1e999}', b'{"id": "\\ud83d"}', b'{"id": 1, "id": 2}', b"9" * 6_000,
)  # fmt: skip


def _flat(form: dict[str, Any]) -> Iterable[Field]:
    for name, said in form.items():
        for one in said if isinstance(said, list) else [said]:
            yield name, _as_sent(one)


def _as_sent(said: Any) -> bytes | File:
    if isinstance(said, SimpleUploadedFile):
        return File(said.name or "", said.read(), said.content_type or "")
    return _line(str(said))


def _line(text: str) -> bytes:
    """As the line carries it: half a surrogate, too, which a browser would not send."""
    return text.encode(errors="surrogatepass")


def _percent(text: str) -> str:
    return quote_from_bytes(_line(text), safe="")


def _multipart(fields: Sequence[Field], is_cut: bool) -> bytes:
    whole = b"".join(map(_part, fields)) + b"--edge--\r\n"
    return whole[: len(whole) * 2 // 3] if is_cut else whole


def _part(sent: Field) -> bytes:
    name, said = sent
    head = b'--edge\r\nContent-Disposition: form-data; name="' + _quoted(name) + b'"'
    if isinstance(said, File):
        head += b'; filename="' + _quoted(said.name) + b'"'
        head += b"\r\nContent-Type: " + said.content_type.encode()
        said = said.content
    return head + b"\r\n\r\n" + said + b"\r\n"


def _quoted(text: str) -> bytes:
    """As a browser writes it into a head."""
    told = _line(text)
    for letter, instead in ((b'"', b"%22"), (b"\r", b"%0D"), (b"\n", b"%0A")):
        told = told.replace(letter, instead)
    return told


def answered(scene: Scene, sent: Case) -> tuple[int, str]:
    """The status, and of a fault what it was; whatever was written is held against the deferred
    constraints, as its commit would be, and taken back."""
    with transaction.atomic():
        try:
            status, why = _asked(scene.client(sent.role), sent)
        except Exception as error:  # past every handler
            status, why = 500, f"past every handler: {error!r}"
        if status < 500 and (refused := _at_the_commit()):
            status, why = 500, refused
        transaction.set_rollback(True)
    return status, why


def _asked(client: Client, sent: Case) -> tuple[int, str]:
    answer = client.generic(
        sent.method, sent.path, sent.body, sent.content_type, headers=sent.headers
    )
    b"".join(answer)  # a file that is handed out is read
    said = getattr(answer, "exc_info", None)
    return answer.status_code, repr(said[1]) if said else ""


def _at_the_commit() -> str:
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
    except IntegrityError as error:
        return f"at the commit: {error!r}"
    return ""


def settle() -> None:
    """Check what the club has written now, so that no request has to."""
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        cursor.execute("SET CONSTRAINTS ALL DEFERRED")
