"""What a recording asks of a person, and what a person may put right in it, as forms are drawn from it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from PIL import Image

from levelwind.core.notes import Question
from levelwind.core.quantities import NEWTONS_PER
from levelwind.core.writing import written
from levelwind.shop.models import Reading
from levelwind.shop.readings.selectors.options import options_in_words
from levelwind.shop.readings.selectors.stored import questions_of, spin_result
from levelwind.web.readings.bearing import Heard, heard_in, insides_asked
from levelwind.web.readings.corrections import KEYS, UNITS, spans_of

OWN = {"marks": "another number", "slowed": "another number of times slower"}
STILL_PX = 288
"""How wide a still is shown where no script can say how wide it is shown: it fits the narrowest phone."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One button: what is sent and what is written on it."""

    value: str
    words: str


@dataclass(frozen=True, slots=True)
class Ask:
    """One question; ``own`` names a number that may be typed where no button fits."""

    about: str
    words: str
    answers: tuple[Answer, ...]
    own: str = ""


@dataclass(frozen=True, slots=True)
class Still:
    """A picture out of the film with the spool found and the mark drawn on it, in pixels."""

    wide: int
    high: int
    disc: Mapping[str, float] | None
    mark: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class Ends:
    """From where to where, in the recording's seconds, as two fields show it; number 0 is a pull yet to be marked."""

    number: int
    from_s: str
    to_s: str

    @property
    def about(self) -> str:
        return f"span {self.number}"


@dataclass(frozen=True, slots=True)
class Said:
    """What was said of a recording before, and may be taken back."""

    about: str
    words: str


@dataclass(frozen=True, slots=True)
class Corrections:
    """What may be put right: only what this kind of recording has."""

    said: tuple[Said, ...]
    pulls: tuple[Ends, ...]
    new_pull: Ends | None
    spin: Ends | None
    marks: str | None
    slowed: str | None
    units: tuple[Answer, ...]
    capacity: str | None
    still: Still | None
    bearing: Mapping[str, Any] | None
    heard: Heard | None
    refused: str
    """About what a refused form was, "span 2" where about the second pull: it stays open."""

    @property
    def any(self) -> bool:
        return bool(self.pulls or self.new_pull or self.spin or self.units or self.still or self.bearing)


def asked(reading: Reading, unit: str) -> tuple[Ask, ...]:
    """What the recording itself cannot tell, the likeliest answers first. ``unit``: the shop's unit of force."""
    return tuple(_ask(question, unit) for question in questions_of(reading))


def _ask(question: Question, unit: str) -> Ask:
    answers = tuple(
        Answer(each if isinstance(each, str) else written(each), _words(question.about, each))
        for each in question.answers
    )
    return Ask(question.about, question.words.words(unit), answers, OWN.get(question.about, ""))


def _words(about: str, answer: Any) -> str:
    if about == "unit":
        return UNITS.get(answer, str(answer))
    if about == "slowed":
        return "as fast as life" if answer == 1 else f"{written(answer)} times slower"
    return written(answer)


def corrections(reading: Reading, unit: str, typed: Mapping[str, Any]) -> Corrections:
    """Nothing of a file that could not be read at all; ``typed``, what a refused form sent, stands in its fields."""
    could_be_read = bool(reading.analysis or reading.corrects_id)
    on_file = bool(reading.file) and reading.work == "read" and could_be_read
    pull, spin = on_file and reading.kind == "pull", on_file and reading.kind == "spin"
    about = typed.get("about", "")
    capacity = reading.options.get("capacity_N") or reading.analysis.get("given", {}).get("capacity_N")
    return Corrections(
        said=tuple(_said(reading, unit)) if on_file else (),
        pulls=_pulls(reading, typed) if pull else (),
        new_pull=_new_pull(typed) if pull and reading.analysis.get("figure") else None,
        spin=_spin_ends(reading, typed) if spin else None,
        marks=_kept(typed, about == "marks", "value", reading.options.get("marks", "")) if spin else None,
        slowed=_kept(typed, about == "slowed", "value", reading.options.get("slowed", "")) if reading.still else None,
        units=tuple(Answer(each, words) for each, words in UNITS.items()) if pull else (),
        capacity=_kept(typed, about == "capacity", "value", _in(unit, capacity)) if pull else None,
        still=_still(reading) if on_file and reading.still else None,
        bearing=insides_asked(reading, typed if about == "bearing" else {})
        if spin and _is_sound(reading) and not reading.refused
        else None,
        heard=heard_in(reading),
        refused=f"span {typed.get('pull', 0)}" if about == "span" else about,
    )


def _said(reading: Reading, unit: str) -> list[Said]:
    said = {key: value for key, value in reading.options.items() if key != "bearing" or _is_sound(reading)}
    return [Said(about, options_in_words({key: said[key]}, unit)) for about, key in KEYS.items() if key in said]


def _in(unit: str, newtons: float | None) -> str:
    return "" if newtons is None else written(newtons / NEWTONS_PER[unit], ".4g")


def _kept(typed: Mapping[str, Any], refused: bool, name: str, otherwise: object) -> str:
    return str(typed.get(name, "")) if refused else str(otherwise)


def _ends(number: int, span: Any, typed: Mapping[str, Any]) -> Ends:
    if typed:
        return Ends(number, str(typed.get("from_s", "")), str(typed.get("to_s", "")))
    return Ends(number, written(span[0], ".2f"), written(span[1], ".2f"))


def _pulls(reading: Reading, typed: Mapping[str, Any]) -> tuple[Ends, ...]:
    refused = typed.get("pull") if typed.get("what") == "move" else None
    spans = spans_of(reading)
    return tuple(_ends(n, span, typed if refused == str(n) else {}) for n, span in enumerate(spans, 1))


def _new_pull(typed: Mapping[str, Any]) -> Ends:
    return Ends(0, str(typed.get("from_s", "")), str(typed.get("to_s", ""))) if typed.get("what") == "add" else _EMPTY


_EMPTY = Ends(0, "", "")


def _spin_ends(reading: Reading, typed: Mapping[str, Any]) -> Ends:
    if typed.get("about") == "between":
        return _ends(1, (), typed)
    part = reading.options.get("between_s")
    spans = [(s.start_s, s.end_s) for s in spin_result(reading).spins if s.start_s is not None and s.end_s is not None]
    if part or not spans:
        return _ends(1, part, {}) if part else _EMPTY
    return _ends(1, max(spans, key=lambda span: span[1] - span[0]), {})


def _is_sound(reading: Reading) -> bool:
    return bool(reading.analysis.get("source") == "sound")


def _still(reading: Reading) -> Still | None:
    try:
        with reading.still.open("rb") as file, Image.open(file) as picture:
            wide, high = picture.size
    except (OSError, ValueError):
        return None
    disc = reading.analysis.get("disc")
    mark = reading.options.get("mark_at")
    tall = round(STILL_PX * high / wide)
    ring = {"x": STILL_PX * disc["x"], "y": tall * disc["y"], "r": STILL_PX * disc["r"]} if disc else None
    return Still(STILL_PX, tall, ring, (STILL_PX * mark[0], tall * mark[1]) if mark else None)
