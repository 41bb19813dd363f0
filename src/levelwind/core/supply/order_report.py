"""An order as data and for a person."""

from collections.abc import Iterable, Sequence
from typing import Any

from levelwind.core.quantities import Quantity, percent
from levelwind.core.supply.demand import forecasts
from levelwind.core.supply.ordering import LASTS, Parcel, Plan
from levelwind.core.supply.stock import Shelf


def as_dict(shelf: Shelf, plan: Plan, places: int, *, why: bool = False) -> dict[str, Any]:
    """What ``levelwind order --json`` prints; money in major units, rounded half up to its ``places`` of decimals.

    Sums of goods and postage are exact; expected costs are rounded once, here.
    """
    waits = None if plan.if_all_waits is None else money(plan.if_all_waits, places)
    told: dict[str, Any] = {
        "kind": "order",
        "status": "ok",
        "today": [_parcel(each, places) for each in plan.today],
        "wait": [_parcel(each, places) for each in plan.wait],
        "next_days": shelf.next_days,
        "cost": {name: money(getattr(plan.cost, name), places) for name in ("value", "low", "high")},
        "if_all_waits": waits,
        "proven": plan.proven,
        "gap": plan.gap,
        "last_buys": [
            {
                "part": each.part.key,
                "units": each.units,
                "years": each.years,
                "or_more": each.years_are_more,
                "chance": LASTS,
            }
            for each in plan.last_buys
        ],
    }
    return told | ({"use": _use(shelf, plan)} if why else {})


def money(minor: float, places: int) -> float:
    """
    >>> money(1234.5, 2), money(7, 0)
    (12.35, 7.0)
    """
    whole = int(minor + 0.5) if minor >= 0 else -int(0.5 - minor)
    return whole / float(10**places)


def _parcel(parcel: Parcel, places: int) -> dict[str, Any]:
    return {
        "supplier": parcel.supplier.key,
        "name": parcel.supplier.name,
        "goods": money(parcel.goods, places),
        "postage": money(parcel.postage, places),
        "lines": [
            {"part": line.part.key, "name": line.part.name, "units": line.units, "cost": money(line.cost, places)}
            for line in parcel.lines
        ],
    }


def _use(shelf: Shelf, plan: Plan) -> list[dict[str, Any]]:
    rows = []
    for part, demand, keep in zip(shelf.parts, plan.demands, plan.keep, strict=True):
        trade, a_month = forecasts(part.used), demand.a_month
        rows.append(
            {
                "part": part.key,
                "position": part.position,
                "keep": keep,
                "a_month": {name: round(getattr(a_month, name), 4) for name in ("value", "low", "high")},
                "croston": round(trade.croston, 4),
                "sba": round(trade.sba, 4),
                "tsb": round(trade.tsb, 4),
            }
        )
    return rows


def lines(told: dict[str, Any], places: int) -> Iterable[str]:
    """The same for a person."""
    next_time = "tomorrow" if told["next_days"] == 1 else f"in {told['next_days']} days"
    yield "Order today:" if told["today"] else "Order nothing today."
    yield from _parcel_lines(told["today"], places)
    if told["wait"]:
        yield f"Let wait until the next chance, {next_time}, as it looks now:"
        yield from _parcel_lines(told["wait"], places)
    cost = told["cost"]
    yield (
        f"Waiting, keeping and postage are then expected to cost {cost['value']:.{places}f} "
        f"({cost['low']:.{places}f} to {cost['high']:.{places}f})."
    )
    if told["if_all_waits"] is not None and told["today"]:
        more = told["if_all_waits"] - cost["value"]
        yield f"If all of it waits until the next chance, {more:.{places}f} more."
    yield (
        "No plan is cheaper: proven."
        if told["proven"]
        else f"A better plan may be {percent(told['gap'])} cheaper: not proven."
    )
    for each in told["last_buys"]:
        years = f"{'over ' * each['or_more']}{each['years']:g} years with {percent(each['chance'])}"
        yield f"Last buy, {each['part']}: {each['units']}; with what there is it lasts {years}."
    yield from _use_lines(told.get("use", ()))


def _parcel_lines(parcels: Sequence[dict[str, Any]], places: int) -> Iterable[str]:
    for parcel in parcels:
        postage = f"postage {parcel['postage']:.{places}f}" if parcel["postage"] else "no postage"
        yield f"  {parcel['name'] or parcel['supplier']}: goods {parcel['goods']:.{places}f}, {postage}"
        for line in parcel["lines"]:
            yield f"    {line['units']:>3} {line['name'] or line['part']}, {line['cost']:.{places}f}"


def _use_lines(use: Sequence[dict[str, Any]]) -> Iterable[str]:
    if use:
        yield "Units used a month, and the position (in stock and on order, less what jobs need) to keep:"
    for row in use:
        a_month = Quantity(**row["a_month"])
        yield (
            f"  {row['part']}: {a_month.value:.2f} ({a_month.low:.2f} to {a_month.high:.2f}); "
            f"{row['position']} there, keep {row['keep']}; "
            f"Croston {row['croston']:.2f}, corrected {row['sba']:.2f}, TSB {row['tsb']:.2f}"
        )
