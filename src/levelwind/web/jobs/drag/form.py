"""The stack as its page types it: one row of fields a body, the order of the rows the order of the bodies."""

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.http import QueryDict

from levelwind.core.columns.cells import typed_number
from levelwind.core.drag.model import MOST_BODIES, USUAL_TIE, Kind, Stack, Tie, stack_from_dict
from levelwind.core.drag_system.report import clamp_words
from levelwind.core.drag_system.usual import BY_KNOB, HAND_NM, usual_clamp
from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.quantities import Quantity
from levelwind.core.writing import retold, written
from levelwind.reference.families import Family
from levelwind.reference.materials import CONDITIONS, UNKNOWN, known_materials
from levelwind.shop.drag.selectors.friction import TYPED_HERE
from levelwind.shop.drag.selectors.setup import ASKS, MADE_OF, WORD_CHECKS, Ask, Setup
from levelwind.shop.models import Part
from levelwind.shop.parts.selectors.shelf import part_find
from levelwind.web.requests import key_in

KIND_WORDS = {
    Kind.FLANGE: "flange or floor that holds",
    Kind.GEAR: "gear or spool floor",
    Kind.FRICTION: "friction washer",
    Kind.EARED: "eared washer",
    Kind.KEYED: "keyed washer",
    Kind.SPRING: "spring washer",
    Kind.SPACER: "spacer",
    Kind.CAP: "cap or star hub",
}
TIE_WORDS = {Tie.GEAR: "turned by gear or spool", Tie.SLEEVE: "held by sleeve or shaft", Tie.FLOATING: "loose"}
_KINDS = {kind.value: kind for kind in Kind}
_TIES = {tie.value: tie for tie in Tie}
SIZES = {"outer": "outer diameter", "inner": "inner diameter", "thickness": "thickness"}
USUAL_MATERIAL = {Kind.FRICTION: UNKNOWN, Kind.CAP: "brass", Kind.GEAR: "brass"}
NEW_BODY = {"outer": "20", "inner": "8", "thickness": "1"}


@dataclass(frozen=True, slots=True)
class TypedBody:
    """One body as typed; ``uid`` names its fields and stays with it wherever it is moved."""

    uid: int
    name: str
    kind: str
    tie: str
    material: str
    outer: str
    inner: str
    thickness: str
    mu: str = ""
    mu_low: str = ""
    mu_high: str = ""
    keys_at: str = ""
    bonded: bool = False
    part: str = ""

    @property
    def says(self) -> str:
        """The body in a line."""
        kind = _KINDS.get(self.kind, Kind.FRICTION)
        tie = _TIES.get(self.tie, USUAL_TIE[kind])
        sizes = f"{self.outer} × {self.inner} × {self.thickness} mm"
        return ", ".join(filter(None, (KIND_WORDS[kind], TIE_WORDS[tie], sizes, self.material)))


@dataclass(frozen=True, slots=True)
class Typed:
    """Everything the page types, as typed: the rows, and every other field by its name."""

    rows: tuple[TypedBody, ...]
    texts: Mapping[str, str]

    @property
    def condition(self) -> str:
        return self.texts.get("condition", "")


TOO_LARGE = 1e9
"""No size, force or length of a reel comes near it, in whatever unit it is asked."""

TEXTS = ("name", "kind", "tie", "material", "outer", "inner", "thickness", "mu", "mu_low", "mu_high", "keys_at", "part")


def typed_from(stack: Stack, setup: Setup) -> Typed:
    """A stack and its setup as the page shows them. A part's friction that was kept, not typed, is no text here."""
    parts = setup.parts or ("",) * len(stack.bodies)
    rows = []
    for uid, (body, part) in enumerate(zip(stack.bodies, parts, strict=True)):
        kept = bool(part) and body.coefficient is not None and body.coefficient.source != TYPED_HERE
        mu = body.coefficient.mu if body.coefficient and not kept else None
        rows.append(
            TypedBody(
                uid=uid,
                name=body.name,
                kind=body.kind.value,
                tie="" if body.tie is USUAL_TIE[body.kind] else body.tie.value,
                material=body.material,
                outer=written(2000 * body.outer_radius_m, ".6g"),
                inner=written(2000 * body.inner_radius_m, ".6g"),
                thickness=written(1000 * body.thickness_m, ".6g"),
                mu=written(mu.value, ".4g") if mu else "",
                mu_low=written(mu.low, ".4g") if mu and mu.low != mu.value else "",
                mu_high=written(mu.high, ".4g") if mu and mu.high != mu.value else "",
                keys_at=written(2000 * body.key_radius_m, ".6g") if body.key_radius_m else "",
                bonded=body.bonded,
                part=part,
            )
        )
    texts = {
        "condition": stack.condition,
        "key_friction": written(stack.key_friction) if stack.key_friction else "",
        "shims": ", ".join(written(mm) for mm in setup.shims_mm),
        **{key: written(value) for key, value in setup.numbers.items()},
        **setup.materials,
        **setup.said,
    }
    return Typed(tuple(rows), texts)


