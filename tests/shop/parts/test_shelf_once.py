"""One part on the shelf and eight who press "take it" at the same moment."""

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import StockEntry
from levelwind.shop.parts.selectors.shelf import stock_of
from levelwind.shop.parts.services.shelf import part_add, stock_take
from tests.emptied import emptied_afterwards, triggers_back
from tests.jobs import a_job
from tests.shop.at_once import at_once

__all__ = ["emptied_afterwards", "triggers_back"]


def test_the_last_one_is_taken_once(emptied_afterwards: None) -> None:
    job, part = a_job(), part_add(number="T-114", name="Drag washer", count=1)
    refused = at_once(job, lambda own: stock_take(part=part, job=own), 8)
    assert len(refused) == 7
    assert all(isinstance(one, LevelwindError) and "nothing was taken" in str(one) for one in refused)
    assert stock_of(part).new == 0
    assert StockEntry.objects.filter(why="taken").count() == 1
