"""What is said of a drag beside its stack: how it is squeezed, what is on the spool, what stands behind it."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from math import isfinite
from typing import Any

from levelwind.core.drag.families import Drive
from levelwind.core.drag.gears import MOST_HELIX_DEG, Teeth
from levelwind.core.drag.height import USUAL_OFF_M, Thickness
from levelwind.core.drag.springs import CoilSpring, DiscSpring, SpringPack, Springs, spring_force
from levelwind.core.drag.weakest import Link, arm_in_bending, gear_teeth, in_shear, tube_in_torsion
from levelwind.core.errors import InputError
from levelwind.core.line.fill import NEAR_EMPTY
from levelwind.core.quantities import Quantity
from levelwind.core.writing import written
from levelwind.reference.gears import lewis_both
from levelwind.reference.materials import known_materials, solids
from levelwind.reference.threads import thread


@dataclass(frozen=True, slots=True)
class Ask:
    """One number a person may give, with its bounds; ``usual`` stands where nothing is given."""

    key: str
    words: str
    unit: str
    low: float
    high: float
    usual: float | None = None
    note: str = ""
    moment: str = ""
    """Of a pull: "found" or "left"."""

    @property
    def said(self) -> str:
        """What it is, where it does not stand under its pull."""
        return f"{self.words} at the pull as {self.moment}" if self.moment else self.words


COUNTS = frozenset({"gear_teeth", "pinion_teeth", "spring_series", "spring_parallel"})
"""What comes only in whole numbers."""

ASKS = {
    ask.key: ask
    for ask in (
        Ask("hand_Nm", "turn of star or knob", "N m", 0.01, 20),
        Ask("clamp_N", "clamp force", "N", 0.1, 20_000, None, "Said here, it counts."),
        Ask("lever_deg", "lever at", "°", 0, 360),
        Ask("line_m", "line on the spool", "m", 1, 5000),
        Ask("backing_mm", "backing, diameter", "mm", 0.05, 3),
        Ask("backing_m", "backing, length", "m", 0, 5000),
        Ask("roller_deg", "line roller, wrap", "°", 0, 360),
        Ask("roller_mu", "roller, friction", "", 0, 1, 0.03, "Turning 0.03, stuck 0.15 (from memory)."),
        Ask("wrap_deg", "rod's guides, wrap in all", "°", 0, 720),
        Ask("guide_mu", "guides, friction", "", 0, 1, 0.15, "Ring guides 0.1 to 0.2 (from memory)."),
        Ask(
            "turns",
            "turns from first touch",
            "",
            0,
            50,
            None,
            "With the springs, it sets the clamp force.",
        ),
        Ask("spring_outer_mm", "spring, outer", "mm", 1, 250),
        Ask("spring_inner_mm", "spring, inner", "mm", 0.5, 240),
        Ask("spring_thick_mm", "spring, thickness", "mm", 0.05, 15),
        Ask("spring_cone_mm", "spring, height over flat", "mm", 0.02, 15),
        Ask("spring_series", "springs one after the other", "", 1, 30, 1),
        Ask("spring_parallel", "nested in each", "", 1, 30, 1),
        Ask("coil_N_mm", "or a coil spring, N for each mm", "N/mm", 0.1, 2000),
        Ask("run_m", "length of the run", "m", 1, 2000, 100.0),
        Ask("run_m_s", "its speed", "m/s", 0.1, 40, 4.0),
        Ask("gear_g", "main gear, weight", "g", 0.5, 3000),
        Ask("spool_g", "spool, weight", "g", 1, 5000),
        Ask("gear_teeth", "main gear, teeth", "", 10, 300),
        Ask("pinion_teeth", "pinion, teeth", "", 10, 100, None, "From 10, where the table of Y begins."),
        Ask("gear_module_mm", "module", "mm", 0.1, 5),
        Ask("gear_face_mm", "width of the teeth", "mm", 0.5, 50),
        Ask("gear_helix_deg", "slant of the teeth", "°", 0, MOST_HELIX_DEG, 0.0, "0 for straight teeth."),
        Ask("dog_mm2", "dog, section that shears", "mm²", 0.2, 500),
        Ask("dog_radius_mm", "from the middle of the gear", "mm", 1, 100),
        Ask("sleeve_outer_mm", "gear sleeve, root of its thread", "mm", 1, 60),
        Ask("sleeve_bore_mm", "bore", "mm", 0, 59),
        Ask("arm_width_mm", "handle arm, width at the hub", "mm", 2, 80),
        Ask("arm_thick_mm", "thickness", "mm", 0.5, 30),
        Ask("arm_hole_mm", "hole for the sleeve", "mm", 0, 70),
        Ask("off_mm", "a washer may be off by", "mm", 0, 1, 1000 * USUAL_OFF_M),
        Ask("lower_mm", "star or knob takes up, lower by", "mm", 0, 20),
        Ask("higher_mm", "higher by", "mm", 0, 20),
        *(
            ask
            for moment in ("found", "left")
            for ask in (
                Ask(f"{moment}_out_m", "line out", "m", 0, 5000, moment=moment),
                Ask(f"{moment}_clamp_N", "clamp force", "N", 0.1, 20_000, moment=moment),
                Ask(f"{moment}_turns", "turns", "", 0, 50, moment=moment),
                Ask(f"{moment}_lever_deg", "lever", "°", 0, 360, moment=moment),
            )
        ),
    )
}
MATERIALS_OF = {
    "dog_of": "steel",
    "sleeve_of": "steel",
    "arm_of": "steel",
    "spool_of": "aluminium",
}
"""Parts beside and behind the drag whose material is asked, with the usual one."""

TEETH_OF = ("gear_of", "pinion_of")
"""The metal of teeth, which has to be said: no limit is named for one that nobody knows."""

MADE_OF = (*TEETH_OF, *MATERIALS_OF)
"""Every part whose material is asked."""

FILLS = {"full": 1.0, "half": 0.5, "near the arbor": NEAR_EMPTY}
"""How full a spool was, as the share of its line."""


def _one_of(what: str, allowed: Callable[[], Iterable[str]]) -> Callable[[str], object]:
    def check(text: str) -> None:
        if text not in allowed():
            raise InputError(what, repr(text[:40]), ", ".join(allowed()))

    return check


WORD_CHECKS: Mapping[str, Callable[[str], object]] = {
    "thread": thread,
    **{f"{moment}_fill": _one_of(f"spool at the pull as {moment}", lambda: FILLS) for moment in ("found", "left")},
    **{f"{moment}_unknown": _one_of("washer whose friction is read", known_materials) for moment in ("found", "left")},
}
"""What is said in words, each with what refuses a wrong one."""

MOST_SHIMS = 8


@dataclass(frozen=True, slots=True)
class Setup:
    """Numbers given by their keys in ``ASKS``, materials by theirs, words by theirs in ``WORD_CHECKS``, shims at hand
    in mm, and the part each body is."""

    numbers: Mapping[str, float] = field(default_factory=dict)
    materials: Mapping[str, str] = field(default_factory=dict)
    shims_mm: tuple[float, ...] = ()
    parts: tuple[str, ...] = ()
    said: Mapping[str, str] = field(default_factory=dict)

    def __hash__(self) -> int:
        return hash((frozenset(self.numbers.items()), self.shims_mm, self.parts))

    def __post_init__(self) -> None:
        for key, value in self.numbers.items():
            ask = ASKS[key]
            if not (isfinite(value) and ask.low <= value <= ask.high):
                raise InputError(
                    ask.said, f"{written(value)} {ask.unit}".strip(), f"from {written(ask.low)} to {written(ask.high)}"
                )
            if key in COUNTS and value % 1:
                raise InputError(ask.said, written(value), "a whole number")
        for key, name in self.materials.items():
            if name not in strong():
                raise InputError(f"material ({key})", repr(name[:40]), ", ".join(strong()))
        for key, text in self.said.items():
            WORD_CHECKS[key](text)
        if len(self.shims_mm) > MOST_SHIMS or not all(0.01 <= mm <= 5 for mm in self.shims_mm):
            raise InputError("shims at hand", list(self.shims_mm), f"up to {MOST_SHIMS}, each from 0.01 to 5 mm")

    def number(self, key: str) -> float | None:
        """What was given, else what is usual, else None."""
        return self.numbers.get(key, ASKS[key].usual)

    def said_of_clamp(self, moment: str) -> bool:
        """Whether clamp force, turns or lever were said of that pull."""
        return any(f"{moment}_{key}" in self.numbers for key in ("clamp_N", "turns", "lever_deg"))

    def disc_springs(self) -> SpringPack | None:
        """The disc springs under star, knob or lever; None while they are not measured."""
        sizes = [self.number(f"spring_{key}_mm") for key in ("outer", "inner", "thick", "cone")]
        if None in sizes:
            return None
        spring = DiscSpring(*(float(mm or 0) / 1000 for mm in sizes))
        return SpringPack(spring, parallel=self._count("spring_parallel"), series=self._count("spring_series"))

    def springs(self) -> Springs | None:
        """The disc springs, else the coil spring; None while neither is known."""
        rate = self.number("coil_N_mm")
        return self.disc_springs() or (None if rate is None else CoilSpring(1000 * rate))

    def knob_rate_N_m(self) -> Quantity | None:
        """Rate of the coil spring under the knob; None while it was not measured."""
        rate = self.number("coil_N_mm")
        return None if rate is None else spring_force(CoilSpring(1000 * rate), 1.0)

    def links(self, drive: Drive) -> list[Link]:
        """What stands behind the drag, as far as its sizes are given, and of teeth their metal."""
        handle_per_spool = drive.handle_per_spool()
        gear = self._teeth("main gear teeth", "gear_teeth", "pinion_teeth", "gear_of", drive, on_handle=True)
        pinion = self._teeth("pinion teeth", "pinion_teeth", "gear_teeth", "pinion_of", drive, on_handle=False)
        links = [link for link in (gear, pinion) if link]
        if dog := self._all("dog_mm2", "dog_radius_mm"):
            links.append(in_shear("dog", dog[0] / 1000, dog[1], self._yields("dog_of"), handle_per_spool))
        if tube := self._all("sleeve_outer_mm", "sleeve_bore_mm"):
            links.append(tube_in_torsion("gear sleeve", tube[0], tube[1], self._yields("sleeve_of"), handle_per_spool))
        if arm := self._all("arm_width_mm", "arm_thick_mm", "arm_hole_mm"):
            links.append(arm_in_bending("handle arm", arm[0], arm[1], arm[2], self._yields("arm_of"), handle_per_spool))
        return links

    def _teeth(self, name: str, own: str, mates: str, metal: str, drive: Drive, *, on_handle: bool) -> Link | None:
        """A gear's teeth, against the mate's own number, else the one that the ratio gives."""
        if not self._all(own, "gear_module_mm", "gear_face_mm") or not self.materials.get(metal):
            return None
        teeth, said = self._count(own), self.number(mates)
        mate = drive.mate_of(teeth, on_handle=on_handle) if said is None else round(said)
        module, face = self._all("gear_module_mm", "gear_face_mm")
        cut = Teeth(teeth, mate, module, face, self.number("gear_helix_deg") or 0.0)
        per_spool = drive.handle_per_spool() if on_handle else 1.0
        return gear_teeth(name, cut, lewis_both(cut.virtual), self._yields(metal), per_spool)

    def shims(self) -> list[Thickness]:
        return [Thickness(f"{written(mm)} mm shim", mm / 1000) for mm in self.shims_mm]

    def _all(self, *keys: str) -> list[float]:
        """Every one of these in m, or none where one of them is missing."""
        values = [self.number(key) for key in keys]
        return [] if None in values else [float(value or 0) / 1000 for value in values]

    def _count(self, key: str) -> int:
        return round(self.number(key) or 1)

    def _yields(self, key: str) -> tuple[float, float]:
        low, high = strong()[self.materials.get(key) or MATERIALS_OF[key]]
        return 1e6 * low, 1e6 * high


def strong() -> dict[str, tuple[float, float]]:
    """Materials with a yield strength, in MPa."""
    return {name: row.yield_MPa for name, row in solids().items() if row.yield_MPa}


def setup_from_dict(data: Mapping[str, Any], bodies: int) -> Setup:
    """A setup as a plan keeps it; parts that no longer match the bodies are let go."""
    parts = tuple(str(part) for part in data.get("parts", ()))
    return Setup(
        numbers={key: float(value) for key, value in data.get("numbers", {}).items() if key in ASKS},
        materials={key: str(name) for key, name in data.get("materials", {}).items() if key in MADE_OF},
        shims_mm=tuple(float(mm) for mm in data.get("shims_mm", ())),
        parts=parts if len(parts) == bodies else ("",) * bodies,
        said={key: str(text) for key, text in data.get("said", {}).items() if key in WORD_CHECKS},
    )
