"""Benches drawn at random, for tests and timed cases: every kind of drag, line, hand and scale that may turn up."""

from dataclasses import dataclass

import numpy as np

from levelwind.demo.simulation.conditions import DragCondition, Hand, Rig, Scale


@dataclass(frozen=True, slots=True)
class Bench:
    """One drag on one bench."""

    drag: DragCondition
    rig: Rig
    hand: Hand
    scale: Scale


def draw_bench(rng: np.random.Generator) -> Bench:
    """A drag between smooth and grabbing, on line between soft and stiff, read by a scale of 10 to 80 Hz."""
    running = float(rng.uniform(12, 70))
    hz = float(rng.choice([10.0, 12.5, 20.0, 40.0, 80.0]))
    grabs = rng.uniform() < 0.25
    drag = DragCondition(
        running,
        float(1 + (rng.uniform(0.3, 0.8) if grabs else rng.gamma(2.0, 0.1))),
        rest_s=float(rng.uniform(0.08, 0.25) if grabs else rng.uniform(0.1, 0.6)),
        slip_m=float(np.exp(rng.uniform(*np.log((0.0004, 0.0015) if grabs else (0.0008, 0.005))))),
        viscous_share=0.0 if grabs else float(rng.uniform(0.0, 0.06)),
        wobble=float(rng.choice([0.0, rng.uniform(0.005, 0.15)], p=[0.3, 0.7])),
        turn_m=float(rng.uniform(0.08, 0.35)),
        fade=float(rng.uniform(0.0, 0.2)),
        heat_J=float(rng.uniform(30, 200)),
        roughness=float(rng.uniform(0.003, 0.015)),
    )
    rig = Rig(float(np.exp(rng.uniform(*np.log((150, 1500))))), float(rng.uniform(0.06, 0.25)))
    hand = Hand(
        float(rng.uniform(*((0.05, 0.12) if grabs else (0.06, 0.2)))),
        float(rng.uniform(0.03, 0.12)),
        float(rng.uniform(4, 10)),
        int(rng.integers(1, 4)),
    )
    scale = Scale(
        hz,
        float(rng.uniform(0.0, 1.0)) / hz,
        float(rng.choice([0.01, 0.05, 0.1])),
        float(rng.uniform(0.01, 0.12)),
        float(rng.choice([0.0, rng.uniform(-2, 3)])),
        float(rng.choice([0.001, 0.01])),
    )
    return Bench(drag, rig, hand, scale)
