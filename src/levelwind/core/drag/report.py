"""What the bench is told about a stack: torque in words, what is idle, the right order, and how it was worked out."""

from dataclasses import dataclass
from typing import Any

from levelwind.core.drag.contacts import Contact, find_contacts
from levelwind.core.drag.draws import Generator
from levelwind.core.drag.families import Drive
from levelwind.core.drag.model import Lookup, Stack
from levelwind.core.drag.order import Order, right_order
from levelwind.core.drag.rings import Assumption, friction_radius_m
from levelwind.core.drag.section import Section, section
from levelwind.core.drag.torque import StackTorque, evaluate
from levelwind.core.quantities import Quantity, in_words


@dataclass(frozen=True, slots=True)
class Worked:
    """One line of "how was this worked out?": the formula, then the same with the reel's own values in it."""

    what: str
    formula: str
    numbers: str
    source: str


@dataclass(frozen=True, slots=True)
class DragReport:
    """All a page shows about one stack under one clamp force. Torques in N m at the drag, not yet at the spool."""

    torque: StackTorque
    section: Section
    order: Order | None
    sentences: tuple[str, ...]
    worked: tuple[Worked, ...]

    def as_dict(self) -> dict[str, Any]:
        """Plain data for a JSON file."""
        return {
            "new_torque_Nm": self.torque.new_Nm.as_dict(),
            "run_in_torque_Nm": self.torque.run_in_Nm.as_dict(),
            "slip_surfaces": len(self.torque.slipping),
            "idle": [self.section.pieces[place].name for place in self.torque.idle],
            "share_lost": None if self.order is None else self.order.share_lost,
            "right_order": None if self.order is None else [self.section.pieces[p].name for p in self.order.places],
            "sentences": list(self.sentences),
            "cautions": list(self.torque.cautions),
            "section": self.section.as_dict(),
        }


def drag_report(stack: Stack, clamp_N: Quantity, rng: Generator, lookup: Lookup | None = None) -> DragReport:
    """Evaluate a stack and say it in words.

    >>> import numpy as np
    >>> from levelwind.core.drag.model import stack_from_dict
    >>> ring = {"outer_diameter_mm": 24, "inner_diameter_mm": 10, "thickness_mm": 1}
    >>> stack = stack_from_dict({"bodies": [{"name": "gear", "kind": "gear", **ring},
    ...     {"name": "washer", "kind": "friction", "friction": 0.2, **ring}, {"name": "cap", "kind": "cap", **ring}]})
    >>> drag_report(stack, Quantity(100.0, 90.0, 110.0), np.random.default_rng(1)).sentences[0]
    '1 surface slips: 0.18 N m (0.16 to 0.20) new, 0.17 N m (0.15 to 0.19) run in.'
    """
    contacts = find_contacts(stack, lookup)
    torque = evaluate(stack, contacts, clamp_N, rng)
    order = right_order(stack, lookup)
    return DragReport(
        torque,
        section(stack, torque),
        order,
        _sentences(stack, torque, order),
        tuple(_rows(stack, contacts, clamp_N, torque)),
    )


def _sentences(stack: Stack, torque: StackTorque, order: Order | None) -> tuple[str, ...]:
    count = len(torque.slipping)
    new, run_in = in_words(torque.new_Nm, "N m"), in_words(torque.run_in_Nm, "N m")
    said = [f"{count} surface{'' if count == 1 else 's'} slip{'s' if count == 1 else ''}: {new} new, {run_in} run in."]
    if torque.idle:
        names = [stack.bodies[place].name for place in torque.idle]
        said.append(f"Idle, only taking up room: {', '.join(names)}.")
    if order is None:
        said.append("Too many different washers to try every order: the right order is not known.")
    elif order.share_lost > 0:
        said.append(f"This order loses {100 * order.share_lost:.0f} % of the drag the same washers could give.")
        said.append("Right order, from the far end: " + ", ".join(stack.bodies[p].name for p in order.places) + ".")
    return tuple(said)


def _rows(stack: Stack, contacts: tuple[Contact, ...], clamp_N: Quantity, torque: StackTorque) -> list[Worked]:
    rows = [
        _surface_row(stack, contacts[place], clamp_N, assumption)
        for place in torque.slipping
        for assumption in Assumption
    ]
    for assumption, total in (
        (Assumption.PRESSURE, torque.new_Nm),
        (Assumption.WEAR, torque.run_in_Nm),
    ):
        rows.append(
            Worked(
                f"stack, {assumption.value}",
                "T = sum of the slipping surfaces" + (", less the loss along keys" if stack.key_friction else ""),
                f"slipping surfaces {len(torque.slipping)}: T = {total.value:.4g} N m",
                "equilibrium of the chain of washers; checked against a general max-flow",
            )
        )
    return rows


def _surface_row(stack: Stack, surface: Contact, clamp_N: Quantity, assumption: Assumption) -> Worked:
    inner, outer = 1000 * surface.inner_radius_m, 1000 * surface.outer_radius_m
    radius = 1000 * float(friction_radius_m(surface.inner_radius_m, surface.outer_radius_m, assumption))
    mu = surface.coefficient.mu.value if surface.coefficient else 0.0
    ring = "2/3 (ro³ - ri³)/(ro² - ri²)" if assumption is Assumption.PRESSURE else "(ro + ri)/2"
    below, above = stack.bodies[surface.index], stack.bodies[surface.index + 1]
    return Worked(
        f"{above.name} on {below.name}, {assumption.value}",
        f"T = μ W R, R = {ring}",
        f"ri = {inner:.4g} mm, ro = {outer:.4g} mm, R = {radius:.4g} mm; "
        f"{mu:.3g} × {clamp_N.value:.4g} N × {radius:.4g} mm = {mu * clamp_N.value * radius / 1000:.4g} N m",
        "Khurmi and Gupta, Theory of Machines, sections 10.32 to 10.36; coefficient: "
        + (surface.coefficient.source if surface.coefficient else ""),
    )


def at_the_spool(torque_Nm: Quantity, drive: Drive) -> Worked:
    """How the drag's torque becomes the spool's."""
    if not drive.geared:
        return Worked("torque at the spool", "T spool = T drag", f"{torque_Nm.value:.4g} N m", "no gears between")
    eta, ratio = drive.mesh_efficiency.value, drive.gear_ratio
    return Worked(
        "torque at the spool",
        "T spool = T drag / (i η)",
        f"{torque_Nm.value:.4g} N m / ({ratio:g} × {eta:g}) = {torque_Nm.value / ratio / eta:.4g} N m",
        "the fish turns the gears; mesh loss from handbook figures, from memory",
    )
