"""What can lie on the invented shelf: eighty parts, where they lie, what they fit and who says so."""

from dataclasses import dataclass

from levelwind.demo.patterns import COMMON, KINDS

SMALL_STAR, MIDDLE_STAR, LARGE_STAR = ("S25", "O2", "C12"), ("S35", "SH2", "L18", "L22", "C20"), ("S45", "L28", "O5")
STARS = tuple(kind.code for kind in KINDS if kind.family == "star_drag")
FIXED = tuple(kind.code for kind in COMMON if kind.family != "star_drag")
SMALL_FIXED, MIDDLE_FIXED, LARGE_FIXED = ("V40", "E30", "K1"), ("V60", "E50", "W45", "K2"), ("V80", "E80", "W65")
FRICTIONS = ("friction_1", "friction_2", "friction_3")
UNDER = ("under_gear_washer",)
BEARING_STORE, SPRING_WORKS, SALVAGE, WORKS = 0, 1, 2, 3


@dataclass(frozen=True, slots=True)
class Fits:
    """Where a part serves: in every one of these patterns, in each of these places."""

    codes: tuple[str, ...]
    places: tuple[str, ...]
    basis: str = "declared"
    said_by: str = "the works' parts list"
    sure: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Item:
    """A part. ``start`` lay there a year ago; ``keep`` is what is bought up to; money in cents."""

    number: str
    name: str
    kind: str
    spot: str
    supplier: int
    cost: int
    price: int
    start: int
    keep: int
    fits: tuple[Fits, ...] = ()
    maker: str = ""
    material: str = ""
    sizes: dict[str, float] | None = None
    days: int = 9
    note: str = ""


def _ring(outer: float, inner: float, thickness: float) -> dict[str, float]:
    return {"outer diameter": outer, "inner diameter": inner, "thickness": thickness}


def _bearing(inner: float, outer: float, width: float) -> dict[str, float]:
    return {"inner diameter": inner, "outer diameter": outer, "width": width}


BENCH = "the bench"
WOVEN, FELT = "woven carbon lining", "felt"