def typed_from_post(post: QueryDict) -> Typed:
    """What came back from the page, each row's fields by its number. Raises InputError for what no page sends."""
    uids = post.getlist("row")
    if len(uids) > MOST_BODIES or len(set(uids)) != len(uids) or not all(u.isdecimal() and len(u) < 5 for u in uids):
        raise InputError("rows of the stack", len(uids), f"2 to {MOST_BODIES}, each with a number of its own")
    rows = tuple(
        TypedBody(
            uid=int(uid),
            bonded=f"bonded-{uid}" in post,
            **{name: post.get(f"{name}-{uid}", "").strip()[:120] for name in TEXTS},
        )
        for uid in uids
    )
    names = ("condition", "key_friction", "shims", *ASKS, *MADE_OF, *WORD_CHECKS)
    return Typed(rows, {name: post.get(name, "").strip()[:80] for name in names})


def stack_of(typed: Typed) -> Stack:
    """The stack that is typed. Raises InputError that names the body and the value."""
    if typed.condition not in CONDITIONS:
        raise InputError("condition", repr(typed.condition), ", ".join(CONDITIONS))
    return stack_from_dict(
        {
            "condition": typed.condition,
            "key_friction": _number(typed.texts.get("key_friction") or "0", "friction along keys and ears"),
            "bodies": [_body(row) for row in typed.rows],
        }
    )


def setup_of(typed: Typed) -> Setup:
    """What is said beside the stack. Raises InputError that names the field and the value."""
    texts = typed.texts
    return Setup(
        numbers={key: _number(texts[key], ask.said) for key, ask in ASKS.items() if texts.get(key)},
        materials={key: texts[key] for key in MADE_OF if texts.get(key)},
        shims_mm=tuple(_number(mm, "shims at hand") for mm in texts.get("shims", "").replace(",", " ").split()),
        parts=tuple(row.part for row in typed.rows),
        said={key: texts[key] for key in WORD_CHECKS if texts.get(key)},
    )


def _body(row: TypedBody) -> dict[str, Any]:
    name = row.name or f"body {row.uid + 1}"
    if row.material not in known_materials():
        raise InputError(f"material of {name}", repr(row.material), ", ".join(known_materials()))
    plain: dict[str, Any] = {"name": name, "kind": row.kind, "material": row.material, "bonded": row.bonded}
    for key, what in SIZES.items():
        field = f"{key}_diameter_mm" if key != "thickness" else "thickness_mm"
        plain[field] = _number(getattr(row, key), f"{what} of {name}")
    if row.tie:
        plain["tie"] = row.tie
    if row.keys_at:
        plain["key_diameter_mm"] = _number(row.keys_at, f"diameter of the keys of {name}")
    if row.mu:
        value = _number(row.mu, f"friction of {name}")
        low, high = (_number(text, f"friction of {name}") if text else value for text in (row.mu_low, row.mu_high))
        plain["friction"] = {"value": value, "low": low, "high": high, "source": TYPED_HERE}
    return plain


def _number(text: str, what: str) -> float:
    try:
        number = float(typed_number(text))
    except InputError as refusal:
        raise InputError(what, f"“{text[:20]}”", f"a number: {refusal.allowed}") from None
    if not abs(number) < TOO_LARGE:
        raise InputError(what, f"“{text[:20]}”", f"a number under {written(TOO_LARGE, ',.0f')}")
    return number


def moved(typed: Typed, uid: int, by: int) -> Typed:
    """The body one place nearer the clamp (1) or the far end (-1); at the end of the line it stays."""
    rows = list(typed.rows)
    here = _index(rows, uid)
    there = min(max(here + by, 0), len(rows) - 1)
    rows.insert(there, rows.pop(here))
    return replace(typed, rows=tuple(rows))


def without(typed: Typed, uid: int) -> Typed:
    rows = list(typed.rows)
    rows.pop(_index(rows, uid))
    return replace(typed, rows=tuple(rows))


def with_new(typed: Typed, kind: str) -> Typed:
    """One more body before the last, which is what presses on them all; its sizes are its neighbour's."""
    made = _KINDS.get(kind, Kind.FRICTION)
    alike = [row for row in typed.rows if row.kind == made.value]
    uid = max((row.uid for row in typed.rows), default=-1) + 1
    sizes = {key: getattr(alike[-1], key) for key in SIZES} if alike else NEW_BODY
    material = alike[-1].material if alike else USUAL_MATERIAL.get(made, "steel")
    new = TypedBody(uid=uid, name=KIND_WORDS[made], kind=made.value, tie="", material=material, **sizes)
    after = typed.rows.index(alike[-1]) + 1 if alike else max(len(typed.rows) - 1, 0)
    return replace(typed, rows=(*typed.rows[:after], new, *typed.rows[after:]))


