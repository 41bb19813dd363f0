"""The tables of standard parts as what a piece may be: limits by each standard's own rule, and how common on reels."""

from collections.abc import Callable, Collection
from functools import cache
from itertools import groupby
from math import ceil, floor

from levelwind.core.errors import InputError
from levelwind.core.fits import kinds
from levelwind.core.fits.model import Candidate, Form, Span, Table
from levelwind.core.fits.nuts import association_nut_mm, iso_nut_mm, unified_nut_mm
from levelwind.reference.bearings import BearingRow, bearings
from levelwind.reference.rings import ORingRow, RetainingRingRow, orings, retaining_rings
from levelwind.reference.springs import DiscSpringRow, disc_springs
from levelwind.reference.threads import StandardThread, standard_threads

NUTS = {"ISO metric": iso_nut_mm, "Unified": unified_nut_mm, "British Association": association_nut_mm}
STANDARDS = {"ISO metric": "ISO 965-1", "Unified": "ASME B1.1", "British Association": "BS 93"}

THREADS_MET = {"coarse": 3.0, "UNC": 2.0, "UNF": 1.5, "BA": 1.0, "fine": 1.0, "obsolete": 0.7}
"""How common the threads of each series are on reels: coarse metric and numbered inch screws hold most together (common
practice, no source)."""

LARGE_THREAD_MM, LARGE_MET = 6.5, 0.5
"""mm; screws of a reel are seldom larger, and those of a star or a crank are (common practice, no source)."""

NO_ALLOWANCE = 0.2
"""How many screws are of a class that may be as large as its name: the closer ones (common practice, no source)."""

SMALL_BEARING_MM, LARGE_BEARING_MET = 12.0, 0.4
"""mm of bore; a larger bearing is seldom met (common practice, no source)."""

USUAL_BEARINGS = ("623", "MR74", "MR84", "MR85", "MR104", "MR105", "MR115", "MR117", "MR126", "MR128", "693", "683",
                  "695", "6700")  # fmt: skip
USUAL_BEARING_MET = 3.0
"""How much more often these sizes are met: spool, handle and pinion bearings (common practice, no source)."""

LARGE_ORING_MM, LARGE_ORING_MET = 40.0, 0.3
"""mm inside; a larger O-ring goes round no shaft or cap of a reel but the largest (common practice, no source)."""

ECLIP_MET = 2.0
"""E-clips are met about twice as often as circlips (common practice, no source)."""

RING_WIDTH_MM, RING_BORE_MM, RING_OUTER_MM = 0.12, 0.008, 0.009
"""mm; by how much width, bore and outside of a bearing of the normal class may lie below nominal: ISO 492, from memory
(bores of 2.5 to 18 mm, outsides up to 30 mm)."""

JAW_FLAT_MM = 0.3
"""mm; how wide the flats of a caliper's inner jaws are (from memory). In a bore D they read w^2 / D / 2 too little."""

SHAFT_MM, GROOVE_MM, CLIP_MM = 0.1, 0.06, 0.05
"""mm; by how much a clip's shaft, its groove (h11) and its own thickness may lie below nominal: from memory."""

WHOLE_SHAFTS = 0.7
"""How many of the shafts under an E-clip are of whole millimetres (common practice, no source)."""

SECTION_MM = ((2.0, 0.08), (3.0, 0.09), (10.0, 0.10))
"""mm; up to which section how much an O-ring's section may be off: ISO 3601-1, from memory."""

SPRING_MM, SHEET_MM = 0.18, 0.03
"""mm; by how much a disc spring's diameters (h12, H12) and sheet may be off: DIN 2093, from memory."""

FLANGED, CLOSURES = 0.15, {"open": 0.4, "shields": 1.0, "seals": 1.0}
"""How common flanged bearings are beside plain ones, and open ones beside closed ones (common practice, no source)."""

CLOSED = {"open": "open", "shields": "shielded or sealed", "seals": "sealed"}


