"""The invented pattern book: who made what, when, in what sizes, and where a reel differs from its family."""

from dataclasses import dataclass, field
from typing import Any

from levelwind.core.quantities import NEWTONS_PER
from levelwind.demo.names import MAKERS
from levelwind.reference.families import family
from levelwind.shop.editing import fields_save
from levelwind.shop.models import Build, Pattern
from levelwind.shop.patterns.services.builds import build_save
from levelwind.shop.patterns.services.patterns import pattern_add, pattern_drag_set, pattern_place_set

LEVEL_WIND = ("pawl_cap", "pawl", "worm_clip", "worm_gear", "worm", "carriage", "guide_bar")
BEARING = ("bearing_balls", "bearing_ball_mm", "bearing_pitch_mm")
CLAMP = ("clamp_nuts", "clamp")


@dataclass(frozen=True, slots=True)
class Line:
    """What such a reel is usually filled with; typical sizes of a kind of line, no maker's."""

    name: str
    strength_N: float
    diameter_mm: float


LBF_N = NEWTONS_PER["lbf"]
NYLON_20 = Line("20 lb nylon", 20 * LBF_N, 0.45)
NYLON_30 = Line("30 lb nylon", 30 * LBF_N, 0.55)
NYLON_50 = Line("50 lb nylon", 50 * LBF_N, 0.71)
NYLON_80 = Line("80 lb nylon", 80 * LBF_N, 0.90)
NYLON_6 = Line("6 lb nylon", 6 * LBF_N, 0.22)
NYLON_10 = Line("10 lb nylon", 10 * LBF_N, 0.28)
NYLON_14 = Line("14 lb nylon", 14 * LBF_N, 0.35)
NYLON_17 = Line("17 lb nylon", 17 * LBF_N, 0.40)
BRAID_30 = Line("30 lb braid", 30 * LBF_N, 0.28)


@dataclass(frozen=True, slots=True)
class Made:
    """A build: its years, and what it has of its family's builds."""

    name: str
    years: tuple[int, int | None]
    built_as: tuple[str, ...] = ()
    serials: tuple[str, str] = ("", "")


@dataclass(frozen=True, slots=True)
class Kind:
    """A pattern of the book. ``scale`` is its drag's size over the family's, ``lining`` its washers' material.

    ``set_to`` is the share of the line's strength its drag is set to: a quarter to a third, common practice, no source.
    ``ticks`` is how often its clicker sounds in one turn of the spool, ``bearing`` the balls of a spool bearing, their
    diameter and that of the circle they run on, in mm.
    """

    code: str
    maker: str
    model: str
    size: str
    years: tuple[int, int | None]
    family: str
    ratio: float
    spool_mm: tuple[float, float, float]
    line: Line
    absent: tuple[str, ...] = ()
    scale: float = 1.0
    lining: str = ""
    set_to: float = 0.28
    end_float_mm: tuple[float, float] = (0.1, 0.4)
    turn_Nm: float = 0.25
    ticks: int | None = None
    bearing: tuple[int, float, float] | None = None
    numbers: dict[str, str] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)
    note: str = ""
    builds: tuple[Made, ...] = ()

    @property
    def reel(self) -> str:
        return f"{self.maker} {self.model} {self.size}"

    @property
    def is_old(self) -> bool:
        """Old enough to have come down from somebody."""
        return self.years[0] < 1965


def _star(code: str, maker: str, model: str, size: str, years: tuple[int, int | None], **more: Any) -> Kind:
    more.setdefault("absent", LEVEL_WIND)
    more.setdefault("ticks", 12)
    return Kind(code, maker, model, size, years, "star_drag", **more)


def _fixed(code: str, maker: str, model: str, size: str, years: tuple[int, int | None], **more: Any) -> Kind:
    more.setdefault("end_float_mm", (0.0, 0.2))
    return Kind(code, maker, model, size, years, "fixed_spool", **more)


def _old_fixed(code: str, maker: str, model: str, size: str, years: tuple[int, int | None], **more: Any) -> Kind:
    """With a dog and its ratchet; a bail, whole or half, and no manual pick-up."""
    more.setdefault("end_float_mm", (0.0, 0.2))
    return Kind(code, maker, model, size, years, "fixed_spool_vintage", absent=("manual_pickup",), **more)


def _numbers(start: str, **places: str) -> dict[str, str]:
    return {place: start + number for place, number in places.items()}


