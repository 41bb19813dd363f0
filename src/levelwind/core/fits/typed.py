"""A length as a person types it: "9/32", ".112", "3,5", "40tpi", "2.81mm"."""

import re
import unicodedata
from collections.abc import Mapping

from levelwind.core.errors import InputError
from levelwind.core.fits.model import Kind, Measurement
from levelwind.core.quantities import METRES_PER
from levelwind.core.writing import written

MM_PER = {unit: 1000 * metres for unit, metres in METRES_PER.items()} | {"thou": METRES_PER["in"]}
"""Millimetres in one unit; a thou is a thousandth of an inch."""

UNITS = {
    "": "", "mm": "mm", "millimetre": "mm", "millimetres": "mm", "millimeter": "mm", "millimeters": "mm", "cm": "cm",
    "in": "in", "in.": "in", "inch": "in", "inches": "in", '"': "in", "″": "in", "”": "in", "''": "in", "′′": "in",
    "thou": "thou", "thousandths": "thou",
}  # fmt: skip
"""How a unit of length is written on a bench, in small letters."""

NUMBER = r"(?:(?P<whole>\d+) )?(?P<over>\d+)/(?P<under>\d+)|(?P<plain>\d+(?:[.,]\d*)?|[.,]\d+)"
LENGTH = re.compile(rf"(?:{NUMBER}) ?(?P<unit>[a-z.]*|\"|″|”|''|′′)")
PER_INCH = re.compile(r"(?P<count>\d+(?:[.,]\d+)?) ?(?P<said>tpi|t\.p\.i\.|/ ?in(?:ch)?|(?:threads )?(?:an|per) inch)?")
THOUSANDTHS = re.compile(r"\.\d{3}")
OVER = re.compile(r"(?P<length>.+?) ?(?:over|across) ?(?P<count>\d+)(?: threads?)?")

LONGEST = 40
"""Letters that are read: a length with its unit has some ten."""

MOST_MM = 300.0
"""mm; no piece of a reel is longer (common practice, no source)."""

RULER_STEP_MM = MM_PER["in"] / 64
"""mm; a fraction of an inch is read to the nearest 64th (common practice, no source)."""

PARTS = (2, 4, 8, 16, 32, 64, 128)
"""What an inch is divided into."""

WHOLE_STEP_MM = 0.1
"""mm; who types a whole number has rounded what was read, to about a tenth (common practice, no source)."""

FEWEST_PER_INCH, MOST_PER_INCH = 4.0, 150.0
"""Threads an inch: from coarser than any screw of a reel to finer than 16BA, which has 134."""

BARE_PER_INCH = 10.0
"""A pitch without a unit from here on is threads an inch: no screw of a reel has a pitch of 10 mm."""

FEWEST_OVER, MOST_OVER = 2, 50
"""Threads measured at once."""

EXAMPLES = "a length such as 2.81 mm, 3,5, 9/32, .112 (inches)"
PITCHES = "a pitch such as 0.5 mm, 40 tpi or 3.81 mm over 6"


def length(text: str, what: str = "length") -> Measurement:
    """The length with its unit. Without one, a fraction and thousandths (".112") are inches, all else is mm.

    Raises InputError where it is no length, or not one above 0 and up to 300 mm.

    >>> [round(length(each).value_mm, 4) for each in ("9/32", ".112", "3,5", "2.81mm", "1 1/4 in", '0.25"', "112 thou")]
    [7.1437, 2.8448, 3.5, 2.81, 31.75, 6.35, 2.8448]
    >>> length("3 mm mm", "bore")
    Traceback (most recent call last):
    levelwind.core.errors.InputError: bore was '3 mm mm'; allowed is a length such as 2.81 mm, 3,5, 9/32, .112 (inches)
    """
    plain = _plain(text)
    found = LENGTH.fullmatch(plain.lstrip("-−"))
    unit = UNITS.get(found["unit"]) if found else None
    if found is None or unit is None or (found["under"] and int(found["under"]) not in PARTS):
        raise InputError(what, repr(text[:LONGEST]), EXAMPLES)
    unit = unit or ("in" if found["under"] or THOUSANDTHS.match(plain) else "mm")
    value = MM_PER[unit] * _number(found)
    if not 0 < value <= MOST_MM or plain[0] in "-−":
        raise InputError(what, repr(text[:LONGEST]), f"more than 0 and up to {written(MOST_MM)} mm")
    return Measurement(value, _step_mm(found, unit), text.strip(), unit)


