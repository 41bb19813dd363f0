"""Who may come in from the workshop network: people, their passwords, where they are signed in, who was refused."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256

from axes.models import AccessFailureLog
from axes.utils import reset
from django.contrib.auth import SESSION_KEY
from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.contrib.sessions.models import Session
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from levelwind.core.errors import InputError, LevelwindError

SINCE, DEVICE = "since", "device"
"""What a session is told at signing in."""
LOOKED_BACK = timedelta(days=30)
MOST_REFUSED = 50
"""Refused tries that a page shows. Our choice."""


@dataclass(frozen=True, slots=True)
class OpenDoor:
    """One browser that is signed in. ``key`` names it without being the key that opens it."""

    key: str
    person: User
    device: str
    since: datetime | None


def people_list() -> list[User]:
    return list(User.objects.order_by("-is_active", "username"))


def doors_open() -> list[OpenDoor]:
    """Where somebody is signed in, the newest first."""
    people = {str(person.pk): person for person in people_list()}
    doors = []
    for session in Session.objects.filter(expire_date__gt=timezone.now()):
        told = session.get_decoded()
        person = people.get(str(told.get(SESSION_KEY, "")))
        if person:
            since = parse_datetime(str(told.get(SINCE, ""))) if told.get(SINCE) else None
            doors.append(OpenDoor(door_key(session.session_key), person, str(told.get(DEVICE, "")), since))
    return sorted(doors, key=lambda door: door.since.timestamp() if door.since else 0.0, reverse=True)


def door_key(session_key: str | None) -> str:
    return sha256(f"door {session_key}".encode()).hexdigest()[:24]


def door_close(*, key: str) -> bool:
    """End one browser's session, wherever it is; false where it had ended already."""
    for session in Session.objects.all():
        if door_key(session.session_key) == key:
            session.delete()
            return True
    return False


def doors_close(*, person: User) -> None:
    for door in doors_open():
        if door.person == person:
            door_close(key=door.key)


@transaction.atomic
def person_add(*, name: str, password: str) -> User:
    """Somebody who may sign in. Raises InputError for a name that is taken, or a password too easily guessed."""
    name = name.strip()
    if User.objects.filter(username__iexact=name).exists():
        raise InputError("name", name, "one that nobody here has yet")
    person = User(username=name, is_superuser=not User.objects.filter(is_active=True).exists())
    try:
        person.clean_fields(exclude=["password"])
        validate_password(password, person)
    except ValidationError as refusal:
        raise LevelwindError(" ".join(refusal.messages)) from None
    person.set_password(password)
    person.save(force_insert=True)
    return person


@transaction.atomic
def password_set(*, person: User, password: str) -> None:
    """Another password; wherever that person was signed in, the old one ends. Raises LevelwindError for a weak one."""
    try:
        validate_password(password, person)
    except ValidationError as refusal:
        raise LevelwindError(" ".join(refusal.messages)) from None
    person.set_password(password)
    person.save(update_fields=["password"])


@transaction.atomic
def person_let_in(*, person: User, let_in: bool) -> None:
    """Let somebody in no more, or again. Raises LevelwindError where nobody who runs the shop would be left."""
    others = User.objects.filter(is_active=True, is_superuser=True).exclude(pk=person.pk)
    if not let_in and person.is_superuser and not others.exists():
        raise LevelwindError(f"{person} runs this shop: without {person} nobody could let people in.")
    person.is_active = let_in
    person.save(update_fields=["is_active"])
    if not let_in:
        doors_close(person=person)


def refused_lately() -> list[AccessFailureLog]:
    """Wrong names and passwords, the newest first."""
    since = timezone.now() - LOOKED_BACK
    return list(AccessFailureLog.objects.filter(attempt_time__gt=since)[:MOST_REFUSED])


def let_all_try_again() -> None:
    """Whoever has to wait after too many wrong passwords need not wait any longer."""
    reset()