WASHERS = (
    Item("BH-W24", "drag washer, woven, 24 mm", "friction_washer", "drawer 1", BEARING_STORE, 130, 380, 34, 24,
         (Fits(SMALL_STAR, FRICTIONS, "measured", BENCH),), material=WOVEN, sizes=_ring(24.2, 10.4, 1.0)),
    Item("BH-W285", "drag washer, woven, 28.5 mm", "friction_washer", "drawer 1", BEARING_STORE, 150, 420, 60, 40,
         (Fits(MIDDLE_STAR, FRICTIONS, "measured", BENCH),), material=WOVEN, sizes=_ring(28.5, 12.2, 1.0)),
    Item("BH-W336", "drag washer, woven, 33.6 mm", "friction_washer", "drawer 1", BEARING_STORE, 180, 480, 40, 30,
         (Fits(LARGE_STAR, FRICTIONS, "measured", BENCH),), material=WOVEN, sizes=_ring(33.6, 14.4, 1.0)),
    Item("BH-W37", "drag washer, woven, 37 mm", "friction_washer", "drawer 1", BEARING_STORE, 240, 620, 18, 9,
         (Fits(("O8",), FRICTIONS, "tried", BENCH),), material=WOVEN, sizes=_ring(37.0, 15.9, 1.2)),
    Item("BH-U22", "washer under the gear, woven, 22 mm", "friction_washer", "drawer 1", BEARING_STORE, 110, 320, 9, 5,
         (Fits(SMALL_STAR, UNDER, "measured", BENCH),), material=WOVEN, sizes=_ring(22.1, 10.4, 0.8)),
    Item("BH-U26", "washer under the gear, woven, 26 mm", "friction_washer", "drawer 1", BEARING_STORE, 120, 340, 16, 8,
         (Fits(MIDDLE_STAR, UNDER, "measured", BENCH),), material=WOVEN, sizes=_ring(26.0, 12.2, 0.8)),
    Item("BH-U307", "washer under the gear, woven, 30.7 mm", "friction_washer", "drawer 1", BEARING_STORE, 140, 380,
         11, 6, (Fits((*LARGE_STAR, "O8"), UNDER, "measured", BENCH),), material=WOVEN, sizes=_ring(30.7, 14.4, 0.8)),
    Item("BH-D66", "drag disc, woven, 66 mm", "friction_washer", "drawer 1", BEARING_STORE, 620, 1480, 3, 2,
         (Fits(("WL50",), ("friction_1",), "measured", BENCH),), material=WOVEN, sizes=_ring(66.0, 42.0, 1.2)),
    Item("BH-W25", "drag washer, woven, 25 mm, thin", "friction_washer", "drawer 1", BEARING_STORE, 140, 400, 4, 2,
         (Fits(("WP10",), ("friction_1",), "measured", BENCH),), material=WOVEN, sizes=_ring(25.0, 9.0, 0.8)),
    Item("BH-C30", "drag disc, cork, 30 mm", "friction_washer", "drawer 2", BEARING_STORE, 210, 620, 3, 2,
         (Fits(("WF7",), ("friction_1",), "measured", BENCH),), material="cork", sizes=_ring(30.0, 12.0, 2.0)),
    Item("BH-F18", "drag washer, felt, 18 mm", "friction_washer", "drawer 2", BEARING_STORE, 60, 240, 30, 24,
         (Fits(SMALL_FIXED, FRICTIONS, "measured", BENCH),), material=FELT, sizes=_ring(18.3, 6.8, 1.0)),
    Item("BH-F215", "drag washer, felt, 21.5 mm", "friction_washer", "drawer 2", BEARING_STORE, 70, 260, 45, 30,
         (Fits(MIDDLE_FIXED, FRICTIONS, "measured", BENCH),), material=FELT, sizes=_ring(21.5, 8.0, 1.0)),
    Item("BH-F258", "drag washer, felt, 25.8 mm", "friction_washer", "drawer 2", BEARING_STORE, 80, 300, 36, 24,
         (Fits(LARGE_FIXED, FRICTIONS, "measured", BENCH),), material=FELT, sizes=_ring(25.8, 9.6, 1.0)),
    Item("BH-L336", "drag washer, leather, 33.6 mm", "friction_washer", "drawer 1", BEARING_STORE, 210, 550, 9, 0,
         (Fits(("O5",), FRICTIONS, "tried", BENCH, 0.7, "For owners who want leather back."),), material="leather",
         sizes=_ring(33.6, 14.4, 1.6)),
    Item("BH-K28", "keyed drag washer, 28 mm", "keyed_washer", "drawer 3", SALVAGE, 260, 650, 8, 4,
         (Fits(MIDDLE_STAR, ("keyed_1",), "measured", BENCH),), material="stainless steel",
         sizes=_ring(28.0, 11.6, 1.0)),
    Item("BH-E285", "eared drag washer, 28.5 mm", "eared_washer", "drawer 3", SALVAGE, 280, 680, 6, 3,
         (Fits(MIDDLE_STAR, ("eared_1",), "measured", BENCH),), material="stainless steel",
         sizes=_ring(28.5, 12.6, 1.0)),
    Item("BH-SW18", "spring washer, 18 mm", "spring_washer", "drawer 3", SPRING_WORKS, 60, 180, 18, 8,
         (Fits((*MIDDLE_STAR, *LARGE_STAR), ("star_springs",), "measured", BENCH),),
         material="steel", sizes=_ring(18.0, 11.8, 0.6)),
)  # fmt: skip