INSIDE = {"thread": "nut", "clip": "bore_clip"}
"""Kinds that are another one inside."""


def kind_of(piece: str, *, inside: bool, measured: Collection[str]) -> str:
    """Which kind of table a piece is looked for in: a clip of which neither shaft nor bore is known may be either.

    >>> kind_of("clip", inside=False, measured={"groove"}), kind_of("clip", inside=True, measured={"groove"})
    ('any_clip', 'bore_clip')
    """
    if inside:
        return INSIDE[piece]
    return "any_clip" if piece == "clip" and "shaft" not in measured else piece


@cache
def table(key: str) -> Table:
    """All candidates of a kind: thread, nut, bearing, oring, clip, bore_clip, any_clip or spring.

    >>> len(table("thread").candidates), table("bearing").candidates[0].name
    (98, 'MR31')
    """
    if key not in BUILDERS:
        raise InputError("kind of piece", repr(key), "one of " + ", ".join(BUILDERS))
    return Table(kinds.KINDS[key], BUILDERS[key]())


def _basis(provenance: str) -> str:
    return "from memory" if "memory" in provenance else provenance


def _met(row: StandardThread) -> float:
    return THREADS_MET[row.series] * (LARGE_MET if 1000 * row.major_diameter_m > LARGE_THREAD_MM else 1.0)


def _threads() -> tuple[Candidate, ...]:
    return tuple(
        Candidate(
            row.designation,
            STANDARDS[row.system],
            _thread_forms(row),
            _met(row),
            _basis(row.provenance),
            row.source,
        )
        for row in standard_threads()
    )


def _thread_forms(row: StandardThread) -> tuple[Form, ...]:
    """With the allowance below size that the table's class has, and without one: 6h, 3A, close bolts."""
    low, high = row.major_limits_m
    allowance, pitch = row.major_diameter_m - high, _mm(row.pitch_m, row.pitch_m)
    usual = Form("", (_mm(low, high), pitch), 1 - NO_ALLOWANCE)
    if not allowance:
        return (usual,)
    return usual, Form("", (_mm(low + allowance, high + allowance), pitch), NO_ALLOWANCE)


def _nuts() -> tuple[Candidate, ...]:
    return tuple(
        Candidate(
            row.designation,
            STANDARDS[row.system],
            (
                Form(
                    "",
                    (NUTS[row.system](1000 * row.major_diameter_m, 1000 * row.pitch_m), _mm(row.pitch_m, row.pitch_m)),
                ),
            ),
            _met(row),
            "computed",
            f"limits of the nut computed by the rule of {STANDARDS[row.system]}",
        )
        for row in standard_threads()
    )


def _mm(low_m: float, high_m: float) -> Span:
    return round(1000 * low_m, 6), round(1000 * high_m, 6)


def _bearings() -> tuple[Candidate, ...]:
    by_size = groupby(sorted(bearings(), key=lambda row: row.size), lambda row: row.size)
    rows = {size: tuple(each) for size, each in by_size}
    return tuple(_bearing(size, rows[size]) for size in dict.fromkeys(row.size for row in bearings()))


def _bearing(size: str, rows: tuple[BearingRow, ...]) -> Candidate:
    common = USUAL_BEARING_MET if size in USUAL_BEARINGS else 1.0
    common *= LARGE_BEARING_MET if rows[0].bore_mm > SMALL_BEARING_MM else 1.0
    forms = tuple(
        Form(
            CLOSED[row.closure]
            + (f", flange of {row.flange_mm:g} mm" if row.flange_mm else "")
            + f", {row.width_mm:g} mm wide",
            (
                (row.bore_mm - RING_BORE_MM - JAW_FLAT_MM**2 / row.bore_mm / 2, row.bore_mm),
                (row.outer_mm - RING_OUTER_MM, row.outer_mm),
                (row.width_mm - RING_WIDTH_MM, row.width_mm),
            ),
            CLOSURES[row.closure] * (FLANGED if row.flange_mm else 1.0),
        )
        for row in rows
    )
    standard = "ISO 15" if rows[0].system == "metric" else "inch series"
    return Candidate(size, standard, forms, common, _basis(rows[0].provenance), rows[0].source)


