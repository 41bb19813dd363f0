"""The kinds of piece that are recognised: what is measured on each, how it wears, and how well it is measured.

Wear: common practice, no source; the figures are our choice.
"""

from levelwind.core.fits.model import Dimension, Kind

INNER = 2.0
"""Inner jaws are off this many times as much as outer ones (common practice, no source)."""

SIX = 6
"""Threads to measure a pitch over: short screws have no more (common practice, no source)."""

LEAF_SHARE = 0.015
"""Standard deviation of a pitch taken by leaf gauge or over a thread or two, as a share: leaves differ by some 5 %."""

_PITCH = Dimension("pitch", "pitch", 0.16, 6.4, own_mm=0.01, own_share=LEAF_SHARE, over=SIX)

THREAD = Kind(
    "thread",
    "screw thread",
    (Dimension("diameter", "outside diameter of the thread", 0.5, 30.0, wear_mm=-0.04), _PITCH),
    (("pitch", "diameter"),),
    handed=True,
)
NUT = Kind(
    "nut",
    "nut thread",
    (Dimension("diameter", "bore inside the thread", 0.4, 30.0, wear_mm=0.04, own_mm=0.01, jaws=INNER), _PITCH),
    (("pitch", "diameter"),),
    handed=True,
)
BEARING = Kind(
    "bearing",
    "ball bearing",
    (
        Dimension("bore", "bore", 0.8, 20.0, wear_mm=0.01, jaws=INNER),
        Dimension("od", "outside diameter", 2.0, 50.0, wear_mm=-0.01),
        Dimension("width", "width", 0.8, 16.0, wear_mm=-0.01),
    ),
    (("bore", "od"),),
)
ORING = Kind(
    "oring",
    "O-ring",
    (
        Dimension("id", "inside diameter", 0.5, 300.0, wear_mm=0.15, own_mm=0.04, own_share=0.003, jaws=INNER),
        Dimension("section", "thickness of the ring", 0.8, 8.0, wear_mm=-0.04, own_mm=0.02),
    ),
)
CLIP = Kind(
    "clip",
    "clip on a shaft",
    (
        Dimension("shaft", "shaft", 0.8, 45.0, wear_mm=-0.02),
        Dimension("groove", "diameter in the groove", 0.6, 45.0, wear_mm=-0.02, own_mm=0.015),
        Dimension("thickness", "thickness of the clip", 0.1, 3.0, wear_mm=-0.01),
    ),
    (("groove", "shaft"), ("thickness", "shaft")),
)
BORE_CLIP = Kind(
    "bore_clip",
    "circlip in a bore",
    (
        Dimension("shaft", "bore", 7.0, 45.0, wear_mm=0.02, jaws=INNER),
        Dimension("groove", "diameter in the groove", 7.0, 48.0, wear_mm=0.02, own_mm=0.015, jaws=INNER),
        Dimension("thickness", "thickness of the clip", 0.1, 3.0, wear_mm=-0.01),
    ),
    (("shaft", "groove"), ("thickness", "shaft")),
)
ANY_CLIP = Kind(
    "any_clip",
    "clip",
    (
        Dimension("shaft", "shaft, or the bore it sits in", 0.8, 45.0, wear_mm=-0.02),
        Dimension("groove", "diameter in the groove", 0.6, 48.0, wear_mm=-0.02, own_mm=0.015),
        Dimension("thickness", "thickness of the clip", 0.1, 3.0, wear_mm=-0.01),
    ),
    (("thickness", "shaft"),),
)
"""Where neither shaft nor bore was measured, it may be either."""

SPRING = Kind(
    "spring",
    "disc spring",
    (
        Dimension("od", "outside diameter", 4.0, 60.0, wear_mm=-0.02),
        Dimension("id", "inside diameter", 2.0, 40.0, wear_mm=0.02, jaws=INNER),
        Dimension("thickness", "thickness of the sheet", 0.1, 5.0, wear_mm=-0.01),
    ),
    (("id", "od"),),
)
OTHER_WASHER = 0.3
"""How often a washer in the hand is none of the shop's shelf: our choice."""

WASHER = Kind(
    "washer",
    "drag washer",
    (
        Dimension("od", "outside diameter", 2.0, 120.0, wear_mm=-0.03),
        Dimension("id", "inside diameter", 1.0, 110.0, wear_mm=0.03, jaws=INNER),
        Dimension("thickness", "thickness", 0.1, 12.0, wear_mm=-0.06),
    ),
    (("id", "od"),),
    none_share=OTHER_WASHER,
)
"""Of the shop's own shelf: its table is made from the book."""

KINDS = {kind.key: kind for kind in (THREAD, NUT, BEARING, ORING, CLIP, BORE_CLIP, ANY_CLIP, SPRING)}
