"""What the work did, in one sentence for somebody who never read a reading.

Each number has the figures that it has in its row on the same sheet.
"""

from collections.abc import Iterator, Mapping

from levelwind.core.changes import Change, Verdict
from levelwind.core.quantities import Quantity, value_in_words, whole
from levelwind.core.spin.compare import SpinsCompared

ON_A_SCALE = {"N": "N", "kgf": "kg", "lbf": "lb"}
"""How a hanging scale names the units of force."""
ABOUT_AS_BEFORE = 0.15
"""Part of what it was within which a pull is called about what it was: less than a hand feels. Our choice."""


def in_short(compared: Mapping[str, Verdict], left: Mapping[str, Quantity], force_unit: str) -> str:
    """From what was ``compared``, "pull" and "spin", and from what is known as it goes home: "running" in
    ``force_unit``, "spin_time" in s. Nothing where neither tells anything.

    >>> in_short({}, {"running": Quantity(8.6, 8.5, 8.7)}, "lbf")
    'The drag holds 8.6 lb.'
    """
    drag = _drag(compared.get("pull"), left.get("running"), force_unit)
    spool = _spool(compared.get("spin"), left, alone=not drag)
    said = "; ".join(filter(None, (drag, spool)))
    return f"{said[0].upper()}{said[1:]}." if said else ""


def _drag(verdict: Verdict | None, running: Quantity | None, unit: str) -> str:
    starts = tuple(_starting(verdict)) if verdict else ()
    running_now = f"holds {_on_a_scale(running, unit)}" if running else ""
    change = verdict.change("running_N") if verdict else None
    if change:
        running_now = _holding(change.in_unit(unit), unit)
    does = [*starts, *filter(None, (running_now,))]
    return f"the drag {' and '.join(does)}" if does else ""


def _starting(verdict: Verdict) -> Iterator[str]:
    """How it starts: by sticking where the logs told it, else by the start-up ratio where that truly changed."""
    sticking = {
        "stick_slip_gone": "no longer sticks and slips",
        "stick_slip_come": "now sticks and slips",
        "stick_slip_still": "still sticks and slips",
    }
    told = [sticking[note.key] for note in verdict.so if note.key in sticking]
    ratio = verdict.change("startup_ratio")
    if told:
        yield told[0]
    elif ratio and ratio.real:
        yield "starts more smoothly" if ratio.difference.value < 0 else "starts less smoothly than before"


def _holding(change: Change, unit: str) -> str:
    holds = f"holds {_on_a_scale(change.left, unit)}"
    if change.real:
        way = "more" if change.difference.value > 0 else "less"
        return f"{holds}, {_part(change)} {way} than before"
    widest = max(abs(change.difference.low), abs(change.difference.high))
    if widest < ABOUT_AS_BEFORE * change.found.value:
        return f"{holds}, about as before"
    return f"{holds}: whether more or less than before cannot be told"


def _part(change: Change) -> str:
    """By which part of what it was, no finer than its interval tells nor than whole percents."""
    size = change.difference.scaled((1 if change.difference.value > 0 else -1) * 100 / change.found.value)
    told = value_in_words(size, "%")
    return f"{whole(size.value)} %" if "." in told else told


def _spool(verdict: Verdict | None, left: Mapping[str, Quantity], *, alone: bool) -> str:
    change = verdict.change("spin_time_s") if verdict else None
    if change is None:
        return f"the spool spins {value_in_words(left['spin_time'], 's')}" if "spin_time" in left else ""
    if not change.real:
        return "whether the spool spins longer or shorter than before cannot be told" if alone else ""
    longer = change.difference.value > 0
    if isinstance(verdict, SpinsCompared) and not verdict.to_rest:
        return f"the spool loses speed {'more slowly' if longer else 'faster'} than before"
    way = "longer" if longer else "shorter"
    found, now = (value_in_words(each, "s") for each in (change.found, change.left))
    return f"the spool spins {way}, {now} where it was {found}"


def _on_a_scale(force: Quantity, unit: str) -> str:
    return value_in_words(force, unit).removesuffix(unit) + ON_A_SCALE[unit]