def _orings() -> tuple[Candidate, ...]:
    return tuple(
        Candidate(
            row.designation,
            row.standard,
            (Form("", _oring_limits(row)),),
            LARGE_ORING_MET if row.inside_mm > LARGE_ORING_MM else 1.0,
            _basis(row.provenance),
            row.source,
        )
        for row in orings()
    )


def _oring_limits(row: ORingRow) -> tuple[Span, Span]:
    """Inside diameter within 0.009 d^0.95 + 0.11 mm either way: ISO 3601-1, from memory."""
    inside = 0.009 * row.inside_mm**0.95 + 0.11
    section = next(off for most, off in SECTION_MM if row.section_mm <= most)
    return (row.inside_mm - inside, row.inside_mm + inside), (row.section_mm - section, row.section_mm + section)


def _clips(standards: tuple[str, ...]) -> tuple[Candidate, ...]:
    return tuple(
        Candidate(
            row.designation,
            row.standard,
            _clip_forms(row),
            ECLIP_MET if row.shaft_mm else 1.0,
            _basis(row.provenance),
            row.source,
        )
        for row in retaining_rings()
        if row.standard in standards
    )


def _clip_forms(row: RetainingRingRow) -> tuple[Form, ...]:
    """One for each shaft that it may sit on: an E-clip has several, mostly whole ones."""
    thickness = row.thickness_mm - min(CLIP_MM, row.thickness_mm / 10), row.thickness_mm
    if row.standard == "DIN 472":
        groove = row.groove_mm, row.groove_mm + 2 * GROOVE_MM
        return (Form("", ((row.nominal_mm, row.nominal_mm + SHAFT_MM), groove, thickness)),)
    groove = row.groove_mm - GROOVE_MM, row.groove_mm
    if row.shaft_mm is None:
        return (Form("", ((row.nominal_mm - SHAFT_MM, row.nominal_mm), groove, thickness)),)
    least, most = row.shaft_mm
    whole = [float(each) for each in range(ceil(least), floor(most) + 1)]
    forms = [Form("", ((each - SHAFT_MM, each), groove, thickness), WHOLE_SHAFTS / len(whole)) for each in whole]
    return (*forms, Form("", (row.shaft_mm, groove, thickness), 1 - WHOLE_SHAFTS))


def disc_spring_name(row: DiscSpringRow) -> str:
    return f"DIN 2093 {row.series} {row.outer_mm:g}x{row.inner_mm:g}x{row.thickness_mm:g}"


def _springs() -> tuple[Candidate, ...]:
    return tuple(
        Candidate(
            disc_spring_name(row),
            "DIN 2093",
            (
                Form(
                    f"free height {row.free_mm:g} mm",
                    (
                        (row.outer_mm - SPRING_MM, row.outer_mm),
                        (row.inner_mm, row.inner_mm + SPRING_MM),
                        (row.thickness_mm - SHEET_MM, row.thickness_mm + SHEET_MM),
                    ),
                ),
            ),
            1.0,
            _basis(row.provenance),
            row.source,
        )
        for row in {(each.series, each.outer_mm, each.thickness_mm): each for each in disc_springs()}.values()
    )


BUILDERS: dict[str, Callable[[], tuple[Candidate, ...]]] = {
    "thread": _threads,
    "nut": _nuts,
    "bearing": _bearings,
    "oring": _orings,
    "clip": lambda: _clips(("DIN 471", "DIN 6799")),
    "bore_clip": lambda: _clips(("DIN 472",)),
    "any_clip": lambda: _clips(("DIN 471", "DIN 6799", "DIN 472")),
    "spring": _springs,
}