S, F, L, W = "Skellaby", "Oxenby Forge", "Lodderwick", "Wrackmouth"
V, E, K = "Varrenholm", "Estermoor", "Kessandry"
NO_SHIMS = ("end_shims",)

COMMON = (
    _star("S25", S, "Strandel", "25", (1952, 1988), ratio=2.8, spool_mm=(22, 48, 38), line=NYLON_20, scale=0.85,
          numbers=_numbers("ST25-", main_gear="31", pinion="27", dog_spring="37A", clicker_spring="59")),
    _star("S35", S, "Strandel", "35", (1952, 1991), ratio=3.2, spool_mm=(28, 60, 44), line=NYLON_30,
          numbers=_numbers("ST35-", main_gear="31", pinion="27", yoke="44", dog="36", head_bearing="71"),
          ticks=16, bearing=(7, 2.0, 8.0),
          note="From 1968 the dog has a coil spring; before, a blade. The bridge screws differ by 1 mm."),
    _star("S45", S, "Strandel", "45", (1957, 1984), ratio=2.4, spool_mm=(34, 70, 60), line=NYLON_50, scale=1.18,
          numbers=_numbers("ST45-", main_gear="31", pinion="27", yoke="44")),
    _star("SH2", S, "Hollin", "2", (1961, 1979), ratio=3.5, spool_mm=(26, 52, 48), line=NYLON_30, absent=CLAMP,
          numbers=_numbers("HO2-", pawl="86", worm="83", worm_gear="84", pinion="27")),
    _star("O2", F, "Deepgill", "No. 2", (1931, 1971), ratio=2.5, spool_mm=(24, 56, 46), line=NYLON_30, scale=0.85,
          lining="leather", absent=LEVEL_WIND + NO_SHIMS, note="Leather from the works. Often relined."),
    _star("O5", F, "Deepgill", "No. 5", (1931, 1979), ratio=2.5, spool_mm=(30, 68, 54), line=NYLON_50, scale=1.18,
          lining="leather", absent=LEVEL_WIND + NO_SHIMS, numbers=_numbers("D5/", dog="31", dog_spring="32", star="8"),
          builds=(Made("bushings", (1931, 1954), ("bushings",)), Made("bearings", (1955, 1979)))),
    _star("O8", F, "Deepgill", "No. 8", (1949, 1976), ratio=2.2, spool_mm=(40, 92, 70), line=NYLON_80, scale=1.3,
          lining="leather", absent=LEVEL_WIND + NO_SHIMS, counts={"head_screws": 8, "tail_screws": 8},
          builds=(Made("dog under the bridge", (1949, 1961), ("dog_under_bridge",), ("1", "21400")),
                  Made("dog on a screw", (1962, 1976), serials=("21401", "38000")))),
    _star("L18", L, "Sarnock", "18", (1983, 2009), ratio=4.2, spool_mm=(26, 54, 44), line=NYLON_30,
          numbers=_numbers("LS18.", main_gear="210", pinion="211", yoke="214", dog="220", jack="216"),
          builds=(Made("six plate screws", (1983, 1995)),
                  Made("single-screw plate", (1996, 2009), ("single_screw_plate",)))),
    _star("L22", L, "Sarnock", "22 L", (1986, 2012), ratio=4.2, spool_mm=(26, 56, 42), line=NYLON_30, absent=CLAMP,
          numbers=_numbers("LS22.", pawl="301", worm="300", worm_gear="302", main_gear="210", pinion="211")),
    _star("L28", L, "Sarnock", "28", (1983, 2012), ratio=3.8, spool_mm=(32, 66, 50), line=NYLON_50, scale=1.18,
          numbers=_numbers("LS28.", main_gear="210", pinion="211", yoke="214"), bearing=(7, 2.381, 9.5)),
    _star("C12", W, "Cobble Ness", "12", (2004, None), ratio=5.1, spool_mm=(20, 44, 30), line=NYLON_20, scale=0.85,
          absent=LEVEL_WIND + CLAMP, end_float_mm=(0.05, 0.2)),
    _star("C20", W, "Cobble Ness", "20", (2004, None), ratio=4.6, spool_mm=(26, 54, 34), line=NYLON_30,
          absent=LEVEL_WIND + CLAMP, end_float_mm=(0.05, 0.2),
          numbers=_numbers("CN20-", main_gear="17", pinion="18", dog="26"), ticks=20, bearing=(8, 1.588, 7.0)),
    _old_fixed("V40", V, "Ulbren", "40", (1964, 1991), ratio=4.6, spool_mm=(34, 46, 14), line=NYLON_10, scale=0.85,
               numbers=_numbers("U4-", bail_spring="31", line_roller="27")),
    _old_fixed("V60", V, "Ulbren", "60", (1964, 1991), ratio=4.4, spool_mm=(42, 56, 18), line=NYLON_14,
               numbers=_numbers("U6-", bail_spring="31", main_gear="44", pinion="14"),
               note="The rotor nut has a left-hand thread."),
    _fixed("V80", V, "Ulbren", "80", (1992, 2003), ratio=4.1, spool_mm=(52, 68, 24), line=NYLON_17, scale=1.2,
           absent=("knob_bearings",), numbers=_numbers("U8-", bail_spring="31", main_gear="44", pinion="14")),
    _fixed("E30", E, "Hethering", "30", (1991, None), ratio=5.4, spool_mm=(32, 44, 13), line=NYLON_10, scale=0.85),
    _fixed("E50", E, "Hethering", "50", (1991, None), ratio=5.2, spool_mm=(40, 54, 18), line=NYLON_14,
           numbers=_numbers("H50.", clutch="44", pinion="21", main_gear="20", line_roller="63")),
    _fixed("E80", E, "Hethering", "80", (1995, None), ratio=4.9, spool_mm=(54, 70, 28), line=BRAID_30, scale=1.2,
           numbers=_numbers("H80.", clutch="44", pinion="21", main_gear="20", line_roller="63")),
    _fixed("W45", W, "Slaithe", "45", (2008, None), ratio=5.7, spool_mm=(38, 50, 16), line=NYLON_14),
    _fixed("W65", W, "Slaithe", "65", (2008, None), ratio=5.3, spool_mm=(46, 62, 22), line=BRAID_30, scale=1.2,
           numbers=_numbers("SL65-", clutch="30", main_gear="17", pinion="18")),
    _old_fixed("K1", K, "Dovane", "1", (1955, 1969), ratio=3.4, spool_mm=(32, 44, 12), line=NYLON_10, scale=0.85,
               lining="leather", note="The bail is a half one in the first years: look before you order."),
    _old_fixed("K2", K, "Dovane", "2", (1958, 1976), ratio=3.2, spool_mm=(40, 54, 16), line=NYLON_14,
               lining="leather"),
)  # fmt: skip
"""What the post brings all year: star drags and fixed spools."""

