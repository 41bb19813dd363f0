"""Small drags to compute: one washer on a spool's own drag, and two linings in a star drag's main gear."""

from dataclasses import replace
from typing import Any

import numpy as np

from levelwind.core.drag.families import Drive, Family
from levelwind.core.drag.model import stack_from_dict
from levelwind.core.drag.springs import DiscSpring, SpringPack
from levelwind.core.drag_system.compute import DragResult, compute
from levelwind.core.drag_system.model import SEED, DragSystem, GivenForce, LoadedSpool
from levelwind.core.line import Line, Spool, filled_to_the_rim
from levelwind.core.quantities import Quantity
from levelwind.reference.materials import drag_tables

RING = {"outer_diameter_mm": 20, "inner_diameter_mm": 10, "thickness_mm": 1, "material": "steel"}
ONE_WASHER = stack_from_dict(
    {
        "bodies": [
            {"name": "gear", "kind": "gear", **RING},
            {"name": "washer", "kind": "friction", "friction": 0.2, **RING},
            {"name": "key washer", "kind": "keyed", **RING},
        ]
    }
)
DIRECT = DragSystem(
    ONE_WASHER,
    Drive(Family.FIXED_SPOOL_FRONT, 5.2),
    GivenForce(Quantity.exact(100.0)),
    LoadedSpool(filled_to_the_rim(Spool(0.010, 0.025, 0.020), Line("line", 0.4e-3, 100.0))),
)

WIDER = {"outer_diameter_mm": 24, "inner_diameter_mm": 12, "thickness_mm": 1, "material": "steel"}
LINING = {**WIDER, "kind": "friction", "material": "felt"}
TWO_LININGS = stack_from_dict(
    {
        "condition": "dry",
        "bodies": [
            {"name": "gear floor", "kind": "gear", **WIDER},
            {"name": "first", **LINING},
            {"name": "key washer", "kind": "keyed", **WIDER},
            {"name": "second", **LINING},
            {"name": "eared washer", "kind": "eared", **WIDER},
        ],
    }
)
GEARED = DragSystem(
    TWO_LININGS,
    Drive(Family.STAR, 4.0),
    GivenForce(Quantity.exact(400.0)),
    LoadedSpool(filled_to_the_rim(Spool(0.010, 0.025, 0.030), Line("30 lb nylon", 0.55e-3, 133.4))),
)
A20 = SpringPack(DiscSpring(20e-3, 10.2e-3, 1.1e-3, 0.45e-3))
"""DIN 2093 A 20."""


def computed(system: DragSystem, **changes: Any) -> DragResult:
    """With some of its fields changed."""
    return compute(replace(system, **changes), drag_tables(), np.random.default_rng(SEED))
