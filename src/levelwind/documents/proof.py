"""The proof sheet, the before and after: what was wrong, what was done, and the readings that show it."""

from dataclasses import dataclass
from datetime import date

from levelwind.core.figures import Bar, Figure
from levelwind.core.quantities import Quantity, Shown, shown
from levelwind.documents import press
from levelwind.documents.figures import PAPER, bar, key, on_paper
from levelwind.documents.letterhead import JobHead, Shop, head
from levelwind.documents.letters import FACES
from levelwind.documents.old_parts import OldPart, listed
from levelwind.documents.picture import Picture

ADVICE = "A drag setting and a drag limit worked out on paper are advice, not a guarantee."
INTERVALS = "In brackets: the range that holds the true value nine times in ten."

PAGE_MM = {"a4": 178.0, "us-letter": 183.9}
"""How wide the words of a sheet stand, by layouts/house.typ."""

WIDE, GAP_MM = 1.6, 8.0
"""How many times as wide as what stands beside it a figure is, and how far from it; as layouts/proof.typ has it."""

PX_PER_MM = 14 / 8 * 72 / 25.4
"""A figure's words are 14 px high in it and 8 points on the sheet."""

PULL_MM, SPIN_MM = 50.0, 46.0
"""How high their figures stand."""

SHARE_MM, CHECK_MM = 22.0, 34.0
"""How long the bars are of a share of the loss, and of a drag computed and measured."""

Measured = Quantity | str | None
"""A number with its interval, or what was seen in words, or nothing measured."""


@dataclass(frozen=True, slots=True)
class PicturePair:
    """The same view as found and as left; either may be missing."""

    as_found: Picture | None
    as_left: Picture | None
    caption: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """One row of the table, both readings in ``unit``; ``outside`` says which limit is not kept, if one is not."""

    name: str
    as_found: Measured
    as_left: Measured
    unit: str = ""
    note: str = ""
    outside: str = ""


@dataclass(frozen=True, slots=True)
class LossShare:
    """One of what took the spool's speed away, in percent of the whole loss; ``note`` says what the change is worth."""

    name: str
    as_found: Quantity | None
    as_left: Quantity | None
    note: str = ""
    found_told: Shown | None = None
    """As shown: all losses at one moment add up to 100."""
    left_told: Shown | None = None


@dataclass(frozen=True, slots=True)
class DragCheck:
    """What the drag was computed to do beside what it did, both in ``unit``; ``where`` says for which setting."""

    computed: Quantity
    measured: Quantity
    unit: str = "N"
    where: str = ""


@dataclass(frozen=True, slots=True)
class SpoolState:
    """Line tension at one filling of the spool; ``line_radius_mm`` of the outermost turn lets it be drawn to scale."""

    name: str
    tension: Quantity
    line_radius_mm: float | None = None


@dataclass(frozen=True, slots=True)
class DragSetting:
    """The setting for the line on the reel: tension in ``unit`` at full, half and near-empty spool, and how to set it.

    With the arbor's and the flange's radius, and each state's, the spool is drawn to scale.
    """

    line: str
    states: tuple[SpoolState, ...]
    unit: str = "N"
    how: str = ""
    arbor_radius_mm: float | None = None
    flange_radius_mm: float | None = None


@dataclass(frozen=True, slots=True)
class ProofSheet:
    """What goes home with the reel. Everything but the head may be missing.

    ``in_short``: what the readings say in a sentence that a stranger understands, with which the sheet opens.
    ``verdict``: the bench's own words. ``measured``: what the readings say, figure by figure, on the back.
    ``spool_now``: what slows the spool, beside the shares that say so. ``others``: where it stands among the shop's
    reels of its pattern.
    ``bear_in_mind``: the readings' own cautions.
    """

    shop: Shop
    job: JobHead
    dated: date
    wrong: str
    verdict: str
    measured: str = ""
    complaint: str = ""
    done: tuple[str, ...] = ()
    rests_on: tuple[str, ...] = ()
    readings: tuple[Reading, ...] = ()
    curves: Figure | None = None
    speeds: Figure | None = None
    shares: tuple[LossShare, ...] = ()
    spool_now: str = ""
    others: tuple[str, ...] = ()
    bear_in_mind: tuple[str, ...] = ()
    pictures: tuple[PicturePair, ...] = ()
    old_parts: tuple[OldPart, ...] = ()
    drag_check: DragCheck | None = None
    setting: DragSetting | None = None
    cautions: tuple[str, ...] = ()
    in_short: str = ""


def render(sheet: ProofSheet) -> bytes:
    return press.pdf(layout(sheet))