def pitch(text: str, what: str = "pitch") -> Measurement:
    """A pitch in mm, from a length, threads an inch, or a length over several threads.

    >>> [round(pitch(each).value_mm, 4) for each in ("40tpi", "0.5", ".025", "3.81mm over 6", "32")]
    [0.635, 0.5, 0.635, 0.635, 0.7937]
    >>> pitch("400 tpi")
    Traceback (most recent call last):
    levelwind.core.errors.InputError: pitch was '400 tpi'; allowed is 4 to 150 threads an inch
    """
    plain = _plain(text)
    if counted := OVER.fullmatch(plain):
        return _over(length(counted["length"], what), int(counted["count"][:4]), text, what)
    inch = PER_INCH.fullmatch(plain)
    if inch and (inch["said"] or _decimal(inch["count"]) >= BARE_PER_INCH):
        count = _decimal(inch["count"])
        if not FEWEST_PER_INCH <= count <= MOST_PER_INCH:
            raise InputError(
                what, repr(text[:LONGEST]), f"{written(FEWEST_PER_INCH)} to {written(MOST_PER_INCH)} threads an inch"
            )
        return Measurement(MM_PER["in"] / count, 0.0, text.strip(), "tpi")
    try:
        return length(text, what)
    except InputError as error:
        raise InputError(what, error.was, error.allowed if error.allowed != EXAMPLES else PITCHES) from None


def measured(kind: Kind, texts: Mapping[str, str]) -> dict[str, Measurement]:
    """Each measurement of a kind as it was typed, by its key; what was left empty is left out.

    >>> from levelwind.core.fits.kinds import THREAD
    >>> [each.value_mm for each in measured(THREAD, {"diameter": "2.81mm", "pitch": " "}).values()]
    [2.81]
    """
    return {
        key: (pitch if key == "pitch" else length)(text, kind.dimension(key).name)
        for key, text in texts.items()
        if text.strip()
    }


def _over(whole: Measurement, count: int, text: str, what: str) -> Measurement:
    if not FEWEST_OVER <= count <= MOST_OVER:
        raise InputError(f"threads under the {what}", count, f"{FEWEST_OVER} to {MOST_OVER}")
    return Measurement(whole.value_mm / count, whole.step_mm, text.strip(), whole.unit, count)


def _plain(text: str) -> str:
    """Small letters, one space between words, ¼ as 1/4; at most as long as is read.

    >>> _plain(" 1¼ IN "), _plain("½")
    ('1 1/4 in', '1/2')
    """
    spread = "".join(f" {letter}" if unicodedata.category(letter) == "No" else letter for letter in text[: LONGEST + 1])
    plain = " ".join(unicodedata.normalize("NFKC", spread).replace("⁄", "/").casefold().split())
    return plain if len(text.strip()) <= LONGEST else ""


def _number(found: re.Match[str]) -> float:
    if found["under"]:
        return int(found["whole"] or 0) + int(found["over"]) / int(found["under"])
    return _decimal(found["plain"])


def _decimal(plain: str) -> float:
    return float(plain.replace(",", "."))


def _step_mm(found: re.Match[str], unit: str) -> float:
    """The last figure behind the point; without one a ruler's step, a thou's own, or a tenth of a millimetre.

    >>> [length(each).step_mm for each in ("2.81", "3", "9/32", "112 thou")]
    [0.01, 0.1, 0.396875, 0.0254]
    """
    behind = (found["plain"] or "").replace(",", ".").partition(".")[2]
    if behind:
        return float(MM_PER[unit] * 10.0 ** -len(behind))
    return {"in": RULER_STEP_MM, "thou": MM_PER["thou"]}.get(unit, WHOLE_STEP_MM)
