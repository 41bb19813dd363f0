"""What a person says of a recording, as a form sends it, turned into what ``reading_correct`` takes."""

from collections.abc import Callable, Mapping
from typing import Any

from levelwind.core.columns.cells import typed_number
from levelwind.core.errors import InputError
from levelwind.core.quantities import NEWTONS_PER, SCALE_UNITS
from levelwind.core.spin.options import INSIDES
from levelwind.core.writing import written
from levelwind.shop.models import Reading
from levelwind.shop.readings.selectors.stored import pull_result

Options = dict[str, Any]
"""By the names of the options class; None takes back what was said."""
UNITS = {unit: unit.removesuffix("f") for unit in SCALE_UNITS}
"""What a scale may read in, as kept and as it is written on the scale."""


def options_by(reading: Reading, sent: Mapping[str, str], unit: str) -> Options:
    """One correction. ``unit``: the shop's unit of force. Raises InputError for what cannot be read."""
    about = sent.get("about", "")
    if about not in ABOUT:
        raise InputError("what is said", repr(about[:40]), "one of " + ", ".join(ABOUT))
    if sent.get("what") == FORGET:
        return {KEYS[about]: None}
    return ABOUT[about](reading, sent, unit)


def number(sent: Mapping[str, str], name: str, what: str) -> float:
    """A typed number, with a decimal point or comma. Whether it can be so, the options find out."""
    text = sent.get(name, "").strip()[:40]
    try:
        return float(typed_number(text))
    except InputError as refusal:
        raise InputError(what, f"“{text}”", f"a number: {refusal.allowed}") from None


def _unit(reading: Reading, sent: Mapping[str, str], unit: str) -> Options:
    return {"unit": sent.get("value", "")[:20]}


def _capacity(reading: Reading, sent: Mapping[str, str], unit: str) -> Options:
    return {"capacity_N": number(sent, "value", "the most the scale can read") * NEWTONS_PER[unit]}


def _marks(reading: Reading, sent: Mapping[str, str], unit: str) -> Options:
    return {"marks": number(sent, "value", "marks a turn")}


def _slowed(reading: Reading, sent: Mapping[str, str], unit: str) -> Options:
    return {"slowed": number(sent, "value", "how many times slower than life")}


def _between(reading: Reading, sent: Mapping[str, str], unit: str) -> Options:
    return {"between_s": list(_ends(sent, "the spin"))}


def _ends(sent: Mapping[str, str], what: str) -> tuple[float, float]:
    start = number(sent, "from_s", f"where {what} starts, in s")
    return start, number(sent, "to_s", f"where {what} ends, in s")


def _mark_at(reading: Reading, sent: Mapping[str, str], unit: str) -> Options:
    """From two fields in per cent, or from a tap on the still, sent in pixels of the size it was shown at."""
    if "at.x" not in sent:
        across, down = (number(sent, name, f"how far {name}, in %") / 100 for name in ("across", "down"))
        return {"mark_at": [across, down]}
    wide, high = (number(sent, name, "the size of the picture") for name in ("shown_wide", "shown_high"))
    if min(wide, high) < 1:
        raise InputError("the size of the picture", f"{written(wide)} × {written(high)}", "1 × 1 or more")
    return {"mark_at": [number(sent, "at.x", "the tap") / wide, number(sent, "at.y", "the tap") / high]}


def _bearing(reading: Reading, sent: Mapping[str, str], unit: str) -> Options:
    return {"bearing": {name: number(sent, name, what) for name, what in INSIDES.items()}}


def _span(reading: Reading, sent: Mapping[str, str], unit: str) -> Options:
    """Move the ends of one pull, leave it out, or add another; the rest stay as they are."""
    spans, what = spans_of(reading), sent.get("what", "")
    if what == "add":
        return {"spans_s": [*spans, _ends(sent, "the pull")]}
    pull = number(sent, "pull", "the pull's number")
    if pull not in range(1, len(spans) + 1):
        raise InputError("the pull's number", written(pull), f"1 to {len(spans)}")
    rest = [span for n, span in enumerate(spans, 1) if n != pull]
    if what == "ignore" and rest:
        return {"spans_s": rest}
    if what == "ignore":
        raise InputError("this pull", "the only one", "at least one to keep; strike the reading out instead")
    if what == "move":
        return {"spans_s": [*rest, _ends(sent, "the pull")]}
    raise InputError("what to do with the pull", f"“{what[:20]}”", "move, ignore or add")


def spans_of(reading: Reading) -> list[list[float]]:
    """Where the pulls of a log lie, as found or as marked before."""
    found = pull_result(reading).pulls
    spans = [[pull.start_s, pull.end_s] for pull in found if pull.start_s is not None and pull.end_s is not None]
    return spans or [list(span) for span in reading.options.get("spans_s", ())]


ABOUT: Mapping[str, Callable[[Reading, Mapping[str, str], str], Options]] = {
    "unit": _unit,
    "capacity": _capacity,
    "marks": _marks,
    "slowed": _slowed,
    "between": _between,
    "mark_at": _mark_at,
    "bearing": _bearing,
    "span": _span,
}
"""What a form may be about, and how its fields are read."""
KEYS = {about: about for about in ABOUT} | {"capacity": "capacity_N", "between": "between_s", "span": "spans_s"}
"""Under which key of ``Reading.options`` it is kept."""
FORGET = "forget"
"""What a form sends to take back what was said of a thing."""
