"""Tells many stories at once, in the order of time: each is a generator that yields the moment it goes on."""

from collections.abc import Iterator
from datetime import datetime
from heapq import heappop, heappush

from levelwind.demo.clock import ScriptedClock

Story = Iterator[datetime]


class Teller:
    """Wakes whichever story is next, with the clock set to its moment, until the clock's end.

    Told in the order of time, tags, bill numbers and ledgers run as they would have in a shop.
    """

    def __init__(self, clock: ScriptedClock) -> None:
        self.clock = clock
        self._waiting: list[tuple[datetime, int, Story]] = []
        self._begun = 0

    def begin(self, story: Story) -> None:
        """Take up a story at the first moment it names."""
        moment = next(story, None)
        if moment is not None:
            self._begun += 1
            heappush(self._waiting, (moment, self._begun, story))

    def tell(self) -> None:
        while self._waiting:
            moment, number, story = heappop(self._waiting)
            if moment > self.clock.end:
                continue
            self.clock.now = moment
            later = next(story, None)
            if later is not None:
                heappush(self._waiting, (max(later, moment), number, story))
