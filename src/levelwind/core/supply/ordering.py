"""Which parts to order today, and which at the next chance: postage, minimums and packs against waiting and keeping.

A unit more of a part than the shelf has is wanted while use exceeds the position. Bought to be there on day A, in a
plan that looks ahead to day T, it costs

    F(A) = waiting ∫ from 0 to A of P(use by t reaches it) dt + holding ∫ from A to T of P(use by t does not) dt

and unbought F(T). One unknown says whether a unit is bought, where and when; one whether a parcel is sent. Their sum is
made least by mixed integer programming (HiGHS, through scipy).
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from levelwind.core.errors import NoConvergenceError, NotDeterminedError
from levelwind.core.quantities import Quantity
from levelwind.core.supply.demand import DAYS_A_MONTH, Demand, Numbers, chances, demands, newsvendor, with_maybe
from levelwind.core.supply.spreads import Generator
from levelwind.core.supply.stock import Offer, Part, Shelf, Supplier

TIMES = 24
"""Parts the time looked ahead is cut into. Our choice: costs then move by less than a hundredth."""
PERT_WEIGHTS = (1 / 6, 4 / 6, 1 / 6)
"""Weights of a supplier's low, likely and high days: PERT's mean."""
RARELY = 1e-3
"""Chance of use below which a further unit is not thought of. Our choice."""
SPARE_UNITS = 2
"""Units beyond that which may still fill a parcel up. Our choice."""
FILL = 3
"""Times what a parcel may lack that the units looked at to fill it up are worth. Our choice: room to fit exactly."""
MOST_THOUGHT_OF = 512
"""Units of one part that a plan may buy. Our choice."""
MOST_KEPT = 64
"""Units of one part that it is ever advised to keep. Our choice."""
SECONDS, SECONDS_OF_WAITING = 2.5, 1.0
"""s; time the solver may take for the plan, and for the one in which all waits. What is not proven by then is told with
its gap. Our choice: the whole in 5 s."""
LASTS = 0.9
"""Chance with which it is told how long a last buy lasts. Our choice, the house's interval."""
COST_DRAWS, FEWEST_DRAWS, MOST_DRAWS = 2_000_000, 200, 2000
"""Futures of the cost's interval: so many numbers in all, from fewest to most futures. Our choice: under a second."""
PATIENCE = (4, 16)
"""Times as long that the solver may take where it has found nothing yet: a busy machine. Our choice."""
AFTERWARDS_DAYS = 1826.25
"""Days after the plan for which a unit beyond what it is good to keep is still paid for, five years. Our choice."""
TODAY, LATER = 0, 1
"""The two times at which a parcel may be ordered."""


@dataclass(frozen=True, slots=True)
class Line:
    """So many units of a part in one parcel."""

    part: Part
    units: int
    cost: int
    """Goods, in minor units."""


@dataclass(frozen=True, slots=True)
class Parcel:
    """What is ordered of one supplier at one time."""

    supplier: Supplier
    lines: tuple[Line, ...]
    goods: int
    postage: int
    moved: float | None
    """What more is expected to be paid, in minor units, where all of it is ordered at the other of the two times; None
    where a last buy is in it."""


@dataclass(frozen=True, slots=True)
class Lasting:
    """A last buy: how many units there will be, and how long they last with ``LASTS``."""

    part: Part
    units: int
    years: float
    years_are_more: bool
    """It lasts longer than the years asked for, how much longer is not worked out."""


