"""What a simulated pull is made of: the drag, the line and rod, the hand and the scale. All values invented."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class DragCondition:
    """How a drag slips, as the line feels it at the spool."""

    running_N: float
    startup_ratio: float
    """Friction after a long rest over friction in steady slip."""
    rest_s: float = 0.3
    """How fast a resting contact grows stronger."""
    slip_m: float = 0.002
    """How far it must slip to forget the rest."""
    viscous_share: float = 0.05
    """Rise of the running drag at a tenth of a metre a second, from grease."""
    wobble: float = 0.02
    """Half of peak to trough of the once-a-turn part, as a share of the running drag."""
    turn_m: float = 0.15
    """Line drawn off in one turn of the drag washers."""
    fade: float = 0.05
    """Share of the drag lost when the stack is hot through."""
    heat_J: float = 60.0
    """Work that heats the stack two thirds of the way."""
    roughness: float = 0.01
    """Unevenness along the travel, standard deviation as a share."""


@dataclass(frozen=True, slots=True)
class Rig:
    """What lies between the spool and the scale's hook."""

    stiffness_N_m: float = 800.0
    mass_kg: float = 0.12
    """Spool, gear and line as if all of it moved with the line."""
    damping: float = 0.1
    """Share of critical."""


@dataclass(frozen=True, slots=True)
class Hand:
    """How the scale is drawn away."""

    speed_m_s: float = 0.1
    wander: float = 0.08
    """Unsteadiness of the speed, standard deviation as a share."""
    pull_s: float = 7.0
    pulls: int = 1
    slack_s: float = 1.2


@dataclass(frozen=True, slots=True)
class Scale:
    """A hanging scale that sends its readings to a phone."""

    sample_hz: float = 20.0
    smoothing_s: float = 0.05
    step_N: float = 0.05
    noise_N: float = 0.05
    tare_N: float = 0.0
    time_step_s: float = 0.001
    capacity_N: float = 500.0


PRESETS = {
    "dry leather": DragCondition(32.0, 1.32, rest_s=0.6, slip_m=0.003, viscous_share=0.0, wobble=0.05, fade=0.1),
    "glazed": DragCondition(38.0, 1.62, rest_s=0.25, slip_m=0.0015, viscous_share=0.0, wobble=0.04, fade=0.15),
    "greased woven": DragCondition(36.0, 1.07, rest_s=0.5, slip_m=0.004, viscous_share=0.06, wobble=0.015, fade=0.03),
    "new woven": DragCondition(41.0, 1.14, rest_s=0.4, slip_m=0.002, viscous_share=0.02, wobble=0.02, fade=0.04),
}
"""Believable drags for the demo shop. Invented, every one."""
