"""What a reading's row holds, as core's own types: the one place that knows its keys and those of older versions."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, TypeVar

from levelwind.core.codec import as_stored, from_stored
from levelwind.core.notes import AS_WRITTEN, Amount, Note, Question, newtons
from levelwind.core.pull import Pull, PullResult
from levelwind.core.pull import model as pull
from levelwind.core.pull.figure import Trace
from levelwind.core.quantities import Quantity
from levelwind.core.spin import SpinResult
from levelwind.core.spin import model as spin
from levelwind.core.spin.bearing import BearingHeard
from levelwind.shop.models import Reading, Work

GAUGED = {"end_float": "end_float_mm", "turn": "torque_Nm"}
"""Under which key a kind that is only typed keeps its number."""

LAWS = {"pull": pull.LAW, "spin": spin.LAW}
"""By which law each kind of recording is read today."""
FIRST_LAW = 1
"""That of the recordings read before the law was written down beside what it said."""

T = TypeVar("T")


def law_of(reading: Reading) -> int | None:
    """By which version of the law a recording was read; None for what was typed, or could not be read at all."""
    if not (reading.file and reading.analysis and reading.kind in LAWS):
        return None
    return int(reading.analysis.get("law", FIRST_LAW))


def read_by_an_earlier_law(reading: Reading) -> bool:
    law = law_of(reading)
    return law is not None and law < LAWS[reading.kind]


def all_read_by_an_earlier_law(tags: Sequence[str] = ()) -> tuple[Reading, ...]:
    """Those of the book that count, or of some jobs by their tags, the oldest first.

    Not those that today's law has tried: it gave no number.
    """
    rows = Reading.objects.filter(kind__in=LAWS, struck_out=False, work=Work.READ).exclude(file="")
    rows = rows.filter(job__tag__in=tags) if tags else rows
    some = rows.select_related("job").prefetch_related("corrections")
    return tuple(row for row in some if read_by_an_earlier_law(row) and not any(map(_by_today, row.corrections.all())))


def _by_today(reading: Reading) -> bool:
    return law_of(reading) == LAWS.get(reading.kind)


def pull_result(reading: Reading) -> PullResult:
    """Of one that gave a number; of one that was refused, without pulls."""
    return _read(PullResult, reading, _with_notes(reading.analysis))


def trace(reading: Reading) -> Trace | None:
    """A log as it is drawn; None for what was typed."""
    kept = reading.analysis.get("figure") or {}
    points = [(float(at_s), float(force_N)) for at_s, force_N in kept.get("points", ())]
    result = pull_result(reading)
    placed = tuple(_placed(pull, kept.get("marks", ())) for pull in result.pulls)
    return Trace(points, replace(result, pulls=placed)) if len(points) > 1 else None


def _placed(pull: Pull, marks: Sequence[Mapping[str, Any]]) -> Pull:
    """Where breakaway and steady slip lie was first kept as marks beside the points, not with each pull."""
    if pull.start_s is None or pull.end_s is None:
        return pull
    own = {mark["kind"]: mark for mark in marks if pull.start_s - 0.01 <= mark["from_s"] <= pull.end_s + 0.01}
    broke, ran = own.get("breakaway"), own.get("running")
    return replace(
        pull,
        breakaway_s=broke["from_s"] if broke else pull.breakaway_s,
        steady_s=(ran["from_s"], ran["to_s"]) if ran else pull.steady_s,
    )


def spin_result(reading: Reading) -> SpinResult:
    """Of one that gave a number; of one that was refused, without spins."""
    return _read(SpinResult, reading, _with_notes(_with_spins(reading.analysis)))


def _with_spins(stored: Mapping[str, Any]) -> Mapping[str, Any]:
    """A stop-watch's first shape had a time and no spins."""
    if "spin_time_s" not in stored or stored.get("spins"):
        return stored
    return {**stored, "spins": [{"spin_time_s": stored["spin_time_s"]}]}


def cautions_of(reading: Reading) -> tuple[Note, ...]:
    """Of the recording as a whole."""
    return _read(tuple[Note, ...], reading, _with_notes(reading.analysis).get("cautions", ()))


def questions_of(reading: Reading) -> tuple[Question, ...]:
    """What the recording cannot tell and a person can."""
    return _read(tuple[Question, ...], reading, _with_notes(reading.analysis).get("questions", ()))


def refusal_of(reading: Reading) -> Note:
    """Why it gave no number. Its row has that in newtons too, for whoever looks into the book."""
    stored = reading.analysis.get("refused")
    if stored:
        return _read(Note, reading, stored)
    named = reading.file_name and reading.file_name in reading.refused
    return Note.as_written(reading.refused) if named else _older(reading.refused)


def _with_notes(stored: Any, key: str = "") -> Any:
    """Cautions and questions were once strings."""
    if isinstance(stored, str):
        return as_stored(_older(stored)) if key in ("cautions", "words") else stored
    if isinstance(stored, list):
        return [_with_notes(each, key) for each in stored]
    if isinstance(stored, Mapping) and "template" not in stored:
        return {name: _with_notes(each, name) for name, each in stored.items() if name != "figure"}
    return stored


_NEWTONS = re.compile(r"(?<![\w.+-])(\d+)(?:\.(\d+))?(e[+-]\d+)? N\b(?! m)")


def _older(words: str) -> Note:
    """A sentence of an earlier version, which wrote its newtons out: they are shown in the shop's unit all the same."""
    forces: dict[str, Amount] = {}

    def carried(found: re.Match[str]) -> str:
        name, decimals = f"force_{len(forces)}", len(found[2] or "")
        as_power = {"figures": len(found[1]) + decimals} if found[3] else {"decimals": decimals}
        forces[name] = newtons(float(found[0].removesuffix(" N")), **as_power)
        return f"{{{name}}}"

    template = _NEWTONS.sub(carried, words.replace("{", "(").replace("}", ")"))
    return Note.of(AS_WRITTEN, template, **forces) if forces else Note.as_written(words)


def gauged(reading: Reading) -> Quantity:
    """End float in mm, handle torque in N m."""
    return _read(Quantity, reading, reading.analysis[GAUGED[reading.kind]])


def bearing_heard(reading: Reading) -> BearingHeard | None:
    """What was heard of the spool's bearing, where a sound was listened to for one."""
    stored = reading.analysis.get("bearing")
    return _read(BearingHeard, reading, _with_notes(stored)) if stored else None


def _read(kind: type[T], reading: Reading, stored: object) -> T:
    return from_stored(kind, stored, f"what the book holds of the {reading}")