def layout(sheet: ProofSheet) -> press.Forme:
    computed = sheet.drag_check or sheet.setting
    data = {
        **head("Proof sheet", sheet.shop, sheet.job, sheet.dated),
        "wrong": sheet.wrong,
        "complaint": sheet.complaint,
        "in_short": sheet.in_short,
        "verdict": sheet.verdict,
        "measured": sheet.measured,
        "done": sheet.done,
        "rests_on": sheet.rests_on,
        "readings": [_reading(row) for row in sheet.readings],
        "intervals": INTERVALS,
        "curves": _figure(sheet.curves, sheet.shop, PULL_MM, beside=sheet.setting is not None),
        "speeds": _figure(sheet.speeds, sheet.shop, SPIN_MM, beside=bool(sheet.shares)),
        "shares": [_share(row) for row in sheet.shares],
        "spool_now": sheet.spool_now,
        "others": sheet.others,
        "bear_in_mind": sheet.bear_in_mind,
        "pictures": [{"as_found": p.as_found, "as_left": p.as_left, "caption": p.caption} for p in sheet.pictures],
        "old_parts": listed(sheet.old_parts),
        "drag_check": sheet.drag_check and _drag_check(sheet.drag_check),
        "setting": sheet.setting and _setting(sheet.setting),
        "cautions": (*sheet.cautions, *((ADVICE,) if computed else ())),
    }
    return press.Forme("proof", data, sheet.dated)


def _reading(row: Reading) -> dict[str, object]:
    return {
        "name": row.name,
        "note": row.note,
        "outside": row.outside,
        "as_found": _measured(row.as_found, row.unit),
        "as_left": _measured(row.as_left, row.unit),
    }


def _measured(reading: Measured, unit: str) -> dict[str, str] | None:
    """The value with its unit and, apart, its interval, so that a column of values stays a column."""
    if reading is None:
        return None
    if isinstance(reading, str):
        return {"value": reading, "interval": ""}
    rounded = shown(reading, unit)
    return {"value": rounded.value, "interval": rounded.interval}


def _figure(figure: Figure | None, shop: Shop, height_mm: float, beside: bool) -> dict[str, object] | None:
    """Drawn as wide as its place on the sheet, which it shares with what stands ``beside`` it, and its key."""
    if figure is None:
        return None
    page = PAGE_MM[shop.paper]
    width = (page - GAP_MM) * WIDE / (WIDE + 1) if beside else page
    drawn = on_paper(figure, width * PX_PER_MM, height_mm * PX_PER_MM, FACES)
    keyed = [{"drawn": entry.svg.encode(), "words": entry.words} for entry in key(figure, PAPER)]
    return {"drawn": drawn, "says": figure.says, "key": keyed}


def _share(row: LossShare) -> dict[str, object]:
    moments = (("as found", row.as_found, row.found_told), ("as left", row.as_left, row.left_told))
    bars = [(name, Bar(name.replace(" ", "-"), q, 100.0, whole=True), told) for name, q, told in moments if q]
    return {
        "name": row.name,
        "note": row.note,
        "bars": [_bar(name, "%", drawn, SHARE_MM, told) for name, drawn, told in bars],
    }


def _bar(name: str, unit: str, drawn: Bar, width_mm: float, told: Shown | None = None) -> dict[str, object]:
    said = told or shown(drawn.read, unit)
    svg = bar(drawn, PAPER, width_mm * PX_PER_MM).encode()
    return {"name": name, "said": said.value, "interval": said.interval, "drawn": svg, "width_mm": width_mm}


def _drag_check(check: DragCheck) -> dict[str, object]:
    end = max(check.computed.high, check.measured.high)
    bars = [("computed", "computed", check.computed), ("measured", "as-left", check.measured)]
    return {
        "where": check.where,
        "bars": [_bar(name, check.unit, Bar(role, q, end), CHECK_MM) for name, role, q in bars],
    }


def _setting(setting: DragSetting) -> dict[str, object]:
    return {
        "line": setting.line,
        "how": setting.how,
        "states": [
            {"name": s.name, "tension": _measured(s.tension, setting.unit), "fill": _fill(setting, s)}
            for s in setting.states
        ],
    }


def _fill(setting: DragSetting, state: SpoolState) -> dict[str, float] | None:
    """The spool at this filling as fractions of its flange, or None where a radius is unknown or makes no sense."""
    arbor, flange, line = setting.arbor_radius_mm, setting.flange_radius_mm, state.line_radius_mm
    if arbor is None or flange is None or line is None or not 0 < arbor <= line <= flange:
        return None
    return {"arbor": arbor / flange, "line": line / flange}
