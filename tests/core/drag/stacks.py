"""Stacks that several tests share, built as plain data the way a page stores them."""

from typing import Any

from levelwind.core.drag.model import Stack, stack_from_dict

RING = {"outer_diameter_mm": 24.0, "inner_diameter_mm": 10.0, "thickness_mm": 1.0}
KNOWN = {"value": 0.20, "low": 0.20, "high": 0.20}


def body(kind: str, **more: Any) -> dict[str, Any]:
    plain = {"name": kind, "kind": kind, **RING, **more}
    if kind == "friction":
        plain.setdefault("friction", KNOWN)
    return plain


def stack(*kinds: str | dict[str, Any], **more: Any) -> Stack:
    """A stack from kinds or whole bodies; metal on metal has the coefficient 0.5 where it is asked for."""
    return stack_from_dict({"bodies": [body(k) if isinstance(k, str) else k for k in kinds], **more})


THREE_BETWEEN_ALTERNATE_PLATES = ("gear", "friction", "keyed", "friction", "eared", "friction", "cap")