@dataclass(frozen=True, slots=True)
class Plan:
    """The order: parcels today, parcels at the next chance as it looks now."""

    today: tuple[Parcel, ...]
    wait: tuple[Parcel, ...]
    cost: Quantity
    """Minor units until the plan ends: postage, waiting, keeping what is bought, dearer offers; no goods at their
    price, for they are on the shelf or used."""
    if_all_waits: float | None
    """The least expected cost where nothing is ordered today; None where a last buy must be."""
    proven: bool
    gap: float
    """By which part of the cost a better plan could still be cheaper."""
    last_buys: tuple[Lasting, ...]
    demands: tuple[Demand, ...]
    keep: tuple[int, ...]
    """By part: the position to order up to, from waiting against holding over lead time and the time between orders."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Further units of one part, and what each costs by how it is bought."""

    part: Part
    demand: Demand
    unbought: Numbers
    """F(T) by unit."""
    bought: Numbers
    """By offer, time (today, later) and unit: F(A), what the offer is dearer than the cheapest, and ``afterwards``."""
    afterwards: Numbers
    """By offer and unit: its keep after the plan's end, until a position so high would be wanted."""
    must: int = 0
    """Units that a last buy needs today."""


def order(shelf: Shelf, rng: Generator) -> Plan:
    """The best plan for the shelf. Raises NotDeterminedError where what must be bought cannot be ordered."""
    known = demands(shelf.parts)
    keep = _keep(shelf, known)
    wanted = _wanted(shelf, known, keep)
    best = _Program(shelf, wanted).solve(today=True)
    unbought = sum(float(each.unbought.sum()) for each in wanted)
    expected = best.cost + unbought
    must = any(each.must for each in wanted)
    return Plan(
        today=_parcels(shelf, wanted, best.units, TODAY),
        wait=_parcels(shelf, wanted, best.units, LATER),
        cost=_spread(shelf, wanted, best, expected, rng),
        if_all_waits=None if must else _Program(shelf, wanted).solve(today=False).cost + unbought,
        proven=best.short == 0,
        gap=best.short / expected if expected else 0.0,
        last_buys=tuple(_lasting(each) for each in wanted if each.part.last_buy),
        demands=tuple(known),
        keep=keep,
    )


def _ends(shelf: Shelf, part: Part) -> float:
    """The day to which the plan looks for that part: when what the order after the next brings will be there."""
    longest = max(shelf.supplier(offer.supplier).days.mean for offer in part.offers)
    return shelf.next_days + shelf.cover_days + longest


def _wanted(shelf: Shelf, known: Sequence[Demand], keep: Sequence[int]) -> list[Wanted]:
    """Parts that need about as many units thought of are worked out together."""
    ends = [_ends(shelf, part) for part in shelf.parts]
    last = {n: _last_buy(shelf, part, known[n]) for n, part in enumerate(shelf.parts) if part.last_buy}
    sizes = [_thought_of(part, known[n], ends[n], last.get(n, 0)) for n, part in enumerate(shelf.parts)]
    wanted: dict[int, Wanted] = {}
    for size in sorted(set(sizes)):
        group = [n for n, each in enumerate(sizes) if each == size]
        most = size + max(max(shelf.parts[n].position, 0) for n in group)
        times = np.array([ends[n] for n in group])[:, None] * (np.arange(TIMES) + 0.5) / TIMES
        chance = chances([known[n] for n in group], times, most)
        later = times[:, -1:] + AFTERWARDS_DAYS * (np.arange(TIMES) + 0.5) / TIMES
        further = chances([known[n] for n in group], later, most)
        for row, n in enumerate(group):
            part = shelf.parts[n]
            reached = _reached(part.position, part.maybe, chance[row], size)
            afterwards = np.array(
                [_afterwards(shelf, part, offer, keep[n], further[row], size) for offer in part.offers]
            )
            wanted[n] = _priced(shelf, part, known[n], reached, ends[n], afterwards, last.get(n, 0))
    return [wanted[n] for n in range(len(shelf.parts))]


def _thought_of(part: Part, demand: Demand, ends: float, last: int) -> int:
    """Units beyond the position that may be worth buying, up to the next power of two."""
    mean = demand.a_month.value * ends / DAYS_A_MONTH + len(part.maybe)
    wide = (mean * (1 + demand.stick) / (1 - demand.stick) * (1 + ends / DAYS_A_MONTH / demand.months)) ** 0.5
    far = mean + 4 * wide + 2 - part.position
    needed = max(far, last, -part.position + 1, max(offer.pack for offer in part.offers), 1) + SPARE_UNITS
    return int(min(2 ** np.ceil(np.log2(needed)), MOST_THOUGHT_OF))