BEARINGS = (
    Item("BB 5-11-4", "ball bearing 5 × 11 × 4 mm, shielded", "bearing", "drawer 5", BEARING_STORE, 190, 650, 14, 8,
         (Fits(SMALL_STAR, ("head_bearing", "tail_bearing"), "standard", "the caliper"),
          Fits(("E30", "E50", "E80", "W45", "W65"), ("roller_bearing",), "standard", "the caliper", 0.8)),
         sizes=_bearing(5, 11, 4), days=4),
    Item("BB 5-13-4", "ball bearing 5 × 13 × 4 mm, shielded", "bearing", "drawer 5", BEARING_STORE, 190, 650, 16, 8,
         (Fits(MIDDLE_STAR, ("head_bearing", "tail_bearing"), "standard", "the caliper"),),
         sizes=_bearing(5, 13, 4), days=4),
    Item("BB 6-15-5", "ball bearing 6 × 15 × 5 mm, shielded", "bearing", "drawer 5", BEARING_STORE, 210, 700, 10, 6,
         (Fits(("L28", "S45"), ("head_bearing", "tail_bearing"), "standard", "the caliper"),),
         sizes=_bearing(6, 15, 5), days=4),
    Item("BB 7-14-5", "ball bearing 7 × 14 × 5 mm, sealed", "bearing", "drawer 5", BEARING_STORE, 240, 750, 12, 6,
         (Fits(("E30", "E50", "W45", "V60"), ("cover_bearing", "body_bearing"), "standard", "the caliper"),),
         sizes=_bearing(7, 14, 5), days=4),
    Item("BB 7-17-5", "ball bearing 7 × 17 × 5 mm, sealed", "bearing", "drawer 5", BEARING_STORE, 240, 750, 8, 4,
         (Fits(("E50", "W45", "V60"), ("pinion_bearing",), "standard", "the caliper"),),
         sizes=_bearing(7, 17, 5), days=4),
    Item("BB 8-16-5", "ball bearing 8 × 16 × 5 mm, sealed", "bearing", "drawer 5", BEARING_STORE, 260, 780, 10, 4,
         (Fits(LARGE_FIXED, ("cover_bearing", "body_bearing"), "standard", "the caliper"),
          Fits(LARGE_FIXED, ("pinion_bearing",), "standard", "the caliper", 0.7)),
         sizes=_bearing(8, 16, 5), days=4),
    Item("BB 4-7-2.5", "ball bearing 4 × 7 × 2.5 mm", "bearing", "drawer 5", BEARING_STORE, 230, 720, 10, 6,
         (Fits(("E30", "W45"), ("roller_bearing",), "standard", "the caliper"),),
         sizes=_bearing(4, 7, 2.5), days=4),
    Item("BUSH-O5", "bronze spool bush, Deepgill", "bearing", "drawer 5", SALVAGE, 420, 1200, 5, 2,
         (Fits(("O2", "O5", "O8"), ("head_bearing", "tail_bearing"), "tried", BENCH),), material="bronze",
         sizes=_bearing(6, 14, 8), days=21, note="Turned by a neighbour with a lathe."),
)  # fmt: skip

