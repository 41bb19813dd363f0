"""What the bench is told about the line: tension at full, half and near empty, where it breaks, how worked out."""

from dataclasses import dataclass, field

from levelwind.core.codec import UNSHOWN
from levelwind.core.line.fill import NEAR_EMPTY, FillCurve, left_at_strength_m
from levelwind.core.line.model import Filled
from levelwind.core.line.radius import radius_at_length_m
from levelwind.core.notes import Amount, Note, newtons, plain
from levelwind.core.quantities import Quantity, value_in_words
from levelwind.core.writing import written

FILLS = (("full", 1.0), ("half", 0.5), ("near empty", NEAR_EMPTY))
"""Fills told, with the share of the line that is left at each: our choice."""


@dataclass(frozen=True, slots=True)
class LineRow:
    """Tension at one fill, and the row of "how was this worked out?" that goes with it."""

    fill: str
    left_m: float
    radius_m: float
    tension_N: Quantity
    formula: str = field(metadata=UNSHOWN)
    numbers: str = field(metadata=UNSHOWN)
    source: str = field(metadata=UNSHOWN)


@dataclass(frozen=True, slots=True)
class LineReport:
    """Rows for the three fills, the length left at which the line would part, and all of it in words."""

    rows: tuple[LineRow, ...]
    parts_at_left_m: float | None
    may_part_at_left_m: float | None
    sentences: tuple[Note, ...]

    def shown(self) -> dict[str, object]:
        return {
            "fills": self.rows,
            "parts_at_left_m": self.parts_at_left_m,
            "may_part_at_left_m": self.may_part_at_left_m,
            "sentences": self.sentences,
        }


def line_report(filled: Filled, curve: FillCurve, torque_Nm: float, guides: float = 1.0) -> LineReport:
    """Say a fill curve in words; ``torque_Nm`` and ``guides`` are the middle values it was made from.

    >>> from levelwind.core.line.fill import fill_curve
    >>> from levelwind.core.line.model import Line, Spool
    >>> filled = Filled(Spool(0.010, 0.025, 0.030), Line("0.40 mm nylon", 0.40e-3, 75.6), 200.0)
    >>> line_report(filled, fill_curve(filled, 0.60), 0.60).sentences[0].words()
    'At the line: 28.6 N full, 36.5 N half, 51.8 N near empty.'
    """
    rows = tuple(_row(filled, curve, name, share, torque_Nm, guides) for name, share in FILLS)
    high = FillCurve(curve.left_m, curve.radius_m, curve.high_N, curve.high_N, curve.high_N)
    strength = filled.line.strength_N
    parts, may_part = (None if strength is None else left_at_strength_m(each, strength) for each in (curve, high))
    return LineReport(rows, parts, may_part, _sentences(filled, rows, parts, may_part))


def _row(filled: Filled, curve: FillCurve, name: str, share: float, torque_Nm: float, guides: float) -> LineRow:
    left = share * filled.length_m
    radius = float(radius_at_length_m(filled, left))
    middle = torque_Nm / radius * guides
    between = curve.at(left)
    tension = Quantity(middle, min(between.low, middle), max(between.high, middle))
    past = f" × {written(guides, '.3g')}" if guides != 1 else ""
    torque, force = value_in_words(Quantity.exact(torque_Nm), "N m"), value_in_words(tension, "N")
    worked = f"{torque} / {written(1000 * radius, '.4g')} mm{past} = {force}"
    return LineRow(
        name,
        left,
        radius,
        tension,
        "P = T / r" + (" × e^(μθ) of the guides" if past else "") + ", r² = ra² + V / (π w)",
        f"{written(left, '.4g')} m left, r = {written(1000 * radius, '.4g')} mm; {worked}",
        f"geometry of the spool; packing {written(filled.packing, '.3f')} of the room; guides: Euler and Eytelwein",
    )


def _sentences(
    filled: Filled, rows: tuple[LineRow, ...], parts: float | None, may_part: float | None
) -> tuple[Note, ...]:
    fills = {row.fill.replace(" ", "_"): _force(row.tension_N) for row in rows}
    words = ", ".join(f"{{{key}}} {row.fill}" for key, row in zip(fills, rows, strict=True))
    said = [Note.of("at_the_line", f"At the line: {words}.", **fills)]
    name, strength = filled.line.name, filled.line.strength_N
    left_m = may_part if parts is None else parts
    if strength is None or left_m is None:
        return tuple(said)
    words = (
        "It may pass the strength of {line}, {strength}, from {left} left on."
        if parts is None
        else "It passes the strength of {line}, {strength}, with {left} left on the spool."
    )
    key, carried = "may_part" if parts is None else "parts", newtons(strength, decimals=0)
    return *said, Note.of(key, words, line=name, strength=carried, left=plain(left_m, "m", decimals=0))


def _force(tension: Quantity) -> Amount:
    return newtons(tension.value, figures=3) if tension.low == tension.high else Amount(tension, "N")
