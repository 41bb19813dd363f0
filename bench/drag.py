"""Speed of the drag against plain references in the same run; ratios, so that any machine can tell.

Wanted: 10,000 stacks in one call faster than a plain chain in Python on capacities worked out in one array; a full fill
curve with 10,000 draws under 50 ms; a page's whole answer (torque, order, section, words) under 100 ms. One call a
stack, or a draw, is what nobody would do: it checks the numbers and is not timed.
"""

from collections.abc import Callable
from dataclasses import replace
from time import perf_counter

import numpy as np

from levelwind.core.drag.chain import carried_torque_Nm, torque_per_N
from levelwind.core.drag.families import Drive, Family
from levelwind.core.drag.model import Stack, stack_from_dict
from levelwind.core.drag.order import right_order
from levelwind.core.drag.rings import Assumption, friction_radius_m
from levelwind.core.drag_system.compute import compute
from levelwind.core.drag_system.model import SEED, DragSystem, GivenForce
from levelwind.core.drag_system.report import as_dict
from levelwind.core.line import Filled, Line, Spool, fill_curve, radius_at_length_m, tension_N
from levelwind.core.quantities import Quantity
from levelwind.reference.materials import drag_tables

STACKS, DRAWS, FILLS = 10_000, 10_000, 61
SIDES = [-1, 0, 1, 0, -1, 0, 1, 0, -1]


def seconds(what: Callable[[], object], times: int = 5) -> float:
    """Least of a few runs: what the work takes when nothing else runs."""
    spans = []
    for _ in range(times):
        start = perf_counter()
        what()
        spans.append(perf_counter() - start)
    return min(spans)


def plain_torque_Nm(sides: list[int], capacity: list[float]) -> float:
    """The chain in plain Python, as one would first write it."""
    torque, weakest, last = 0.0, float("inf"), sides[0]
    for side, most in zip(sides[1:], capacity, strict=True):
        weakest = min(weakest, most)
        if side:
            torque += weakest if side != last else 0.0
            weakest, last = float("inf"), side
    return torque


def stacks() -> None:
    rng = np.random.default_rng(1)
    mu, force = rng.uniform(0.1, 0.4, (STACKS, 8)), rng.uniform(50, 500, (STACKS, 1))
    inner, outer = rng.uniform(0.004, 0.006, (STACKS, 8)), rng.uniform(0.010, 0.014, (STACKS, 8))

    def in_one_call() -> np.ndarray:
        return np.asarray(force[:, 0] * torque_per_N(SIDES, mu, inner, outer, Assumption.PRESSURE))

    def one_by_one() -> np.ndarray:
        return np.array(
            [force[i, 0] * torque_per_N(SIDES, mu[i], inner[i], outer[i], Assumption.PRESSURE) for i in range(STACKS)]
        )

    def plainly() -> list[float]:
        capacity = (mu * force * friction_radius_m(inner, outer, Assumption.PRESSURE)).tolist()
        return [plain_torque_Nm(SIDES, row) for row in capacity]

    assert np.allclose(in_one_call(), one_by_one(), rtol=1e-12)
    assert np.allclose(in_one_call(), plainly(), rtol=1e-12)
    fast = seconds(in_one_call)
    print(f"{STACKS} stacks in one call: {1000 * fast:.1f} ms")
    print(f"  against plain Python on capacities in one array: {seconds(plainly, 2) / fast:.1f} times faster")


def orders() -> None:
    rng = np.random.default_rng(2)
    sides, capacity = rng.choice([1, -1, 0], (STACKS, 9)), rng.uniform(0, 5, (STACKS, 8))
    rows = list(zip(sides.tolist(), capacity.tolist(), strict=True))
    plain = [plain_torque_Nm(*_led(*row)) for row in rows]
    assert np.allclose(carried_torque_Nm(sides, capacity), plain, rtol=1e-12)
    fast = seconds(lambda: carried_torque_Nm(sides, capacity))
    print(f"{STACKS} stacks, each in its own order: {1000 * fast:.1f} ms")


def _led(sides: list[int], capacity: list[float]) -> tuple[list[int], list[float]]:
    """From the first tied body on: the plain chain has to start at one."""
    first = next((place for place, side in enumerate(sides) if side), len(sides) - 1)
    return sides[first:], capacity[first:]


def fill() -> None:
    rng = np.random.default_rng(3)
    torque, packing = rng.lognormal(0.0, 0.2, DRAWS), rng.uniform(0.70, 0.86, DRAWS)
    line = Line("30 lb nylon", 0.50e-3, 133.4)
    for name, rim_width in (("parallel", None), ("flared", 0.070)):
        filled = Filled(Spool(0.025, 0.045, 0.060, rim_width), line, 365.0)

        def one_by_one(filled: Filled = filled) -> np.ndarray:
            """Each draw's own tension at every fill, sorted, and the two draws a tenth of them lie outside of."""
            left = np.linspace(365.0, 0.0, FILLS)
            rows = [
                tension_N(turn, radius_at_length_m(replace(filled, packing=share), left))
                for turn, share in zip(torque.tolist(), packing.tolist(), strict=True)
            ]
            return np.sort(rows, axis=0)[[int(0.05 * (DRAWS - 1)), int(np.ceil(0.95 * (DRAWS - 1)))]]

        curve = fill_curve(filled, 1.0, torque, packing, points=FILLS)
        low, high = one_by_one()
        assert np.allclose([curve.low_N, curve.high_N], [low, high], rtol=1e-8)
        fast = seconds(lambda filled=filled: fill_curve(filled, 1.0, torque, packing, points=FILLS))
        print(f"fill curve, {FILLS} fills, {DRAWS} draws, {name} spool: {1000 * fast:.0f} ms (wanted: 50)")


def told(stack: Stack) -> dict[str, object]:
    """Torque, order, section, words of one stack, with nothing kept from before."""
    right_order.cache_clear()
    system = DragSystem(stack, Drive(Family.LEVER), GivenForce(Quantity(300.0, 250.0, 360.0)))
    return as_dict(compute(system, drag_tables(), np.random.default_rng(SEED)))


def page() -> None:
    ring = {"outer_diameter_mm": 28, "inner_diameter_mm": 12, "thickness_mm": 1.0}
    kinds = ["flange", "friction", "gear", "friction", "keyed", "friction", "eared", "friction", "keyed", "cap"]
    metal, lining = {"material": "steel", **ring}, {"material": "woven carbon lining", **ring}
    bodies = [{"name": k, "kind": k, **(lining if k == "friction" else metal)} for k in kinds]
    stack = stack_from_dict({"condition": "greased", "bodies": bodies})
    answer = seconds(lambda: told(stack))
    print(f"a page's answer for one stack: {1000 * answer:.0f} ms (wanted: 100)")


if __name__ == "__main__":
    stacks()
    orders()
    fill()
    page()
