"""What to know of a computed drag before leaning on it: tables, usual hands, and what a lining stands."""

from collections.abc import Mapping, Sequence
from math import pi

from levelwind.core.drag.contacts import Contact
from levelwind.core.drag.model import Kind, Stack
from levelwind.core.drag_system.model import DragSystem, Tables
from levelwind.core.drag_system.usual import EVER_HELD_N
from levelwind.core.notes import Note, newtons, plain
from levelwind.core.quantities import Quantity


def cautions_of(
    system: DragSystem,
    contacts: Sequence[Contact],
    slipping: Sequence[int],
    clamp_N: Quantity,
    full_N: Quantity | None,
    tables: Tables,
) -> tuple[Note, ...]:
    """``full_N`` is the tension at the line with the spool full, None without a spool."""
    return (
        *_by_table_alone(system.stack, slipping),
        *_beyond_its_kind(system, full_N),
        *_pressed_too_hard(system.stack, contacts, clamp_N, tables.stands_MPa),
    )


def _by_table_alone(stack: Stack, slipping: Sequence[int]) -> tuple[Note, ...]:
    """Linings that slip with a table's friction, which no reel has to keep to."""
    pairs = [stack.bodies[place : place + 2] for place in slipping]
    unmeasured = [pair for pair in pairs if all(body.coefficient is None for body in pair)]
    rubbing = dict.fromkeys(
        next((body.material for body in pair if body.kind is Kind.FRICTION), pair[0].material) for pair in unmeasured
    )
    if not rubbing:
        return ()
    words = "What it holds hangs on a table's friction of {lining} alone: measure one pull, and use what it tells."
    return (Note.of("table_alone", words, lining=" and ".join(rubbing)),)


def _beyond_its_kind(system: DragSystem, full_N: Quantity | None) -> tuple[Note, ...]:
    most = EVER_HELD_N.get(system.drive.family)
    if not system.usual or full_N is None or most is None or full_N.value <= most:
        return ()
    words = (
        "As such a drag is usually clamped this comes to {drag} at the line, more than a {family} reel ever holds "
        "(about {most}; common practice, no source): measure one pull, or say the clamp force."
    )
    carried = {"drag": newtons(full_N.value, decimals=0), "most": newtons(most, decimals=0)}
    return (Note.of("beyond_its_kind", words, family=system.drive.family.value, **carried),)


def _pressed_too_hard(
    stack: Stack, contacts: Sequence[Contact], clamp_N: Quantity, stands_MPa: Mapping[str, float]
) -> tuple[Note, ...]:
    """Each lining that the clamp presses harder than its table allows, at its smallest face."""
    smallest: dict[str, tuple[float, str]] = {}
    for contact in contacts:
        area = pi * (contact.outer_radius_m**2 - contact.inner_radius_m**2)
        for body in stack.bodies[contact.index : contact.index + 2]:
            if body.kind is Kind.FRICTION and body.material in stands_MPa:
                smallest[body.material] = min((area, body.name), smallest.get(body.material, (area, body.name)))
    said = []
    for material, (area, name) in smallest.items():
        pressure, most = 1e-6 * clamp_N.value / area, stands_MPa[material]
        if pressure > most:
            words = (
                "{part} is pressed with {pressure}; a table of clutch linings allows {lining} {most} for long wear. It "
                "beds thin and wears sooner: set it lighter, or lay in wider washers or another lining."
            )
            part = f"{name[:1].upper()}{name[1:]}"
            shown, limit = plain(pressure, "MPa", figures=2), plain(most, "MPa")
            said.append(Note.of("lining_pressed", words, part=part, pressure=shown, lining=material, most=limit))
    return tuple(said)
