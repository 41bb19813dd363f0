"""Results as plain data and back: one codec for the book's rows, the limited processes and the command line.

A frozen dataclass is all it takes: its fields, by their names and in their order, are its shape. ``as_stored`` writes
every field, so that ``from_stored`` brings the same value back; ``as_shown`` is what a person or another program
reads. Both give dicts, lists, numbers, words and None: hand them to ``json.dumps``.

* A field that only the book needs carries ``field(metadata=UNSHOWN)``.
* A class that is shown otherwise than by its fields has a method ``shown``, which says as what: a sentence, a dict,
  another dataclass. What stands in it is shown in its turn.
* What an older version stored is read by defaults for the fields it did not have; keys it had and we have not are
  passed over.
* A field that is read back has a type that JSON can bring: float, int, bool, str, StrEnum, None, tuple, Mapping and
  other dataclasses; no union of two dataclasses, and no name imported under TYPE_CHECKING alone.

msgspec reads, which is where a stranger's data must be checked: docs/decisions/dependencies.md says why.
"""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from types import MappingProxyType
from typing import Any, TypeVar

from levelwind.core.errors import InputError

UNSHOWN: Mapping[str, Any] = MappingProxyType({"unshown": True})
"""Metadata of a field that is stored and not shown."""

T = TypeVar("T")


def as_stored(value: object) -> Any:
    """Plain data that ``from_stored`` reads back.

    >>> from levelwind.core.quantities import Quantity
    >>> as_stored((Quantity(12.0, 10.0, 15.0), None))
    [{'value': 12.0, 'low': 10.0, 'high': 15.0}, None]
    """
    return _plain(value, shown=False)


def as_shown(value: object) -> Any:
    """Plain data as ``--json`` prints it.

    >>> from levelwind.core.quantities import Quantity
    >>> as_shown({"running_N": Quantity(12.0, 10.0, 15.0)})
    {'running_N': {'value': 12.0, 'low': 10.0, 'high': 15.0}}
    """
    return _plain(value, shown=True)


def from_stored(kind: type[T], data: object, what: str = "what is stored") -> T:
    """Back from ``as_stored``, also of an older version; every value has the type its field says.

    Raises InputError: the class's own where it refuses a value, else one that names ``what`` and where it is wrong.

    >>> from levelwind.core.quantities import Quantity
    >>> from_stored(Quantity, {"value": 12, "low": 10, "high": 15, "of_old": True})
    Quantity(value=12.0, low=10.0, high=15.0)
    """
    import msgspec  # only where something is read back: a command that prints starts without it

    try:
        return msgspec.convert(data, kind)
    except msgspec.ValidationError as error:
        if isinstance(error.__cause__, InputError):
            raise error.__cause__ from None
        raise InputError(what, str(error).replace("`", ""), "as Levelwind writes it") from error


def _plain(value: Any, *, shown: bool) -> Any:
    if is_dataclass(value):
        if shown and hasattr(value, "shown"):
            return _plain(value.shown(), shown=True)
        kept = (each.name for each in fields(value) if not (shown and each.metadata.get("unshown")))
        return {name: _plain(getattr(value, name), shown=shown) for name in kept}
    if isinstance(value, Mapping):
        return {str(key): _plain(each, shown=shown) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(each, shown=shown) for each in value]
    if isinstance(value, Enum):
        return value.value
    return value.tolist() if hasattr(value, "tolist") else value  # an array or a number of numpy