SELDOM = (
    Kind("WL50", W, "Harl Deep", "50", (1999, None), "lever_drag", 3.5, (38, 80, 48), NYLON_50, ticks=24,
         end_float_mm=(0.02, 0.1), note="The preset knob is set before the cam's clip goes on."),
    Kind("WP10", W, "Withyeel", "10", (2011, None), "low_profile", 6.6, (20, 33, 24), NYLON_14,
         absent=("worm_clip",), end_float_mm=(0.0, 0.1)),
    Kind("WF7", W, "Beckfoss", "7", (2002, None), "fly", 1.0, (60, 95, 22), NYLON_10, end_float_mm=(0.0, 0.2),
         builds=(Made("one disc", (2002, 2008)), Made("three discs", (2009, 2016), ("stacked_drag",)),
                 Made("sealed", (2017, None), ("sealed_drag",)))),
    Kind("K5", K, "Lintrel", "5", (1956, 1976), "fly_click", 1.0, (45, 80, 20), NYLON_6, set_to=0.025,
         end_float_mm=(0.1, 0.5), note="Two pawls: one for each hand. Only one is laid against the wheel."),
    Kind("V30R", V, "Rathlow", "30", (1988, 2003), "fixed_spool_rear", 5.2, (34, 46, 14), NYLON_10,
         end_float_mm=(0.0, 0.2)),
)  # fmt: skip
"""What comes now and then: one of each other way to hold a spool."""