STAR_PARTS = (
    Item("ST25-37A", "dog spring, coil", "spring", "box S", SPRING_WORKS, 40, 250, 9, 4,
         (Fits(("S35",), ("dog_spring",), "tried", BENCH, note="After 1968."),), "Skellaby"),
    Item("ST35-36", "dog", "dog", "box S", SALVAGE, 260, 900, 5, 2, (Fits(("S25",), ("dog",), "tried", BENCH),),
         "Skellaby", days=18),
    Item("ST35-31", "main gear", "gear", "box S", SALVAGE, 1250, 2900, 3, 1, (), "Skellaby", days=24),
    Item("ST35-27", "pinion", "gear", "box S", SALVAGE, 700, 1650, 4, 2, (Fits(("SH2",), ("pinion",), "measured",
         BENCH, 0.75, "0.3 mm longer: shim the yoke."),), "Skellaby", days=24),
    Item("ST35-44", "pinion yoke", "yoke", "box S", SALVAGE, 210, 700, 8, 4, (Fits(("S25", "S45"), ("yoke",), "tried",
         BENCH),), "Skellaby", material="bronze", days=18),
    Item("ST-YS", "yoke springs, pair", "spring", "box S", SPRING_WORKS, 60, 300, 14, 6,
         (Fits(("S25", "S35", "S45", "SH2"), ("yoke_springs",)),), "Skellaby"),
    Item("ST25-27", "pinion", "gear", "box S", SALVAGE, 650, 1550, 2, 1, (), "Skellaby", days=24),
    Item("ST25-31", "main gear", "gear", "box S", SALVAGE, 1100, 2700, 0, 0, (), "Skellaby", days=24),
    Item("ST45-31", "main gear", "gear", "box S", SALVAGE, 1500, 3400, 0, 0, (), "Skellaby", days=30),
    Item("ST45-27", "pinion", "gear", "box S", SALVAGE, 800, 1900, 2, 1, (), "Skellaby", days=30),
    Item("ST25-59", "clicker spring", "spring", "box S", SPRING_WORKS, 45, 280, 7, 3,
         (Fits(("S35", "S45", "SH2"), ("clicker_spring",), "tried", BENCH),), "Skellaby"),
    Item("ST-58", "clicker tongue", "dog", "box S", SALVAGE, 140, 480, 4, 2,
         (Fits(("S25", "S35", "S45", "SH2"), ("clicker_tongue",)),), "Skellaby", days=18),
    Item("HO2-86", "level wind pawl", "pin", "box S", SALVAGE, 220, 750, 4, 2, (), "Skellaby", days=18),
    Item("HO2-83", "level wind worm", "shaft", "box S", SALVAGE, 900, 2100, 0, 0, (), "Skellaby", days=30),
    Item("D5/31", "dog", "dog", "box O", SALVAGE, 380, 1200, 3, 1,
         (Fits(("O2", "O8"), ("dog",), "tried", BENCH, 0.85),),
         "Oxenby Forge", days=28),
    Item("D5/32", "dog spring, blade", "spring", "box O", SPRING_WORKS, 70, 350, 6, 3,
         (Fits(("O2", "O8"), ("dog_spring",), "measured", BENCH),
          Fits(("S35",), ("dog_spring",), "tried", BENCH, 0.6, "Before 1968 only.")), "Oxenby Forge"),
    Item("D5/8", "star", "wheel", "box O", SALVAGE, 900, 2200, 0, 0, (), "Oxenby Forge", days=40),
    Item("D-PIN", "pinion, Deepgill", "gear", "box O", SALVAGE, 950, 2200, 2, 1,
         (Fits(("O2", "O5"), ("pinion",), "declared", "the works' parts list"),), "Oxenby Forge", days=40),
    Item("D-YOKE", "pinion yoke, Deepgill", "yoke", "box O", SALVAGE, 320, 950, 3, 1,
         (Fits(("O2", "O5", "O8"), ("yoke",), "declared", "the works' parts list"),), "Oxenby Forge", days=40),
    Item("D-CL", "clicker spring, Deepgill", "spring", "box O", SPRING_WORKS, 80, 380, 3, 2,
         (Fits(("O2", "O5", "O8"), ("clicker_spring",), "measured", BENCH),), "Oxenby Forge"),
    Item("LS18.220", "dog", "dog", "box L", SALVAGE, 280, 950, 4, 2, (Fits(("L22", "L28"), ("dog",)),), "Lodderwick"),
    Item("LS-DS", "dog spring, Sarnock", "spring", "box L", SPRING_WORKS, 40, 250, 8, 4,
         (Fits(("L18", "L22", "L28"), ("dog_spring",)),), "Lodderwick"),
    Item("LS18.210", "main gear", "gear", "box L", SALVAGE, 1350, 3100, 2, 1, (Fits(("L22",), ("main_gear",), "tried",
         BENCH),), "Lodderwick", days=20),
    Item("LS18.211", "pinion", "gear", "box L", SALVAGE, 720, 1700, 3, 1, (Fits(("L22",), ("pinion",), "tried",
         BENCH),), "Lodderwick", days=20),
    Item("LS18.214", "pinion yoke", "yoke", "box L", SALVAGE, 180, 620, 6, 3, (Fits(("L22", "L28"), ("yoke",)),),
         "Lodderwick"),
    Item("LS-YS", "yoke springs, pair, Sarnock", "spring", "box L", SPRING_WORKS, 55, 300, 9, 4,
         (Fits(("L18", "L22", "L28"), ("yoke_springs",)),), "Lodderwick"),
    Item("LS18.216", "jack", "lever", "box L", SALVAGE, 240, 780, 3, 1, (Fits(("L22", "L28"), ("jack",)),),
         "Lodderwick", days=20),
    Item("LS22.301", "level wind pawl", "pin", "box L", SALVAGE, 180, 650, 6, 3, (), "Lodderwick", days=14),
    Item("LS22.300", "level wind worm", "shaft", "box L", SALVAGE, 780, 1900, 0, 0, (), "Lodderwick", days=20),
    Item("LS28.210", "main gear", "gear", "box L", SALVAGE, 1500, 3400, 0, 0, (), "Lodderwick", days=20),
    Item("LS28.211", "pinion", "gear", "box L", SALVAGE, 780, 1850, 2, 1, (), "Lodderwick", days=20),
    Item("LS-CL", "clicker spring, Sarnock", "spring", "box L", SPRING_WORKS, 45, 280, 6, 3,
         (Fits(("L18", "L22", "L28"), ("clicker_spring",)),), "Lodderwick"),
    Item("CN20-17", "main gear", "gear", "box W", WORKS, 1400, 2800, 2, 1, (), "Wrackmouth", days=12),
    Item("CN20-18", "pinion", "gear", "box W", WORKS, 820, 1650, 3, 1, (), "Wrackmouth", days=12),
    Item("CN20-26", "dog", "dog", "box W", WORKS, 300, 700, 4, 2, (Fits(("C12",), ("dog",)),), "Wrackmouth", days=12),
    Item("CN-YK", "yoke, Cobble Ness", "yoke", "box W", WORKS, 240, 600, 4, 2, (Fits(("C12", "C20"), ("yoke",)),),
         "Wrackmouth", days=12),
    Item("CN-DS", "dog spring, Cobble Ness", "spring", "box W", WORKS, 60, 220, 5, 3,
         (Fits(("C12", "C20"), ("dog_spring",)),), "Wrackmouth", days=12),
)  # fmt: skip

