"""Who did what, when: written as rows are saved, so that no service can forget it, and read as one list."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import datetime, timedelta
from typing import Any, Protocol

from django.db.models import JSONField, Model, QuerySet
from django.db.models.fields import Field
from django.db.models.signals import post_delete, post_save, pre_save
from django.utils import timezone

from levelwind.core.writing import moment_in_words
from levelwind.documents.money import format_money
from levelwind.shop.models import (
    Bill,
    Build,
    Deed,
    Fit,
    Owner,
    Part,
    PartOffer,
    PartOrder,
    Pattern,
    PatternPicture,
    PatternPlace,
    PatternSign,
    PlaceLimit,
    ReelUse,
    Replacement,
)
from levelwind.shop.people.selectors import currency, shop_get

OF_ITSELF = {Owner: "owner", Part: "part", Pattern: "pattern", Bill: "bill"}
"""What has a history of its own: begun, changed field by field, taken away."""

HANGING: dict[type[Model], tuple[tuple[str, str, str], ...]] = {
    Fit: (("part", "part", "fit"), ("pattern", "pattern", "fit")),
    Replacement: (("part", "part", "replacement"), ("part", "instead_of", "replacement")),
    PartOrder: (("part", "part", "order"),),
    ReelUse: (("part", "part", "use"),),
    PartOffer: (("part", "part", "offer"),),
    PatternPlace: (("pattern", "pattern", "place"),),
    PlaceLimit: (("pattern", "pattern", "limit of wear"),),
    PatternSign: (("pattern", "pattern", "sign"),),
    PatternPicture: (("pattern", "pattern", "picture"),),
    Build: (("pattern", "pattern", "build"),),
}
"""What hangs on one of them: on which kind, by which field, and what it is called."""

ONE_EDIT = timedelta(minutes=10)
"""What one person types into one field within this time is one change: pages save while somebody types; our choice."""

LONGEST = 60
"""Letters of a value that a sentence holds; our choice."""
NOT_TOLD = ("went_over", "press", "counted_at")
MOST_DEEDS = 200
"""On one page; our choice."""


class Person(Protocol):
    def get_username(self) -> str: ...


_acting: ContextVar[Person | None] = ContextVar("acting", default=None)


@contextmanager
def acting(person: Person) -> Iterator[None]:
    """Within this, whatever is done was done by this person."""
    token = _acting.set(person)
    try:
        yield
    finally:
        _acting.reset(token)


def deeds_of(kind: str, ref: int) -> QuerySet[Deed]:
    """What was done to one thing, the newest first."""
    return Deed.objects.filter(kind=kind, ref=ref)[:MOST_DEEDS]


def _by() -> str:
    person = _acting.get()
    return person.get_username()[:80] if person else ""


def _write(kind: str, ref: int, text: str, **more: str) -> None:
    Deed.objects.create(kind=kind, ref=ref, by=_by(), text=text[:300], **more)


def _told(value: object) -> str:
    text = " ".join(str(value).split()) if value not in (None, "", {}, []) else ""
    return text if len(text) <= LONGEST else text[: LONGEST - 1] + "…"


def _before(sender: type[Model], instance: Model, raw: bool = False, **signal: Any) -> None:
    """Read what stands in the book before it is written over."""
    old = None if raw or instance.pk is None else sender._default_manager.filter(pk=instance.pk).first()
    instance._was = old  # type: ignore[attr-defined]


def _after(sender: type[Model], instance: Model, created: bool, raw: bool = False, **signal: Any) -> None:
    if raw:
        return
    kind, old = OF_ITSELF[sender], getattr(instance, "_was", None)
    if created or old is None:
        _write(kind, instance.pk, "Written down." if sender is not Bill else "Made.")
        return
    for field in sender._meta.concrete_fields:
        if field.name not in NOT_TOLD and getattr(old, field.attname) != getattr(instance, field.attname):
            _changed(kind, instance, old, field)


def _changed(kind: str, instance: Model, old: Model, field: "Field[Any, Any]") -> None:
    """One sentence for a field; typed on within the same minutes by the same person, the same sentence."""
    if isinstance(field, JSONField):
        return _write(kind, instance.pk, f"{str(field.verbose_name).capitalize()}: changed.", field=field.name)
    was, now = (_told(_shown(row, field)) for row in (old, instance))
    recent = Deed.objects.filter(kind=kind, ref=instance.pk, by=_by(), at__gt=timezone.now() - ONE_EDIT).first()
    name = str(field.verbose_name)
    if recent and recent.field == field.name:
        recent.text, recent.at = _sentence(name, recent.was, now)[:300], timezone.now()
        recent.save(update_fields=["text", "at"])
    else:
        _write(kind, instance.pk, _sentence(name, was, now), field=field.name, was=was)
    return None


def _shown(row: Model, field: "Field[Any, Any]") -> object:
    """As a person reads it: a choice in its words, money as money, a moment by the shop's clock."""
    shown, value = getattr(row, f"get_{field.name}_display", None), getattr(row, field.name)
    if shown:
        return shown()
    if field.name.endswith("_minor") and value is not None:
        return format_money(value, currency(shop_get()))
    return moment_in_words(timezone.localtime(value)) if isinstance(value, datetime) else value


def _sentence(name: str, was: str, now: str) -> str:
    head = f"{name[:1].upper()}{name[1:]}"
    if not was:
        return f"{head}: “{now}”."
    return f"{head}: “{now}”, was “{was}”." if now else f"{head}: nothing, was “{was}”."


def _hung(sender: type[Model], instance: Model, created: bool = False, raw: bool = False, **signal: Any) -> None:
    if not raw:
        _tell(sender, instance, "added" if created else "changed")


def _unhung(sender: type[Model], instance: Model, **signal: Any) -> None:
    _tell(sender, instance, "taken away")


def _tell(sender: type[Model], instance: Model, what: str) -> None:
    for kind, field, called in HANGING[sender]:
        _write(kind, getattr(instance, f"{field}_id"), f"{called.capitalize()} {what}: {instance}.")


def _gone(sender: type[Model], instance: Model, **signal: Any) -> None:
    _write(OF_ITSELF[sender], instance.pk, f"Taken out of the book: {instance}.")


def listen() -> None:
    """Write from now on; called once, as the app is ready."""
    for one in OF_ITSELF:
        pre_save.connect(_before, sender=one)
        post_save.connect(_after, sender=one)
        post_delete.connect(_gone, sender=one)
    for hanging in HANGING:
        post_save.connect(_hung, sender=hanging)
        post_delete.connect(_unhung, sender=hanging)