LATELY = (
    Kind("K0", K, "Sprayhead", "0", (1951, 1963), "fixed_spool_vintage", 3.3, (30, 42, 12), NYLON_6, lining="leather",
         absent=("bail_wire",), end_float_mm=(0.0, 0.2), note="Manual pick-up. The dog lies under the rotor."),
    Kind("K9", K, "Hoodwell", "9", (1962, 1985), "closed_face", 3.1, (28, 40, 12), NYLON_10, end_float_mm=(0.0, 0.2)),
    Kind("W900", W, "Lowdeep", "900", (2006, None), "electric", 3.6, (45, 90, 60), BRAID_30, end_float_mm=(0.05, 0.3),
         turn_Nm=0.4, note="Its counter is exchanged whole."),
    Kind("WL80", W, "Harl Deep", "80 II", (2003, None), "lever_drag_two_speed", 3.8, (48, 110, 62), NYLON_80, ticks=24,
         end_float_mm=(0.02, 0.1)),
    Kind("L6", L, "Calder Round", "6", (1974, 1999), "round_casting", 5.3, (20, 40, 32), NYLON_14,
         absent=("clicker_spring", "clicker_tongue", "clicker_button", "clicker_ratchet"), end_float_mm=(0.05, 0.2)),
    Kind("E40F", E, "Hethering Run", "40", (1998, None), "fixed_spool_free_run", 5.0, (36, 50, 16), NYLON_14,
         end_float_mm=(0.0, 0.2)),
    Kind("O3", F, "Tarnsyke", "3½ in", (1908, 1939), "single_action", 1.0, (40, 84, 24), NYLON_14, set_to=0.025,
         end_float_mm=(0.1, 0.5), note="Brass throughout."),
    Kind("V4P", V, "Glide", "4½ in", (1949, 1971), "centre_pin", 1.0, (60, 110, 22), NYLON_6, set_to=0.02,
         absent=("pin_bearings",), end_float_mm=(0.1, 0.4)),
    Kind("S6S", S, "Sandwick", "6 in", (1953, 1990), "side_cast", 1.0, (60, 150, 26), NYLON_20, set_to=0.02,
         end_float_mm=(0.1, 0.6)),
)  # fmt: skip
"""What came for the first time these days: one of each way that the shop had not met."""

KINDS = (*COMMON, *SELDOM, *LATELY)
BY_CODE = {kind.code: kind for kind in KINDS}


def pattern_book() -> dict[str, Pattern]:
    """Write every pattern into the book; by its code."""
    return {kind.code: _write(kind) for kind in KINDS}


def _write(kind: Kind) -> Pattern:
    pattern = pattern_add(maker=kind.maker, model=kind.model, size=kind.size, family_key=kind.family)
    arbor, flange, width = kind.spool_mm
    facts = {
        "year_from": kind.years[0],
        "year_to": kind.years[1],
        "gear_ratio": kind.ratio,
        "spool_arbor_mm": arbor,
        "spool_flange_mm": flange,
        "spool_width_mm": width,
        "end_float_low_mm": kind.end_float_mm[0],
        "end_float_high_mm": kind.end_float_mm[1],
        "turn_most_Nm": kind.turn_Nm,
        "ticks_a_turn": kind.ticks,
        **(dict(zip(BEARING, kind.bearing, strict=True)) if kind.bearing else {}),
        "note": kind.note or f"{dict(MAKERS)[kind.maker]}.",
    }
    fields_save(instance=pattern, was={name: getattr(pattern, name) for name in facts}, now=facts)
    seldom = {place.key for place in family(kind.family).places if place.seldom}
    for place in seldom.symmetric_difference(kind.absent):
        pattern_place_set(pattern=pattern, key=place, absent=place in kind.absent)
    for place in {**kind.numbers, **kind.counts}:
        number, count = kind.numbers.get(place, ""), kind.counts.get(place)
        pattern_place_set(pattern=pattern, key=place, part_number=number, count=count)
    for made in kind.builds:
        build_save(
            build=Build(pattern=pattern),
            name=made.name,
            year_from=made.years[0],
            year_to=made.years[1],
            serial_from=made.serials[0],
            serial_to=made.serials[1],
            built_as=made.built_as,
        )
    if kind.scale != 1.0 or kind.lining:
        pattern_drag_set(pattern=pattern, stack=_own_stack(kind))
    return pattern


def _own_stack(kind: Kind) -> dict[str, Any]:
    """The family's stack at this reel's size and with its lining."""
    plain = family(kind.family).drag
    return {**plain, "bodies": [_own_body(kind, body) for body in plain["bodies"]]}


def _own_body(kind: Kind, body: dict[str, Any]) -> dict[str, Any]:
    sizes = {name: round(body[name] * kind.scale, 1) for name in ("outer_diameter_mm", "inner_diameter_mm")}
    own = {**body, **sizes}
    if body["kind"] == "friction":
        own.pop("friction", None)
        own["material"] = kind.lining or own["material"]
    return own
