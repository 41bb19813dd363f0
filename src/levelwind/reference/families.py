"""Families of reel, as data: their places, how they come apart, what gets which oil, and their usual drag.

A family is a folder of TOML files beside this module (see docs/how-to/add-a-family.md); a new one needs no code, and
one that is like another says only what is otherwise.
"""

from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from typing import Any

from levelwind.core.drag.clamp import Thread, pitch_radius_m
from levelwind.core.drag.click import Click
from levelwind.core.drag.families import GEARED
from levelwind.core.drag.families import Family as DragFamily
from levelwind.core.drag.lever import Lever
from levelwind.core.drag.model import stack_from_dict
from levelwind.core.drag_system.usual import rubbing_on
from levelwind.core.errors import InputError
from levelwind.core.takedown import Gate, Place, Rules, Step, refuse_unreachable
from levelwind.reference.cautions import Caution, cautions, named
from levelwind.reference.clamps import read_click, read_lever
from levelwind.reference.family_files import Values, family_files, written_like
from levelwind.reference.threads import thread
from levelwind.reference.toml_rows import TomlTable, read_toml

KINDS = (
    *("screw", "nut", "cap", "pin", "clip", "spring", "spring_washer"),
    *("washer", "friction_washer", "eared_washer", "keyed_washer", "ring", "sleeve"),
    *("gear", "bearing", "shaft", "lever", "plate", "frame", "spool", "knob", "handle", "wheel"),
    *("dog", "ratchet", "yoke", "wire", "roller", "rotor"),
    *("motor", "board", "cable", "switch", "magnet"),
)
HAZARDS = ("none", "spring", "clip", "sharp")
RENEWALS = ("whenever open", "if worn", "rarely")
CLEANINGS = ("solvent wipe", "warm soapy water", "dry wipe", "wet, wipe, bag", "leave closed")
DIMENSIONS = (
    *("inner diameter", "outer diameter", "thickness", "length", "width", "thread diameter", "thread pitch"),
    *("wire diameter", "free length", "tooth count", "head diameter", "shaft or bore", "groove diameter"),
)
LUBRICANTS = ("light oil", "reel grease", "drag grease", "nothing")
CLAMPS = ("thread", "lever", "spring", "none")
DRAG_BASES = ("judgement", "measured", "published")
NOW_CALLED = {"all_of": "after", "any_of": "after_any"}
"""What a step's needs were called once, and the step's own key that says it now."""
CAUTION_OF_HAZARD = {"spring": "springs", "clip": "clips", "sharp": "sharp_edge"}
"""The caution that must stand before any step that frees a place with this hazard."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyPlace(Place):
    """A place with what the bench should know of it.

    ``optional`` places are lacking in many reels of the family, ``seldom`` ones in most: a new pattern begins without.
    """

    hazard: str
    renew: str
    clean: str
    measure: tuple[str, ...] = ()
    optional: bool = False
    seldom: bool = False


@dataclass(frozen=True, slots=True)
class Assembly:
    """A group of places that the hand works on together."""

    key: str
    name: str


@dataclass(frozen=True, slots=True)
class LubricationPoint:
    """One point to oil, to grease, or to leave dry on purpose."""

    point: str
    place: str
    kind: str
    how_much: str
    why: str


@dataclass(frozen=True, slots=True)
class Family:
    """How a kind of reel is built.

    ``drag`` is the usual stack in the form that `levelwind.core.drag.model.stack_from_dict` reads, and ``drag_places``
    the place of each of its bodies; ``drag_family`` says where it sits, ``drag_basis`` what its figures rest on,
    ``clamp`` what squeezes it.
    ``lever`` is that clamp's lever at its strike, None where none squeezes the drag. ``click`` is the wheel and pawl
    that holds the spool or only sounds, None where there is none; a reel held by its click alone has no bodies in
    ``drag``.
    ``gear_ratio`` is turns of the spool, or of the rotor, for one of the handle. ``free_spool`` is whether its spool
    can run by itself: not one that stands still while line leaves it, or that a click always holds.
    """

    key: str
    name: str
    sentence: str
    assemblies: tuple[Assembly, ...]
    places: tuple[FamilyPlace, ...]
    rules: Rules
    lubrication: tuple[LubricationPoint, ...]
    drag: dict[str, Any]
    drag_places: tuple[str, ...]
    drag_family: DragFamily
    drag_basis: str
    clamp: dict[str, Any]
    lever: Lever | None
    click: Click | None
    gear_ratio: float
    free_spool: bool
    cautions: dict[str, Caution]

    def __hash__(self) -> int:
        return hash(self.key)

    @property
    def is_geared(self) -> bool:
        """Whether the drag sits in the main gear, with the gear mesh between it and the spool."""
        return self.drag_family in GEARED

    def usual_thread(self) -> Thread | None:
        """The thread its star or knob turns on, with the collar it rubs on; None where no thread squeezes the drag."""
        if "thread_pitch_mm" not in self.clamp:
            return None
        major, pitch = self.clamp["thread_diameter_mm"] / 1000, self.clamp["thread_pitch_mm"] / 1000
        return rubbing_on(Thread(pitch_radius_m(major, pitch), pitch), stack_from_dict(self.drag).bodies[-1])

    def place(self, key: str) -> FamilyPlace:
        """The place with this key. Raises InputError for a key that is not of this family."""
        for place in self.places:
            if place.key == key:
                return place
        raise InputError("place", repr(key), "one of " + ", ".join(place.key for place in self.places))


def families() -> tuple[str, ...]:
    """The keys of all families there are."""
    return tuple(sorted(entry.name for entry in _folder().iterdir() if entry.joinpath("family.toml").is_file()))


@cache
def family(key: str) -> Family:
    """The family with this key, checked as it is read.

    Raises InputError that names the file, the row and what is allowed.
    """
    if key not in families():
        raise InputError("family", repr(key), "one of " + ", ".join(families()))
    return _family(key, family_values(key))


@cache
def family_values(key: str) -> dict[str, Values]:
    """What the files of the family with this key say, by file, with those of the family it is like beneath."""
    return family_files(_folder().joinpath(key), _folder())


def like_of(key: str) -> str | None:
    """The family that this one is written as like; None where it stands by itself."""
    return written_like(_folder().joinpath(key))


def read_family(folder: Traversable, among: Traversable | None = None) -> Family:
    """A family from its folder of TOML files; ``among`` holds the families it may be like: all there are."""
    return _family(folder.name, family_files(folder, among or _folder()))


def family_laid_out(kin: Family, who: str, values: dict[str, Values]) -> Family:
    """The family with its places, takedown and lubrication as these files say, checked; all else is as it was.

    ``who`` says it, for the refusals.
    """
    places = _places(TomlTable(f"{who}, places", values["places.toml"]), tuple(group.key for group in kin.assemblies))
    rules = _rules(TomlTable(f"{who}, takedown", values["takedown.toml"]), places)
    _refuse_unwarned(f"{who}, takedown", rules.steps, places)
    oil = TomlTable(f"{who}, lubrication", values["lubrication.toml"])
    points = tuple(_lubrication_point(row, places) for row in oil.rows("point"))
    oil.done()
    warned = {caution.key: caution for step in rules.steps for caution in named(step.cautions)}
    return replace(kin, places=places, rules=rules, lubrication=points, cautions=warned)


def _family(key: str, values: dict[str, Values]) -> Family:
    files = {name: TomlTable(f"{key}/{name}", table) for name, table in values.items()}
    head = files["family.toml"]
    assemblies = tuple(_assembly(row) for row in head.rows("assembly"))
    places = _places(files["places.toml"], tuple(assembly.key for assembly in assemblies))
    rules = _rules(files["takedown.toml"], places)
    _refuse_unwarned(f"{key}/takedown.toml", rules.steps, places)
    oil = files["lubrication.toml"]
    drag = files["drag.toml"]
    stack = drag.row("stack").values
    bodies = drag.row("stack").rows("bodies")
    clamp = _clamp(drag.row("clamp"))
    made = Family(
        key=head.text("key", allowed=(key,)),
        name=head.text("name"),
        sentence=head.text("sentence"),
        assemblies=assemblies,
        places=places,
        rules=rules,
        lubrication=tuple(_lubrication_point(row, places) for row in oil.rows("point")),
        drag={**stack, "bodies": [{k: v for k, v in body.values.items() if k != "place"} for body in bodies]},
        drag_places=tuple(body.text("place", allowed=[place.key for place in places]) for body in bodies),
        drag_family=DragFamily(drag.text("family", allowed=[each.value for each in DragFamily])),
        drag_basis=drag.text("basis", allowed=DRAG_BASES),
        clamp=clamp,
        lever=read_lever(drag.row("clamp")) if clamp["kind"] == "lever" else None,
        click=read_click(drag.row("click")) if "click" in drag.values else None,
        gear_ratio=drag.number("gear_ratio"),
        free_spool=not head.yes("no_free_spool"),
        cautions={caution.key: caution for step in rules.steps for caution in named(step.cautions)},
    )
    for file in (head, oil, drag):
        file.done()
    if not bodies and made.click is None:
        raise InputError(drag.where, "without a body and without a click", "[[stack.bodies]], a [click], or both")
    return made


def caution_owed(hazard: str, kind: str) -> str:
    """The caution that must stand ahead of the step that frees a place of this hazard and kind; empty for none.

    >>> caution_owed("spring", "spring"), caution_owed("none", "friction_washer"), caution_owed("none", "screw")
    ('springs', 'old_friction', '')
    """
    return "old_friction" if kind == "friction_washer" else CAUTION_OF_HAZARD.get(hazard, "")


def rules_from_toml(name: str, text: str) -> Rules:
    """Takedown rules from one file that holds its own [[place]] and [[step]] tables, for a reel of no family.

    ``name`` is the file's, for the refusals.
    """
    file = read_toml(name, text)
    places = tuple(_plain_place(row) for row in file.rows("place"))
    if not places:
        raise InputError(name, "without places", "at least one table headed [[place]]")
    return _rules(file, places)


def _folder() -> Traversable:
    return resources.files("levelwind.reference").joinpath("families")


def _assembly(row: TomlTable) -> Assembly:
    made = Assembly(row.text("key"), row.text("name"))
    row.done()
    return made


def _plain_place(row: TomlTable) -> Place:
    made = Place(
        key=row.text("key"),
        name=row.text("name"),
        group=row.text("group", ""),
        count=row.count("count"),
        look_alikes=frozenset(row.texts("look_alikes")),
    )
    row.done()
    return made


def _places(file: TomlTable, groups: tuple[str, ...]) -> tuple[FamilyPlace, ...]:
    rows = file.rows("place")
    places = tuple(_family_place(row, groups) for row in rows)
    likes = {place.key: place.look_alikes for place in places}
    for row, place in zip(rows, places, strict=True):
        one_sided = sorted(key for key in place.look_alikes if place.key not in likes.get(key, frozenset()))
        if one_sided:
            raise InputError(f"{row.where}: look_alikes", ", ".join(one_sided), "places that name this one in turn")
    file.done()
    return places


def _family_place(row: TomlTable, groups: tuple[str, ...]) -> FamilyPlace:
    made = FamilyPlace(
        key=row.text("key"),
        name=row.text("name"),
        group=row.text("group", allowed=groups),
        kind=row.text("kind", allowed=KINDS),
        count=row.count("count"),
        look_alikes=frozenset(row.texts("look_alikes")),
        hazard=row.text("hazard", "none", allowed=HAZARDS),
        renew=row.text("renew", allowed=RENEWALS),
        clean=row.text("clean", allowed=CLEANINGS),
        measure=row.texts("measure", allowed=DIMENSIONS),
        optional=row.yes("optional") or row.yes("seldom"),
        seldom=row.yes("seldom"),
    )
    row.done()
    return made


def _rules(file: TomlTable, places: tuple[Place, ...]) -> Rules:
    """The rules, proved to come apart: a rule that goes in a circle is refused here and not at the bench."""
    steps = tuple(_step(row) for row in file.rows("step"))
    finish = tuple(_gate(row) for row in file.rows("finish"))
    file.done()
    try:
        rules = Rules(places, steps, finish)
        refuse_unreachable(rules, frozenset(place.key for place in places))
    except InputError as error:
        raise InputError(f"{file.where}: {error.what}", error.was, error.allowed) from error
    return rules


def _refuse_unwarned(where: str, steps: tuple[Step, ...], places: tuple[FamilyPlace, ...]) -> None:
    """No spring, clip, sharp edge or old friction washer comes out without its caution ahead of the step."""
    owed = {place.key: caution_owed(place.hazard, place.kind) for place in places}
    for step in steps:
        lacking = sorted({owed[key] for key in step.frees} - {"", *step.cautions})
        if lacking:
            raise InputError(f"{where}, step {step.key}: cautions", list(step.cautions), "with " + ", ".join(lacking))


def _step(row: TomlTable) -> Step:
    _refuse_old_words(row)
    made = Step(
        key=row.text("key"),
        do=row.text("do"),
        frees=row.texts("frees"),
        minutes=row.number("minutes"),
        after=frozenset(row.texts("after")),
        after_any=row.alternatives("after_any"),
        tool=row.text("tool", ""),
        cautions=row.texts("cautions", allowed=cautions()),
        photo=row.text("photo", ""),
        back=row.text("back", ""),
        gates=tuple(_gate(gate) for gate in row.rows("gate")),
    )
    row.done()
    return made


def _refuse_old_words(row: TomlTable) -> None:
    """Files written before these words changed are told the new one, and not only that the old one is strange."""
    old = row.values.get("needs")
    for word, now in NOW_CALLED.items():
        if isinstance(old, dict) and word in old:
            name = f"needs.{word}"
            raise InputError(f"{row.where}: {name}", "an old word", f"the new one: {name} is now called {now}")


def _gate(row: TomlTable) -> Gate:
    made = Gate(row.text("key"), row.text("ask"), row.text("why"), row.yes("ahead"))
    row.done()
    return made


def _clamp(row: TomlTable) -> dict[str, Any]:
    """What squeezes the drag. A thread says its size, so that a force can be had from the hand on the star."""
    if row.text("kind", allowed=CLAMPS) != "thread":
        return row.values
    if "thread" in row.values:
        named = thread(row.text("thread"))
        sizes = {"thread_diameter_mm": named.major_diameter_m, "thread_pitch_mm": named.pitch_m}
        return {**row.values, **{key: round(1000 * size, 6) for key, size in sizes.items()}}
    for key in ("thread_diameter_mm", "thread_pitch_mm"):
        if row.number(key) <= 0:
            raise InputError(f"{row.where}: {key}", row.number(key), "more than 0 mm")
    return row.values


def _lubrication_point(row: TomlTable, places: tuple[FamilyPlace, ...]) -> LubricationPoint:
    made = LubricationPoint(
        point=row.text("point"),
        place=row.text("place", allowed=[place.key for place in places]),
        kind=row.text("kind", allowed=LUBRICANTS),
        how_much=row.text("how_much"),
        why=row.text("why"),
    )
    row.done()
    return made
