"""Saving single fields while somebody else may be saving the same thing, and deleting what nothing hangs on."""

from collections.abc import Container, Mapping
from dataclasses import dataclass
from typing import Any

from django.db import models, transaction

from levelwind.core.errors import LevelwindError


@dataclass(frozen=True, slots=True)
class Saved:
    """Which fields were written, and what somebody else wrote meanwhile into those that were not."""

    fields: tuple[str, ...]
    clashes: Mapping[str, Any]


def clashing(*, stored: Mapping[str, Any], was: Mapping[str, Any], now: Mapping[str, Any]) -> dict[str, Any]:
    """What is stored now of the fields that somebody else changed since this page was drawn, and not to the same."""
    return {name: stored[name] for name in now if stored[name] not in (was[name], now[name])}


@transaction.atomic
def fields_save(*, instance: models.Model, was: Mapping[str, Any], now: Mapping[str, Any]) -> Saved:
    """Write each field of ``now`` whose stored value is still what it ``was``; leave and report the others.

    ``instance`` is brought up to date. Raises django's ValidationError where the model refuses a value, or what would
    then stand together; a field that is still to be filled in stands in no other's way.
    """
    current = type(instance)._default_manager.select_for_update().get(pk=instance.pk)
    stored = {name: getattr(current, name) for name in now}
    clashes = clashing(stored=stored, was=was, now=now)
    written = [name for name in now if name not in clashes and stored[name] != now[name]]
    for name in written:
        setattr(current, name, now[name])
    if written:
        current.clean_fields(exclude={field.name for field in current._meta.fields} - set(written))
        current.clean()
        current.validate_unique()
        current.validate_constraints()
        current.save(update_fields=written)
    for name in now:
        setattr(instance, name, getattr(current, name))
    return Saved(fields=tuple(written), clashes=clashes)


def hanging_on(instance: models.Model, but: Container[str] = ()) -> tuple[str, ...]:
    """What in the book points to this row, in words with its number, but for the relations named in ``but``."""
    found = []
    for relation in instance._meta.related_objects:
        name = relation.get_accessor_name() or ""
        rows = relation.related_model._default_manager.filter(**{relation.field.name: instance.pk})
        count = 0 if name in but else rows.count()
        if count:
            meta = relation.related_model._meta
            found.append(f"{count} {meta.verbose_name if count == 1 else meta.verbose_name_plural}")
    return tuple(found)


@transaction.atomic
def row_delete(*, instance: models.Model, what: str, but: Container[str] = ()) -> None:
    """Delete a row on which nothing hangs; ``but`` names relations whose rows go with it.

    Raises LevelwindError that says what hangs on it.
    """
    type(instance)._default_manager.select_for_update().get(pk=instance.pk)
    hanging = hanging_on(instance, but)
    if hanging:
        raise LevelwindError(f"{what} cannot be taken away. In the book it has: {', '.join(hanging)}.")
    instance.delete()
