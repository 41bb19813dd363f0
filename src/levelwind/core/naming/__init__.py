"""What a reel that nobody knows is: its family, its pattern or none of these, with odds, and what to look at next."""

from levelwind.core.naming.compute.before import all_kinds, family_chances
from levelwind.core.naming.compute.posterior import Named, Naming, name_reel
from levelwind.core.naming.compute.telling import NextLook, next_looks
from levelwind.core.naming.compute.years import year_made
from levelwind.core.naming.model import CANNOT_TELL, MARKS, NONE, SIZES, Answer, Key, Kind, Look, Sights, Sign, Size

__all__ = [
    "CANNOT_TELL",
    "MARKS",
    "NONE",
    "SIZES",
    "Answer",
    "Key",
    "Kind",
    "Look",
    "Named",
    "Naming",
    "NextLook",
    "Sights",
    "Sign",
    "Size",
    "all_kinds",
    "family_chances",
    "name_reel",
    "next_looks",
    "year_made",
]
