"""Django's sessions on Postgres, readable by nobody who has only the database (SESSION_ENGINE)."""

import datetime as dt
from typing import Any

from django.contrib.auth import SESSION_KEY as WHO
from django.contrib.sessions.backends.base import CreateError, SessionBase, UpdateError
from django.db import IntegrityError, transaction
from django.http import HttpRequest
from django.utils import timezone

from athletes.mailing import send_after_commit
from athletes.models.outgoing_mail import OutgoingMail
from athletes.models.sign_ins import SIGNING_IN, SignIn, SignInQuerySet, digest_of
from athletes.models.users import User
from athletes.user_agents import device_of
from library.shared.sealing import seal, unsealed


class SessionStore(SessionBase):
    """How long one lasts is the row's to say, whatever the cookie says.

    `device` is written with the next save that signs somebody in, and `mail`, that they have signed
    in, in the same transaction.
    """

    def __init__(self, session_key: str | None = None) -> None:
        super().__init__(session_key)
        self.device = ""
        self.mail: OutgoingMail | None = None
        self._user_id: int | None = None  # as the row has it

    def load(self) -> dict[str, Any]:
        now = timezone.now()
        kept = self._row().open_at(now).first()
        content = kept and unsealed(bytes(kept.sealed), self._purpose())
        if not (kept and content):
            self._session_key = None
            return {}
        if kept.is_to_be_seen_again(now):
            SignIn.objects.filter(pk=kept.pk).seen(now)
        self._user_id, self.device = kept.user_id, kept.device
        data: dict[str, Any] = self.serializer().loads(content)
        return data

    def exists(self, session_key: str) -> bool:
        return SignIn.objects.with_key(session_key).exists()

    def create(self) -> None:
        while True:
            self._session_key = self._get_new_session_key()  # type: ignore[attr-defined]
            try:
                self.save(must_create=True)
            except CreateError:
                continue  # somebody else drew the same one
            self.modified = True
            return

    def save(self, must_create: bool = False) -> None:
        """Raises CreateError where there is one with this key, and UpdateError where there is none
        any more: what was signed out meanwhile stays so."""
        if self.session_key is None:
            return self.create()
        data = self._get_session(no_load=must_create)  # type: ignore[attr-defined]
        sealed = seal(self.serializer().dumps(data), self._purpose())
        if must_create:
            self._insert(sealed, timezone.now())
        elif not self._row().update(sealed=sealed):
            raise UpdateError
        who = User._meta.pk.to_python(data[WHO]) if WHO in data else None
        if who != self._user_id:
            self._now_of(who, timezone.now())
        return None

    def delete(self, session_key: str | None = None) -> None:
        key = session_key or self.session_key
        if key is not None:
            SignIn.objects.with_key(key).delete()

    @classmethod
    def clear_expired(cls) -> None:
        SignIn.objects.over_at(timezone.now()).delete()

    def _insert(self, sealed: bytes, now: dt.datetime) -> None:
        self._user_id = None
        try:
            with transaction.atomic():
                SignIn.objects.create(
                    key_digest=digest_of(self.session_key or ""),
                    sealed=sealed,
                    created_at=now,
                    last_seen_at=now,
                    expires_at=now + SIGNING_IN,
                )
        except IntegrityError as taken:
            raise CreateError from taken

    @transaction.atomic
    def _now_of(self, user_id: int | None, now: dt.datetime) -> None:
        if self.mail:
            send_after_commit([self.mail])
            self.mail = None
        self._row().update(user_id=user_id, device=self.device)
        self._row().seen(now)
        self._user_id = user_id

    def _row(self) -> SignInQuerySet:
        return SignIn.objects.with_key(self.session_key or "")

    def _purpose(self) -> str:
        """With the key, of which the database holds the digest alone: who has the database and
        SECRET_KEY, but no cookie, reads nothing, and no row can be put in another's place."""
        return f"athletes.sign_in:{self.session_key}"


def sign_everybody_out(**signal: Any) -> None:
    """Receiver of `database_restored`: whoever has signed out since the backup, or was signed out,
    is not signed in again by it."""
    SignIn.objects.all().delete()


def note_device(request: HttpRequest, **signal: Any) -> None:
    """Receiver of `user_logged_in`."""
    if isinstance(request.session, SessionStore):
        request.session.device = device_of(request.headers.get("User-Agent", ""))