def with_part(typed: Typed, uid: int, part: Part | None) -> Typed:
    """A part of the shelf laid in: its name, its sizes and its material take the place of what was typed."""
    rows = list(typed.rows)
    here = _index(rows, uid)
    if part is None:
        rows[here] = replace(rows[here], part="")
        return replace(typed, rows=tuple(rows))
    old = rows[here]
    sizes = {what: written(size) for what, size in part.sizes_mm.items()}
    rows[here] = replace(
        old,
        name=part.name,
        part=str(part.pk),
        material=part.material if part.material in known_materials() else old.material,
        outer=sizes.get("outer diameter", old.outer),
        inner=sizes.get("inner diameter", old.inner),
        thickness=sizes.get("thickness", old.thickness),
        mu="",
        mu_low="",
        mu_high="",
    )
    return replace(typed, rows=tuple(rows))


def with_parts(typed: Typed, keys: str) -> Typed:
    """Parts laid in as the search names them, "place.part" joined by "_"; part 0 leaves what lies there."""
    for pair in keys.split("_")[:MOST_BODIES]:
        place, _, part = pair.partition(".")
        if not (place.isdecimal() and part.isdecimal() and int(place[:4]) < len(typed.rows)):
            raise LevelwindError("This choice is not there any more: search again.")
        if int(part[:12]):
            typed = with_part(typed, typed.rows[int(place)].uid, part_named(part))
    return typed


def part_named(asked: str) -> Part | None:
    return part_find(key_in(asked))


def with_friction(typed: Typed, material: str, mu: Quantity) -> Typed:
    """One friction, with its interval, typed into every friction washer of a material."""
    rows = tuple(
        replace(row, mu=written(mu.value, ".4g"), mu_low=written(mu.low, ".4g"), mu_high=written(mu.high, ".4g"))
        if row.material == material and row.kind == Kind.FRICTION
        else row
        for row in typed.rows
    )
    return replace(typed, rows=rows)


def without_friction(typed: Typed, parts: Container[str]) -> Typed:
    """The friction typed for these parts cleared, so that what is kept for them counts."""
    rows = (replace(row, mu="", mu_low="", mu_high="") if row.part in parts else row for row in typed.rows)
    return replace(typed, rows=tuple(rows))


@dataclass(frozen=True, slots=True)
class AskField:
    """One number to type, with what is typed and what stands while nothing is."""

    ask: Ask
    text: str
    usual: float | None
    note: str


GROUPS = {
    "squeeze": ("hand_Nm", "lever_deg", "clamp_N"),
    "line": ("line_m", "backing_mm", "backing_m"),
    "guides": ("roller_deg", "roller_mu", "wrap_deg", "guide_mu"),
    "turns": (
        *("turns", "spring_outer_mm", "spring_inner_mm", "spring_thick_mm", "spring_cone_mm"),
        *("spring_series", "spring_parallel", "coil_N_mm"),
    ),
    "run": ("run_m", "run_m_s"),
    "weights": ("gear_g", "spool_g"),
    "gear": ("gear_teeth", "gear_module_mm", "gear_face_mm", "gear_helix_deg"),
    "pinion": ("pinion_teeth",),
    "dog": ("dog_mm2", "dog_radius_mm"),
    "sleeve": ("sleeve_outer_mm", "sleeve_bore_mm"),
    "arm": ("arm_width_mm", "arm_thick_mm", "arm_hole_mm"),
    "height": ("lower_mm", "higher_mm", "off_mm"),
    "found": ("found_out_m", "found_clamp_N", "found_turns", "found_lever_deg"),
    "left": ("left_out_m", "left_clamp_N", "left_turns", "left_lever_deg"),
}
BY_THREAD = frozenset({"hand_Nm", "turns", "coil_N_mm", "found_turns", "left_turns"})
BY_LEVER = frozenset({"lever_deg", "found_lever_deg", "left_lever_deg"})
"""What is asked only where a thread, or a lever, squeezes the drag."""
IN_THE_GEAR = frozenset({"gear_g"})
"""What takes up heat only where the drag sits in the main gear."""


def ask_groups(typed: Typed, kin: Family) -> dict[str, tuple[AskField, ...]]:
    """The fields beside the stack, group by group, as far as this kind of drag asks for them."""
    idle = (BY_THREAD if kin.lever else BY_LEVER) | (frozenset() if kin.is_geared else IN_THE_GEAR)
    return {group: tuple(_field(key, typed, kin) for key in keys if key not in idle) for group, keys in GROUPS.items()}


def _field(key: str, typed: Typed, kin: Family) -> AskField:
    ask = ASKS[key]
    usual, note = ask.usual, retold(ask.note)
    if kin.lever and key == "lever_deg":
        usual = kin.lever.angle_deg
    if key == "hand_Nm" and kin.drag_family in BY_KNOB:
        note = f"Until one is given, {clamp_words(usual_clamp(kin.drag_family, None), usual=True)}."
    elif key == "hand_Nm" and (hand := HAND_NM.get(kin.drag_family)):
        usual, note = (
            hand.value,
            f"Usually {written(hand.low)} to {written(hand.high)} N m: common practice, no source.",
        )
    return AskField(ask, typed.texts.get(key, ""), usual, note)


def _index(rows: Sequence[TypedBody], uid: int) -> int:
    for index, row in enumerate(rows):
        if row.uid == uid:
            return index
    raise LevelwindError("This body is not in the stack any more: load the page again.")
