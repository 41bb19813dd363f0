"""What a reel is worth, as data and for a person."""

from collections.abc import Iterable
from typing import Any

from levelwind.core.quantities import percent
from levelwind.core.supply.order_report import money
from levelwind.core.supply.worth import Way, Worth

ADVICE = {
    "parts": "Strip it for parts.",
    "mended": "Mend it and sell it whole.",
    "shut": "Leave it shut.",
}
"""What each way is called to a person."""
NAMES = {"parts": "in parts", "mended": "mended", "shut": "left shut"}
"""The same in a row."""


def as_dict(worth: Worth, places: int) -> dict[str, Any]:
    """What ``levelwind worth --json`` prints; a way the file does not have is null."""
    return {
        "kind": "worth",
        "status": "ok",
        **{name: _way(worth.ways[name], places) if name in worth.ways else None for name in ADVICE},
        "advice": worth.advice,
        "most_to_pay": money(worth.most_to_pay, places),
        "strip": [piece.name for piece in worth.strip],
        "leave": [piece.name for piece in worth.leave],
    }


def _way(way: Way, places: int) -> dict[str, float]:
    told = {name: money(getattr(way.worth, name), places) for name in ("value", "low", "high")}
    return told | {"chance_best": round(way.best, 4), "chance_of_loss": round(way.loss, 4)}


def lines(told: dict[str, Any], places: int) -> Iterable[str]:
    """The same for a person."""
    yield ADVICE[told["advice"]]
    for name, called in NAMES.items():
        way = told[name]
        if way:
            yield (
                f"  {called}: {way['value']:.{places}f} ({way['low']:.{places}f} to {way['high']:.{places}f}); "
                f"turns out best with {percent(way['chance_best'])}, a loss with {percent(way['chance_of_loss'])}"
            )
    if told["strip"]:
        yield "Worth stripping: " + ", ".join(told["strip"]) + "."
    if told["leave"]:
        yield "Not worth its minutes: " + ", ".join(told["leave"]) + "."
    paid = f"Pay at most {told['most_to_pay']:.{places}f} for it."
    yield paid if told["most_to_pay"] else "Pay nothing for it: no way brings more than it costs."