FIXED_PARTS = (
    Item("U4-31", "bail spring", "spring", "box V", SPRING_WORKS, 55, 320, 10, 5, (Fits(("K1",), ("bail_spring",),
         "tried", BENCH, 0.8, "Trim the long leg by 2 mm."),), "Varrenholm"),
    Item("U6-31", "bail spring", "spring", "box V", SPRING_WORKS, 55, 320, 12, 6, (Fits(("K2",), ("bail_spring",),
         "tried", BENCH, 0.8),), "Varrenholm"),
    Item("U8-31", "bail spring", "spring", "box V", SPRING_WORKS, 65, 350, 8, 4, (), "Varrenholm"),
    Item("U4-27", "line roller", "roller", "box V", SALVAGE, 180, 650, 5, 2, (Fits(("K1",), ("line_roller",),
         "measured", BENCH, 0.7),), "Varrenholm", days=20),
    Item("U-LR", "line roller, Ulbren", "roller", "box V", SALVAGE, 210, 700, 5, 2,
         (Fits(("V60", "V80"), ("line_roller",)), Fits(("K2",), ("line_roller",), "measured", sure=0.7)),
         "Varrenholm", days=20),
    Item("U6-44", "main gear", "gear", "box V", SALVAGE, 1200, 2700, 2, 1, (), "Varrenholm", days=26),
    Item("U6-14", "pinion", "gear", "box V", SALVAGE, 700, 1600, 2, 1, (), "Varrenholm", days=26),
    Item("U8-44", "main gear", "gear", "box V", SALVAGE, 1350, 3000, 0, 0, (), "Varrenholm", days=26),
    Item("U8-14", "pinion", "gear", "box V", SALVAGE, 760, 1750, 0, 0, (), "Varrenholm", days=26),
    Item("U-TS", "bail trip spring, Ulbren", "spring", "box V", SPRING_WORKS, 45, 260, 8, 4,
         (Fits(("V40", "V60", "V80", "K1", "K2"), ("trip_spring",)),), "Varrenholm"),
    Item("U-SL", "slider, Ulbren", "plate", "box V", SALVAGE, 260, 850, 3, 1, (Fits(("V40", "V60"), ("slider",)),),
         "Varrenholm", days=26),
    Item("U-AR", "anti-reverse clutch, Ulbren 80", "bearing", "box V", SALVAGE, 820, 1900, 2, 1,
         (Fits(("V80",), ("clutch",)),), "Varrenholm", days=26),
    Item("U-DG", "anti-reverse dog, Ulbren", "dog", "box V", SALVAGE, 160, 520, 4, 2,
         (Fits(("V40", "V60"), ("ar_lever",)),), "Varrenholm", days=26),
    Item("H-BS", "bail spring, Hethering", "spring", "box E", SPRING_WORKS, 50, 300, 14, 6,
         (Fits(("E30", "E50", "E80"), ("bail_spring",)),), "Estermoor"),
    Item("H50.63", "line roller", "roller", "box E", SPRING_WORKS, 240, 720, 6, 3, (Fits(("E30",), ("line_roller",)),
         Fits(("W45",), ("line_roller",), "measured", BENCH, 0.75)), "Estermoor"),
    Item("H80.63", "line roller", "roller", "box E", SPRING_WORKS, 280, 800, 4, 2, (Fits(("W65",), ("line_roller",),
         "measured", BENCH, 0.75),), "Estermoor"),
    Item("H50.44", "anti-reverse clutch", "bearing", "box E", SPRING_WORKS, 780, 1800, 4, 2, (Fits(("E30",),
         ("clutch",)),), "Estermoor", days=12),
    Item("H80.44", "anti-reverse clutch", "bearing", "box E", SPRING_WORKS, 840, 1950, 3, 1, (), "Estermoor", days=12),
    Item("H50.20", "main gear", "gear", "box E", SPRING_WORKS, 1300, 2600, 3, 1, (), "Estermoor", days=12),
    Item("H50.21", "pinion", "gear", "box E", SPRING_WORKS, 760, 1500, 4, 2, (), "Estermoor", days=12),
    Item("H80.20", "main gear", "gear", "box E", SPRING_WORKS, 1500, 3000, 2, 1, (), "Estermoor", days=12),
    Item("H80.21", "pinion", "gear", "box E", SPRING_WORKS, 820, 1650, 2, 1, (), "Estermoor", days=12),
    Item("H-SH", "main shaft, Hethering 50", "shaft", "box E", SPRING_WORKS, 620, 1400, 2, 1,
         (Fits(("E50",), ("main_shaft",)),), "Estermoor", days=12),
    Item("SL-BS", "bail spring, Slaithe", "spring", "box W", WORKS, 70, 280, 8, 4,
         (Fits(("W45", "W65"), ("bail_spring",)),), "Wrackmouth", days=12),
    Item("SL65-30", "anti-reverse clutch", "bearing", "box W", WORKS, 900, 1850, 3, 1, (Fits(("W45",), ("clutch",)),),
         "Wrackmouth", days=12),
    Item("SL65-17", "main gear", "gear", "box W", WORKS, 1450, 2900, 2, 1, (), "Wrackmouth", days=12),
    Item("SL65-18", "pinion", "gear", "box W", WORKS, 800, 1600, 2, 1, (Fits(("W45",), ("pinion",), "measured",
         BENCH, 0.5, "One tooth more: only with its gear."),), "Wrackmouth", days=12),
    Item("D-BS", "bail spring, Dovane, flat", "spring", "box K", SALVAGE, 180, 650, 2, 1,
         (Fits(("K1", "K2"), ("bail_spring",)),), "Kessandry", days=35),
)  # fmt: skip

