"""Where the heat of a run goes: washers, gear and spool as lumps joined by conduction.

Each slipping pair of faces turns torque times slip angle into heat, split between the two bodies as their effusivities
sqrt(k rho c), as for two half spaces rubbed together. Within a step the power is held and the network of lumps is
solved exactly (modes of a symmetric matrix), so that what goes in is what is stored and lost.
Source: H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, section 2.8; F. P. Incropera, Fundamentals of
Heat and Mass Transfer, section 3.1 (contact resistance), both from memory.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from levelwind.core.drag import chain
from levelwind.core.drag.contacts import Contact
from levelwind.core.drag.model import Body, Solid, Stack
from levelwind.core.drag.rings import Assumption, Floats, friction_radius_m
from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity
from levelwind.core.writing import written

CONTACT_W_M2K = 3000.0
"""W/(m² K), conductance of two pressed faces, dry to greased: order of magnitude, from memory."""

FADE_PER_K = Quantity(0.003, 0.0, 0.008)
"""Share of the coefficient lost for each kelvin: a wide guess. Its high end is what a fishing magazine measured in May
2011 between 40 and 65 degrees F (all reels lost at least 1.5 lb) if they were set to 14 lb; read on a web page."""

HOT_TO_TOUCH_C = 51.0
"""°C, metal held for a minute burns above this: ISO 13732-1, from memory."""

ONE_PIECE_W_K = 5.0
"""W/K, how well heat passes from a floor in the stack to the rest of the same piece: order of magnitude, no source."""

THROUGH_MESH_W_K = 0.1
"""W/K, how well it passes from the main gear by pinion and shaft to the spool: order of magnitude, no source."""

_LEAST_SHARE = 0.2
"""No coefficient fades below this share of itself, for the linear law is not meant to reach so far: our choice."""


@dataclass(frozen=True, slots=True)
class Lump:
    """A part that takes up heat beside the stack: the rest of the gear, the spool, the frame.

    ``joined_to`` is the place of the body it touches, ``joint_W_K`` how well, ``air_W_K`` how well it cools.
    """

    name: str
    mass_kg: float
    solid: Solid
    joined_to: int
    joint_W_K: float
    air_W_K: float = 0.0

    def __post_init__(self) -> None:
        if not 1e-6 <= self.mass_kg <= 20:
            raise InputError(f"mass of {self.name}", f"{written(1000 * self.mass_kg)} g", "from 0.001 to 20000 g")
        if not (0 <= self.joint_W_K <= 1e4 and 0 <= self.air_W_K <= 1e4):
            raise InputError(f"heat paths of {self.name}", (self.joint_W_K, self.air_W_K), "0 to 10000 W/K")


@dataclass(frozen=True, slots=True)
class Warming:
    """Temperatures in degrees C at the end of every step, shape (steps + 1, lumps); torque in N m, shape (steps,)."""

    names: tuple[str, ...]
    seconds: Floats
    temperature_C: Floats
    torque_Nm: Floats
    energy_J: float
    stored_J: float
    lost_J: float

    @property
    def hottest(self) -> tuple[str, float]:
        """Name and temperature in degrees C of the hottest lump at any time."""
        lump = int(np.argmax(self.temperature_C.max(axis=0)))
        return self.names[lump], float(self.temperature_C[:, lump].max())


def warm(
    stack: Stack,
    contacts: Sequence[Contact],
    clamp_N: float,
    seconds: Floats,
    slip_rad: Floats,
    solids: Mapping[str, Solid],
    lumps: Sequence[Lump] = (),
    ambient_C: float = 20.0,
    fade_per_K: float = 0.0,
    assumption: Assumption = Assumption.WEAR,
) -> Warming:
    """Warm a stack through a run of steps, ``seconds`` long and slipping ``slip_rad`` at the drag, each shape (steps,).

    ``solids`` gives every body's material. Loss of clamp force along keys is left out. Steps without slip cool.
    """
    if np.shape(seconds) != np.shape(slip_rad) or np.any(np.asarray(seconds) <= 0) or np.any(np.asarray(slip_rad) < 0):
        raise InputError("steps of the run", np.shape(seconds), "as many spans over 0 s as slips of 0 rad or more")
    net = _Net.of(stack, solids, lumps)
    capacity = _capacities(contacts, clamp_N, assumption)
    heat_split = _splits(stack, contacts, solids, len(net.capacity_J_K))
    carrying = [run for run in chain.runs(chain.sides(stack)) if run.carries]
    rise = np.zeros((len(seconds) + 1, len(net.capacity_J_K)))
    torque, lost = np.zeros(len(seconds)), 0.0
    for step, (span, slip) in enumerate(zip(seconds, slip_rad, strict=True)):
        face = (rise[step, : len(contacts)] + rise[step, 1 : len(contacts) + 1]) / 2
        carried = capacity * np.maximum(1 - fade_per_K * face, _LEAST_SHARE)
        slips = [run.first + int(np.argmin(carried[run.first : run.last + 1])) for run in carrying]
        power = carried[slips] @ heat_split[slips] * (slip / span)
        rise[step + 1], shed = net.after(rise[step], power, span)
        torque[step] = carried[slips].sum()
        lost += shed
    names = (*(body.name for body in stack.bodies), *(lump.name for lump in lumps))
    put_in = float(torque @ np.asarray(slip_rad))
    stored = float(rise[-1] @ net.capacity_J_K)
    return Warming(names, np.asarray(seconds), rise + ambient_C, torque, put_in, stored, lost)


@dataclass(frozen=True, slots=True)
class _Net:
    """Lumps with what they hold and its root, and the modes in which they even out; how each decays, by the span."""

    capacity_J_K: Floats
    root: Floats
    air_W_K: Floats
    rates_per_s: Floats
    modes: Floats
    decays: dict[float, tuple[Floats, Floats, Floats]]

    @classmethod
    def of(cls, stack: Stack, solids: Mapping[str, Solid], lumps: Sequence[Lump]) -> "_Net":
        bodies = [_held_J_K(body, solids) for body in stack.bodies]
        capacity = np.array([*bodies, *(lump.mass_kg * lump.solid.heat_capacity_J_kgK for lump in lumps)])
        air = np.array([*(0.0 for _ in bodies), *(lump.air_W_K for lump in lumps)])
        joints = np.diag(air)
        for place, (below, above) in enumerate(pairwise(stack.bodies)):
            _join(joints, place, place + 1, _joint_W_K(below, above, solids))
        for place, lump in enumerate(lumps, len(bodies)):
            if not 0 <= lump.joined_to < len(bodies):
                raise InputError(f"body that {lump.name} touches", lump.joined_to, f"0 to {len(bodies) - 1}")
            _join(joints, lump.joined_to, place, lump.joint_W_K)
        root = np.sqrt(capacity)
        rates, modes = np.linalg.eigh(joints / np.outer(root, root))
        return cls(capacity, root, air, np.maximum(rates, 0.0), modes, {})

    def after(self, rise_K: Floats, power_W: Floats, span_s: float) -> tuple[Floats, float]:
        """Rises after a span of constant power, and what went to the air in it, J."""
        root = self.root
        start, push = self.modes.T @ (rise_K * root), self.modes.T @ (power_W / root)
        if span_s not in self.decays:
            self.decays[span_s] = _decay(self.rates_per_s * span_s)
        held, once, twice = self.decays[span_s]
        end = start * held + push * span_s * once
        kelvin_seconds = self.modes @ (start * span_s * once + push * span_s**2 * twice) / root
        return (self.modes @ end) / root, float(self.air_W_K @ kelvin_seconds)


def _decay(x: Floats) -> tuple[Floats, Floats, Floats]:
    """exp(-x) and its first and second mean over a step, (1 - e^-x) / x and (1 - (1 - e^-x) / x) / x; 1, 1/2 at 0."""
    small, safe = x < 1e-3, np.maximum(x, 1e-3)
    once = np.where(small, 1 - x / 2 * (1 - x / 3 * (1 - x / 4)), -np.expm1(-safe) / safe)
    twice = np.where(small, 0.5 - x / 6 * (1 - x / 4 * (1 - x / 5)), (1 - once) / safe)
    return np.exp(-x), once, twice


def _join(joints: Floats, a: int, b: int, joint_W_K: float) -> None:
    joints[[a, b], [a, b]] += joint_W_K
    joints[[a, b], [b, a]] -= joint_W_K


def _held_J_K(body: Body, solids: Mapping[str, Solid]) -> float:
    solid = _solid(body, solids)
    volume = np.pi * (body.outer_radius_m**2 - body.inner_radius_m**2) * body.thickness_m
    return float(volume * solid.density_kg_m3 * solid.heat_capacity_J_kgK)


def _joint_W_K(below: Body, above: Body, solids: Mapping[str, Solid]) -> float:
    inner, outer = max(below.inner_radius_m, above.inner_radius_m), min(below.outer_radius_m, above.outer_radius_m)
    through = sum(body.thickness_m / 2 / _solid(body, solids).conductivity_W_mK for body in (below, above))
    return float(np.pi * (outer**2 - inner**2) / (through + 1 / CONTACT_W_M2K))


def _splits(stack: Stack, contacts: Sequence[Contact], solids: Mapping[str, Solid], count: int) -> Floats:
    """Share of each surface's heat that goes into each lump, shape (surfaces, lumps); rows sum to 1."""
    split = np.zeros((len(contacts), count))
    for surface in contacts:
        pair = stack.bodies[surface.index], stack.bodies[surface.index + 1]
        takes = [_effusivity(_solid(body, solids)) for body in pair]
        split[surface.index, surface.index : surface.index + 2] = np.array(takes) / sum(takes)
    return split


def _effusivity(solid: Solid) -> float:
    return float(np.sqrt(solid.conductivity_W_mK * solid.density_kg_m3 * solid.heat_capacity_J_kgK))


def _capacities(contacts: Sequence[Contact], clamp_N: float, assumption: Assumption) -> Floats:
    mu = np.array([np.inf if s.coefficient is None else s.coefficient.mu.value for s in contacts])
    inner, outer = (np.array([getattr(s, key) for s in contacts]) for key in ("inner_radius_m", "outer_radius_m"))
    return np.asarray(mu * clamp_N * friction_radius_m(inner, outer, assumption))


def _solid(body: Body, solids: Mapping[str, Solid]) -> Solid:
    if body.material not in solids:
        raise InputError(f"material of {body.name}", repr(body.material[:40]), "one of " + ", ".join(sorted(solids)))
    return solids[body.material]
