"""What a takedown is made of: places, the steps that free them, the gates on the way back, and pieces."""

from collections import Counter
from dataclasses import dataclass, replace
from enum import StrEnum

from levelwind.core.errors import InputError

MOST_STEPS = 300
"""Steps in one pattern's rules. Our choice: several times the largest reel, and still solved at once."""
MOST_PLACES = 600
"""Places in one pattern. Our choice: several times the largest reel; more is a list of something else."""
MOST_MINUTES = 1440
"""Minutes of one step. Our choice: a day; more is a typing error."""

LEAST_DIFFERENCE_MIN = 1e-5
"""Minutes below which one way in is as quick as another. Our choice: less than a thousandth of a second."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A position in a reel where a part sits. ``look_alikes`` are the keys of places it can be mistaken for."""

    key: str
    name: str
    group: str
    kind: str = "part"
    count: int = 1
    look_alikes: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Gate:
    """A question of the rebuild that must be answered with yes before what comes after it.

    ``ahead`` gates are asked before their step is done, the others after it.
    """

    key: str
    ask: str
    why: str
    ahead: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One action that frees one or more places. ``frees`` stands in the order the pieces come off.

    It comes after every place of ``after`` is off, and after one whole set of ``after_any`` if there are any.

    >>> step = Step(key="draw_spool", do="Draw the spool.", frees=("spool",), minutes=0.3, after=frozenset({"handle"}),
    ...             after_any=(frozenset({"head_plate"}), frozenset({"tail_plate"})))
    >>> step.can_be_done(frozenset({"handle", "tail_plate"}))
    True
    """

    key: str
    do: str
    frees: tuple[str, ...]
    minutes: float
    after: frozenset[str] = frozenset()
    after_any: tuple[frozenset[str], ...] = ()
    tool: str = ""
    cautions: tuple[str, ...] = ()
    photo: str = ""
    back: str = ""
    gates: tuple[Gate, ...] = ()

    def ways(self) -> tuple[frozenset[str], ...]:
        """Every set of places that is enough by itself."""
        return tuple(self.after | way for way in self.after_any) or (self.after,)

    def can_be_done(self, off: frozenset[str]) -> bool:
        """Whether nothing stands before this step any more when these places are off."""
        return any(way <= off for way in self.ways())


@dataclass(frozen=True, slots=True)
class Rules:
    """How one kind of reel comes apart. Steps stand in the order a practised hand would take them.

    ``finish`` are the gates asked after the last step of every rebuild.
    Raises InputError when a key stands twice, names nothing, or the minutes of a step make no sense.
    """

    places: tuple[Place, ...]
    steps: tuple[Step, ...]
    finish: tuple[Gate, ...] = ()

    def __post_init__(self) -> None:
        if len(self.steps) > MOST_STEPS:
            raise InputError("number of takedown steps", len(self.steps), f"up to {MOST_STEPS}")
        if len(self.places) > MOST_PLACES:
            raise InputError("number of places", len(self.places), f"up to {MOST_PLACES}")
        gates = [gate.key for step in self.steps for gate in step.gates] + [gate.key for gate in self.finish]
        _refuse_twice("place", [place.key for place in self.places])
        _refuse_twice("step", [step.key for step in self.steps])
        _refuse_twice("gate", gates)
        known = frozenset(place.key for place in self.places)
        for place in self.places:
            _refuse_unknown(f"look-alikes of {place.key}", place.look_alikes, known - {place.key})
        for step in self.steps:
            _refuse_unknown(f"places freed by {step.key}", frozenset(step.frees), known)
            _refuse_unknown(f"places before {step.key}", frozenset().union(*step.ways()), known)
            _refuse_twice(f"place (freed by {step.key})", list(step.frees))
            if not step.frees:
                raise InputError(f"places freed by {step.key}", "none", "at least one place")
            if not 0 <= step.minutes <= MOST_MINUTES:
                raise InputError(f"minutes of {step.key}", step.minutes, f"0 to {MOST_MINUTES} minutes")

    def place(self, key: str) -> Place:
        """The place with this key. Raises InputError for a key that is not in these rules."""
        for place in self.places:
            if place.key == key:
                return place
        raise InputError("place", repr(key), "one of " + ", ".join(place.key for place in self.places))

    def names(self, keys: tuple[str, ...] | frozenset[str]) -> tuple[str, ...]:
        """The names of these places, in the order of the rules for a set and as given for a tuple."""
        ordered = keys if isinstance(keys, tuple) else [place.key for place in self.places if place.key in keys]
        return tuple(self.place(key).name for key in ordered)

    def without(self, absent: frozenset[str]) -> "Rules":
        """The rules of a reel that lacks these places: they hold nothing back and nothing frees them."""
        _refuse_unknown("places left out", absent, frozenset(place.key for place in self.places))
        places = tuple(_place_without(place, absent) for place in self.places if place.key not in absent)
        steps = (_step_without(step, absent) for step in self.steps)
        return Rules(places, tuple(step for step in steps if step.frees), self.finish)


class Whereabouts(StrEnum):
    """The only places in the world a piece may be. Anything else is nowhere."""

    REEL = "in the reel"
    TRAY = "in the tray"
    SCRAP = "in the scrap bag"
    ORDER = "on order"
    OWNER = "with the owner"


class State(StrEnum):
    """What was seen of a piece."""

    GOOD = "good"
    CLEAN = "clean"
    WORN = "worn"
    BROKEN = "broken"
    MISSING = "missing"


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """Something that belongs, or is to belong, at a place: ``count`` equal things that stay together.

    ``replacement`` marks a new piece for a place whose first one is worn, broken or missing.
    ``where`` is None when nobody has said; a piece in the tray must also name its ``cell``.
    """

    place: str
    name: str
    where: Whereabouts | None = None
    cell: int | None = None
    state: State = State.GOOD
    count: int = 1
    replacement: bool = False

    def __post_init__(self) -> None:
        if self.count < 1:
            raise InputError(f"count of {self.name}", self.count, "1 or more")


@dataclass(frozen=True, slots=True)
class Takedown:
    """The way in: steps in order, their minutes together, one reason for each step, and the minutes that a quicker way
    might at most save: none where this is proven the quickest."""

    steps: tuple[Step, ...]
    minutes: float
    why: tuple[str, ...]
    gap_min: float = 0.0

    @property
    def proven(self) -> bool:
        """Whether no way in is quicker."""
        return self.gap_min == 0


@dataclass(frozen=True, slots=True)
class Refit:
    """One step of the rebuild: the takedown step it undoes, and the places to fill in the order they go in."""

    step: Step
    places: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Rebuild:
    """The way back. ``off_again`` must come off first, because something behind it is still out of the reel."""

    steps: tuple[Refit, ...]
    finish: tuple[Gate, ...]
    off_again: tuple[Step, ...]

    @property
    def gates(self) -> tuple[Gate, ...]:
        """Every gate, in the order they are met."""
        return tuple(gate for refit in self.steps for gate in _in_turn(refit.step.gates)) + self.finish

    def allowed(self, confirmed: frozenset[str]) -> tuple[Refit, ...]:
        """The steps that no unconfirmed gate stands before."""
        allowed: list[Refit] = []
        for refit in self.steps:
            if any(gate.ahead and gate.key not in confirmed for gate in refit.step.gates):
                break
            allowed.append(refit)
            if any(gate.key not in confirmed for gate in refit.step.gates):
                break
        return tuple(allowed)

    def waiting(self, confirmed: frozenset[str]) -> Gate | None:
        """The first gate nobody has confirmed yet; None when all are."""
        return next((gate for gate in self.gates if gate.key not in confirmed), None)


def _in_turn(gates: tuple[Gate, ...]) -> tuple[Gate, ...]:
    return tuple(sorted(gates, key=lambda gate: not gate.ahead))


def _place_without(place: Place, absent: frozenset[str]) -> Place:
    return replace(place, look_alikes=place.look_alikes - absent)


def _step_without(step: Step, absent: frozenset[str]) -> Step:
    frees = tuple(key for key in step.frees if key not in absent)
    after_any = tuple(way - absent for way in step.after_any)
    return replace(step, frees=frees, after=step.after - absent, after_any=after_any)


def _refuse_twice(what: str, keys: list[str]) -> None:
    twice = sorted(key for key, times in Counter(keys).items() if times > 1)
    if twice:
        raise InputError(f"{what} key", ", ".join(twice) + " twice", f"every {what} once")


def _refuse_unknown(what: str, keys: frozenset[str], known: frozenset[str]) -> None:
    unknown = sorted(keys - known)
    if unknown:
        raise InputError(what, ", ".join(unknown), "one of " + ", ".join(sorted(known)))
