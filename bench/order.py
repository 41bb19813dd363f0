"""Time of an order over 2,000 parts and 12 suppliers. Wanted: proven best, or its gap told, in 5 s."""

from time import perf_counter

import numpy as np

from levelwind.core.supply.model import Spread
from levelwind.core.supply.ordering import order
from levelwind.core.supply.stock import Offer, Part, Shelf, Supplier

PARTS, SUPPLIERS = 2000, 12


def shelf(seed: int) -> Shelf:
    """Slow parts, some in packs, half with a second offer; minimums, free postage, jobs that are short of a part."""
    dice = np.random.default_rng(seed)
    suppliers = tuple(
        Supplier(
            f"s{n}",
            Spread(2 + n % 3, 4 + n % 5, 15 + n),
            postage=400 + 100 * (n % 4),
            minimum=2500 * (n % 3 == 0),
            free_from=8000 if n % 4 == 1 else None,
        )
        for n in range(SUPPLIERS)
    )
    parts = []
    for n in range(PARTS):
        used = dice.poisson(dice.gamma(0.5, 0.4), 24) * dice.integers(1, 3, 24)
        sold_by = dice.choice(SUPPLIERS, dice.integers(1, 3), replace=False)
        offers = tuple(Offer(f"s{s}", int(dice.integers(80, 3000)), 5 if dice.random() < 0.05 else 1) for s in sold_by)
        stock, needed = int(dice.poisson(1)), int(dice.random() < 0.03)
        parts.append(Part(f"p{n}", offers, tuple(int(each) for each in used), stock=stock, needed=needed))
    return Shelf(suppliers, tuple(parts), 4, 30, 0.3, 150.0)


def main() -> None:
    for seed in range(3):
        start = perf_counter()
        plan = order(shelf(seed), np.random.default_rng(1))
        took = perf_counter() - start
        proven = "proven" if plan.proven else f"gap {plan.gap:.2%}"
        print(f"{PARTS} parts, {SUPPLIERS} suppliers: {took:.1f} s, {proven}, {len(plan.today)} parcels today")


if __name__ == "__main__":
    main()
