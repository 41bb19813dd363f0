"""An answer in words and as plain data."""

from typing import Any

from levelwind.core.fits.model import Answer, Found, Measurement, Next, Span
from levelwind.core.fits.typed import MM_PER
from levelwind.core.quantities import percent
from levelwind.core.writing import retold, written

COUNTS = {1: "one", 2: "two", 3: "three", 4: "four", 5: "five", 6: "six"}

AS_ITS_OWN = 0.005
"""A pitch nearer than this share to the standard's is said to be its own: our choice."""

BA_ANGLE = (
    "A BA thread has an angle of 47.5 degrees, metric and inch threads have 60: hold a leaf gauge of each in it "
    "against the light."
)
HAND = (
    "Right or left hand is not told: hold it upright; a thread that rises to the right is right-hand, to the left "
    "left-hand."
)
NUT_LIMITS = "Limits of nut threads are computed: ISO 965-1 and ASME B1.1 from memory, BA by the rule of BS 93."
FROM_MEMORY = "The sizes of {names} are from memory."
ALIKE = "A caliper does not always tell {first} from {others}: their limits lie too near one another."
NONE = "It is most likely none of the standard sizes in the tables."
NONE_OF_SHELF = "It is most likely none of the washers on the shelf."


def as_dict(answer: Answer) -> dict[str, Any]:
    """What ``levelwind fits --json`` prints."""
    return {
        "kind": "fits",
        "status": "none" if answer.is_none else "ok",
        "candidates": [
            {
                "name": found.candidate.name,
                "standard": found.candidate.standard,
                "probability": round(found.probability, 4),
                "hand": answer.hand,
                "variants": variants(found),
                "why": why(answer, found),
            }
            for found in answer.found
        ],
        "none_probability": round(answer.none_probability, 4),
        "next_measurement": _next_as_dict(answer.next),
        "cautions": cautions(answer),
    }


def as_text(answer: Answer) -> list[str]:
    """The same for a person."""
    hand = f", {answer.hand} hand" if answer.hand else ""
    lines = []
    for found in answer.found:
        lines.append(f"{percent(found.probability):>10}  {found.candidate.name}{hand} ({found.candidate.standard})")
        lines += [" " * 12 + each for each in (why(answer, found), "; ".join(variants(found))) if each]
    lines.append(f"{percent(answer.none_probability):>10}  none of these")
    if answer.next:
        lines.append(f"Next: {next_words(answer.next)}.")
    return [*lines, *(f"Caution: {each}" for each in cautions(answer))]


def variants(found: Found) -> list[str]:
    """The forms that the measurements allow, the likeliest first."""
    return list(dict.fromkeys(retold(form.name) for form, _ in found.forms if form.name))


def why(answer: Answer, found: Found) -> str:
    """Each measurement beside what the standard makes, in the unit it was typed in."""
    limits = dict(zip((each.key for each in answer.kind.dimensions), found.forms[0][0].limits, strict=True))
    parts = []
    for key, reading in answer.measured.items():
        typed = reading.typed or f"{written(reading.value_mm)} mm"
        parts.append(f"{answer.kind.dimension(key).name} {typed} {_beside(reading, limits[key])}")
    return "; ".join(parts)


def next_words(following: Next) -> str:
    """What to measure, how well, and what that tells apart.

    >>> from levelwind.core.fits.kinds import THREAD
    >>> next_words(Next(THREAD.dimensions[1], 6, 0.038, False, ("5BA", "#5-40 UNC")))
    'measure over six threads, to within 0.03 mm; that tells 5BA from #5-40 UNC'
    """
    first, *others = following.tells
    within = f"{what(following)}, to within {written(_accuracy(following))} mm"
    return f"{within}; that tells {first} from {_joined(others, 'and')}"


def what(following: Next) -> str:
    if following.over > 1:
        return f"measure over {COUNTS.get(following.over, following.over)} threads"
    again = " again, with a micrometer" if following.finer else ""
    return f"measure the {following.dimension.name}{again}"


def cautions(answer: Answer) -> list[str]:
    """What to keep in mind about the answer, the weightiest first."""
    said = [NONE_OF_SHELF if answer.kind.key == "washer" else NONE] if answer.is_none else []
    if answer.alike:
        said.append(ALIKE.format(first=answer.found[0].candidate.name, others=_joined(answer.alike, "or")))
    standards = {found.candidate.standard for found in answer.found}
    if "BS 93" in standards and len(standards) > 1:
        said.append(BA_ANGLE)
    if answer.kind.key == "nut":
        said.append(NUT_LIMITS)
    remembered = [found.candidate.name for found in answer.found if found.candidate.basis == "from memory"]
    if remembered:
        said.append(FROM_MEMORY.format(names=_joined(remembered, "and")))
    return [*said, HAND] if answer.kind.handed and answer.hand is None else said


def in_unit(span: Span, unit: str) -> str:
    """Limits in the unit the person typed.

    >>> in_unit((2.6949, 2.8245), "mm"), in_unit((2.6949, 2.8245), "in"), in_unit((0.635, 0.635), "tpi")
    ('2.695 to 2.825 mm', '0.1061 to 0.1112 in', '40 tpi')
    """
    if unit == "tpi":
        ends = [written(MM_PER["in"] / each, ".3g") for each in reversed(span)]
    elif unit in ("in", "thou"):
        ends, unit = [written(each / MM_PER["in"], ".4f") for each in span], "in"
    else:
        ends, unit = [written(f"{each:.3f}".rstrip("0").rstrip("."), "") for each in span], "mm"
    return f"{ends[0]} {unit}" if ends[0] == ends[1] else f"{ends[0]} to {ends[1]} {unit}"


def _beside(reading: Measurement, span: Span) -> str:
    low, high = span
    made = in_unit(span, reading.unit)
    if low == high:
        own = abs(reading.value_mm / low - 1) < AS_ITS_OWN
        return f"is its {made}" if own else f"against its {made}"
    if low <= reading.value_mm <= high:
        return f"lies within {made}"
    off, side = (reading.value_mm - high, "over") if reading.value_mm > high else (low - reading.value_mm, "under")
    return f"is {in_unit((off, off), 'mm' if reading.unit == 'tpi' else reading.unit)} {side} {made}"


def _next_as_dict(following: Next | None) -> dict[str, Any] | None:
    if following is None:
        return None
    return {"what": what(following), "accuracy_mm": _accuracy(following), "tells": list(following.tells)}


def _accuracy(following: Next) -> float:
    """Down to whole hundredths, or thousandths where it is a fine one: off by that much still tells."""
    step = 0.01 if following.accuracy_mm >= 0.01 else 0.001
    return round(int(following.accuracy_mm / step + 1e-9) * step, 3)


def _joined(names: "list[str] | tuple[str, ...]", word: str) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} {word} {names[-1]}"