SUNDRIES = (
    Item("O-38", "handle knob, turned beech", "knob", "hook board", SALVAGE, 450, 1200, 5, 2,
         (Fits(("O2", "O5", "O8", "S45"), ("handle_knob",), "tried", BENCH),), material="wood"),
    Item("HN-8", "handle nut, 8 mm", "nut", "drawer 6", BEARING_STORE, 60, 200, 12, 4,
         (Fits(("S25", "S35", "L18", "L22"), ("handle_nut",), "measured", BENCH),),
         sizes={"thread diameter": 8.0, "thread pitch": 1.0}),
    Item("HS-M3", "handle locking screw, M3 × 5", "screw", "drawer 6", BEARING_STORE, 10, 60, 40, 10,
         (Fits(STARS, ("handle_screw",), "standard", "the caliper", 0.7),),
         sizes={"thread diameter": 3.0, "thread pitch": 0.5, "length": 5.0}),
    Item("SC-M4-10", "plate screw, M4 × 10, slotted", "screw", "drawer 6", BEARING_STORE, 15, 80, 60, 24,
         (Fits(("C12", "C20", "L28"), ("head_screws", "tail_screws"), "standard", "the caliper"),),
         sizes={"thread diameter": 4.0, "thread pitch": 0.7, "length": 10.0}),
    Item("SH-05", "shim 10 × 5.2 × 0.1 mm", "washer", "drawer 4", BEARING_STORE, 8, 50, 60, 20,
         (Fits(FIXED, ("gear_shims",), "standard", "the caliper", 0.6),), material="steel",
         sizes=_ring(10.0, 5.2, 0.1)),
    Item("CLIP-12", "bearing clip, 12 mm", "clip", "drawer 4", SPRING_WORKS, 12, 80, 25, 10,
         (Fits(("S25", "S35", "L18", "L22", "C20"), ("bearing_clip",), "standard", "the caliper"),),
         sizes={"outer diameter": 12.0, "wire diameter": 0.8}),
)  # fmt: skip

ITEMS = (*WASHERS, *BEARINGS, *STAR_PARTS, *FIXED_PARTS, *SUNDRIES)