def _afterwards(shelf: Shelf, part: Part, offer: Offer, keep: int, further: Numbers, size: int) -> Numbers:
    """By unit: what keeping it costs after the plan, until use has come down to where it would be bought anyway.

    That is what is good to keep, in whole packs.
    """
    over = part.position - keep
    unused = 1 - _reached(over if over > 0 else over // offer.pack * offer.pack, part.maybe, further, size)
    return np.asarray(_a_day(shelf, part)[1] * AFTERWARDS_DAYS / TIMES * unused.sum(axis=0))


def _reached(first: int, maybe: Sequence[float], chance: Numbers, size: int) -> Numbers:
    """P(use by each time reaches the k-th unit beyond ``first``, the position), by time and k."""
    reaches = 1 - np.cumsum(with_maybe(chance, maybe), axis=-1)
    before = max(-first, 0)
    tail = np.clip(reaches[:, max(first, 0) : max(first, 0) + size - before], 0.0, 1.0)
    return np.hstack([np.ones((TIMES, min(before, size))), tail])[:, :size]


def _priced(
    shelf: Shelf, part: Part, demand: Demand, reached: Numbers, ends: float, afterwards: Numbers, must: int
) -> Wanted:
    waiting, holding = _a_day(shelf, part)
    step = ends / TIMES

    def cost(before: Numbers) -> Numbers:
        """F, where so much of each stretch of time lies before the unit is there."""
        return np.asarray(step * (waiting * (before @ reached) + holding * ((1 - before) @ (1 - reached))))

    bought = []
    for which, offer in enumerate(part.offers):
        days = shelf.supplier(offer.supplier).days
        for start in (0, shelf.next_days):
            there = np.array(days.ends) + start
            before = np.clip(there[:, None] / step - np.arange(TIMES), 0, 1)
            bought.append(cost(np.asarray(PERT_WEIGHTS) @ before) + (offer.price - part.price) + afterwards[which])
    shape = (len(part.offers), 2, reached.shape[1])
    return Wanted(part, demand, cost(np.ones(TIMES)), np.array(bought).reshape(shape), afterwards, must)


def _last_buy(shelf: Shelf, part: Part, demand: Demand) -> int:
    """Units beyond the position that pay: a newsvendor, unit by unit. The k-th pays while

    missing · P(use within the years reaches it) > price · (1 + holding a year · the mean years it is kept).
    """
    assert part.last_buy is not None
    step = part.last_buy.years / TIMES
    times = np.asarray(step * 365.25 * (np.arange(TIMES) + 0.5)[None, :], dtype=np.float64)
    chance = chances([demand], times, MOST_THOUGHT_OF + max(part.position, 0))[0]
    reached = _reached(part.position, part.maybe, chance, MOST_THOUGHT_OF)
    kept = step * (1 - reached).sum(axis=0)
    pays = part.last_buy.missing * reached[-1] > part.price * (1 + shelf.holding_a_year * kept)
    return int(np.count_nonzero(pays))


def _lasting(wanted: Wanted) -> Lasting:
    """How long position and last buy last, in tenths of a year."""
    part = wanted.part
    assert part.last_buy is not None
    units = part.position + wanted.must
    years = np.arange(1, int(10 * part.last_buy.years) + 1) / 10
    chance = with_maybe(chances([wanted.demand], years[None, :] * 365.25, max(units, 0)), part.maybe)[0]
    enough = np.flatnonzero(chance.sum(axis=-1) >= LASTS) if units >= 0 else np.array([], dtype=int)
    lasts = float(years[enough[-1]]) if len(enough) else 0.0
    return Lasting(part, wanted.must, lasts, len(enough) == len(years))


def _keep(shelf: Shelf, known: Sequence[Demand]) -> tuple[int, ...]:
    """Base stock: enough use over lead time and the time between orders with waiting / (waiting + holding)."""
    lead = [min(shelf.supplier(offer.supplier).days.mean for offer in part.offers) for part in shelf.parts]
    days = np.array(lead)[:, None] + shelf.next_days + shelf.cover_days / 2
    chance, values = chances(known, days, MOST_KEPT)[:, 0], np.arange(MOST_KEPT + 1.0)
    costs = [_a_day(shelf, part) for part in shelf.parts]
    return tuple(
        int(newsvendor(values, row, holding, waiting).units)
        for row, (waiting, holding) in zip(chance, costs, strict=True)
    )


def _a_day(shelf: Shelf, part: Part) -> tuple[float, float]:
    """What a day of waiting for a unit costs, and a day of keeping one."""
    waiting = shelf.waiting if part.waiting is None else part.waiting
    return waiting, part.price * shelf.holding_a_year / 365.25


@dataclass(slots=True)
class _Answer:
    cost: float
    """Against buying nothing."""
    short: float
    """How much less a better plan may still cost; 0: there is none."""
    units: dict[tuple[int, int, int], list[int]]
    """By part, offer and time: the numbers of the units bought."""
    postage: float


@dataclass(slots=True)
class _Program:
    """The unknowns by their columns, and the rows that bind them."""

    shelf: Shelf
    wanted: Sequence[Wanted]
    costs: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    rows: list[tuple[dict[int, float], float, float]] = field(default_factory=list)
    units: dict[tuple[int, int, int, int], int] = field(default_factory=dict)
    sent: dict[tuple[str, int], int] = field(default_factory=dict)

    def _column(self, cost: float, upper: float = 1.0) -> int:
        self.costs.append(cost)
        self.upper.append(upper)
        return len(self.costs) - 1

    def solve(self, *, today: bool) -> _Answer:
        for supplier in self.shelf.suppliers:
            for time in (TODAY, LATER):
                self.sent[supplier.key, time] = self._column(supplier.postage, 1.0 if today or time else 0.0)
        fill = self._fill()
        for n in range(len(self.wanted)):
            self._buy(n, fill)
        goods = self._goods()
        for supplier in self.shelf.suppliers:
            for time in (TODAY, LATER):
                self._parcel(supplier, time, goods.get((supplier.key, time), {}))
        return self._solved(SECONDS if today else SECONDS_OF_WAITING)

    def _fill(self) -> dict[tuple[int, int, int], int]:
        """By part, offer and time, how many units that do not pay may fill a parcel up to a minimum or free postage.

        Of each supplier's the cheapest to keep for their price, until they are worth ``FILL`` times what may lack.
        """
        spare: dict[tuple[str, int], list[tuple[float, int, int, int]]] = {}
        for n, each in enumerate(self.wanted):
            for which, offer in enumerate(each.part.offers):
                for time in (TODAY, LATER):
                    costs = each.bought[which, time] - each.unbought
                    slot = spare.setdefault((offer.supplier, time), [])
                    slot += [(float(cost) / offer.price, n, which, offer.price) for cost in costs[costs >= 0]]
        fill: dict[tuple[int, int, int], int] = {}
        for (key, time), units in spare.items():
            supplier = self.shelf.supplier(key)
            left = FILL * max(supplier.minimum, supplier.free_from or 0)
            for _, n, which, price in sorted(units):
                if left <= 0:
                    break
                fill[n, which, time] = fill.get((n, which, time), 0) + 1
                left -= price
        return fill

    def _buy(self, n: int, fill: dict[tuple[int, int, int], int]) -> None:
        """Each unit at most once, by a parcel that is sent; only where it pays, or may fill up a parcel or a pack."""
        wanted = self.wanted[n]
        once: dict[int, dict[int, float]] = {}
        for which, offer in enumerate(wanted.part.offers):
            for time in (TODAY, LATER):
                gain = wanted.bought[which, time] - wanted.unbought
                worth = max(int(np.count_nonzero(gain < 0)), wanted.must) + fill.get((n, which, time), 0)
                many = int(min(np.ceil(worth / offer.pack) * offer.pack, len(gain)))
                for k in range(many):
                    column = self._column(float(gain[k]))
                    self.units[n, which, time, k] = column
                    once.setdefault(k, {})[column] = 1.0
                    self.rows.append(({column: 1.0, self.sent[offer.supplier, time]: -1.0}, -np.inf, 0.0))
                if offer.pack > 1:
                    self._in_packs(n, which, time, offer.pack, many)
        self.rows += [(row, -np.inf, 1.0) for row in once.values() if len(row) > 1]
        if wanted.must:
            today = {column: 1.0 for (part, _, time, _), column in self.units.items() if part == n and time == TODAY}
            self.rows.append((today, float(wanted.must), np.inf))

    def _in_packs(self, n: int, which: int, time: int, pack: int, many: int) -> None:
        row = {self.units[key]: 1.0 for key in ((n, which, time, k) for k in range(many))}
        packs = self._column(0.0, float(len(row) // pack))
        self.rows.append((row | {packs: -float(pack)}, 0.0, 0.0))

    def _goods(self) -> dict[tuple[str, int], dict[int, float]]:
        goods: dict[tuple[str, int], dict[int, float]] = {}
        for (n, which, time, _), column in self.units.items():
            offer = self.wanted[n].part.offers[which]
            goods.setdefault((offer.supplier, time), {})[column] = float(offer.price)
        return goods

    def _parcel(self, supplier: Supplier, time: int, goods: dict[int, float]) -> None:
        sent = self.sent[supplier.key, time]
        if supplier.minimum:
            self.rows.append((goods | {sent: -float(supplier.minimum)}, 0.0, np.inf))
        if supplier.free_from is not None:
            free = self._column(-float(supplier.postage))
            self.rows.append(({free: 1.0, sent: -1.0}, -np.inf, 0.0))
            self.rows.append((goods | {free: -float(supplier.free_from)}, 0.0, np.inf))

    def _solved(self, seconds: float) -> _Answer:
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_array

        entries = [(value, number, column) for number, row in enumerate(self.rows) for column, value in row[0].items()]
        values, numbers, columns = zip(*entries, strict=True) if entries else ((), (), ())
        matrix = csr_array((values, (numbers, columns)), shape=(len(self.rows), len(self.costs)))
        for limit in (seconds, *(seconds * more for more in PATIENCE)):
            answer = milp(
                np.asarray(self.costs),
                constraints=LinearConstraint(matrix, [row[1] for row in self.rows], [row[2] for row in self.rows]),
                bounds=Bounds(np.zeros(len(self.costs)), np.asarray(self.upper)),
                integrality=np.ones(len(self.costs)),
                options={"mip_rel_gap": 0, "time_limit": limit},
            )
            if answer.status != 1 or (answer.x is not None and np.isfinite(answer.mip_dual_bound)):
                break
        else:
            raise NoConvergenceError("No plan was found in the time there is. Ask for fewer parts at a time.")
        if answer.x is None:
            words = "What must be bought today cannot be ordered: a minimum is not reached, or packs do not fit."
            raise NotDeterminedError(words)
        short = float(answer.fun - answer.mip_dual_bound) if answer.status else 0.0
        return self._read(answer.x, float(answer.fun), short)

    def _read(self, x: NDArray[np.float64], cost: float, short: float) -> _Answer:
        units: dict[tuple[int, int, int], list[int]] = {}
        for (n, which, time, k), column in self.units.items():
            if x[column] > 0.5:
                units.setdefault((n, which, time), []).append(k)
        bought = sum(self.costs[column] for column in self.units.values() if x[column] > 0.5)
        return _Answer(cost, short, units, cost - bought)


def _parcels(
    shelf: Shelf, wanted: Sequence[Wanted], units: dict[tuple[int, int, int], list[int]], when: int
) -> tuple[Parcel, ...]:
    lines: dict[str, list[Line]] = {}
    for (
        n,
        which,
        time,
    ), numbers in sorted(units.items()):
        if time == when:
            part = wanted[n].part
            offer = part.offers[which]
            lines.setdefault(offer.supplier, []).append(Line(part, len(numbers), len(numbers) * offer.price))
    parcels = []
    for supplier in shelf.suppliers:
        if supplier.key in lines:
            goods = sum(line.cost for line in lines[supplier.key])
            moved = _moved(wanted, units, supplier, when)
            parcels.append(Parcel(supplier, tuple(lines[supplier.key]), goods, _postage(supplier, goods), moved))
    return tuple(parcels)


def _postage(supplier: Supplier, goods: int) -> int:
    free = supplier.free_from is not None and goods >= supplier.free_from
    return supplier.postage if goods and not free else 0


def _moved(
    wanted: Sequence[Wanted], units: dict[tuple[int, int, int], list[int]], supplier: Supplier, when: int
) -> float | None:
    """``Parcel.moved``: its units at the other time, in one parcel with what is ordered then of the same supplier."""
    more, goods = 0.0, [0, 0]
    for (n, which, time), numbers in units.items():
        each = wanted[n]
        if each.part.offers[which].supplier != supplier.key:
            continue
        goods[time] += len(numbers) * each.part.offers[which].price
        if time == when:
            if each.must:
                return None
            more += float((each.bought[which, 1 - time] - each.bought[which, time])[numbers].sum())
    return more + _postage(supplier, sum(goods)) - sum(_postage(supplier, each) for each in goods)


def _spread(shelf: Shelf, wanted: Sequence[Wanted], best: _Answer, expected: float, rng: Generator) -> Quantity:
    """The expected cost with the interval of what it comes to, by futures of every part's use."""
    many = int(np.clip(COST_DRAWS / len(wanted) / TIMES, FEWEST_DRAWS, MOST_DRAWS))
    total = np.full(many, best.postage)
    bought: dict[int, dict[tuple[int, int], list[int]]] = {}
    for (n, which, time), numbers in best.units.items():
        bought.setdefault(n, {})[which, time] = numbers
    for n, each in enumerate(wanted):
        total += _cost_in_futures(shelf, each, bought.get(n, {}), many, rng)
    low, high = np.quantile(total, (0.05, 0.95))
    return Quantity(expected, min(float(low), expected), max(float(high), expected))


def _cost_in_futures(
    shelf: Shelf, wanted: Wanted, units: dict[tuple[int, int], list[int]], many: int, rng: Generator
) -> Numbers:
    part, demand, ends = wanted.part, wanted.demand, _ends(shelf, wanted.part)
    step = ends / TIMES
    months = (
        np.r_[0.5, np.ones(TIMES - 1)] * step / DAYS_A_MONTH
    )  # from the middle of each part of the time to the next
    batches = rng.poisson(np.outer(rng.standard_gamma(demand.shape, many) / demand.months, months))
    more = demand.stick / (1 - demand.stick)
    used = (batches + rng.poisson(more * rng.standard_gamma(batches)) if more else batches).cumsum(axis=1)
    for chance in part.maybe:
        used = used + (rng.random(many) < chance)[:, None]
    beyond = np.clip(used - part.position, 0, len(wanted.unbought))
    waiting, holding = _a_day(shelf, part)
    cost = waiting * step * beyond.sum(axis=1).astype(float)
    for (which, time), numbers in units.items():
        offer = part.offers[which]
        days = shelf.supplier(offer.supplier).days
        there = rng.choice(days.ends, many, p=PERT_WEIGHTS)
        there += shelf.next_days if time == LATER else 0
        after = 1 - np.clip(there[:, None] / step - np.arange(TIMES), 0, 1)
        for k in numbers:
            kept = after.sum(axis=1, where=beyond <= k)
            sooner = after.sum(axis=1, where=beyond > k)
            cost += step * (holding * kept - waiting * sooner) + offer.price - part.price + wanted.afterwards[which, k]
    return np.asarray(cost)
