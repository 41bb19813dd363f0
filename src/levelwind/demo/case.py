"""What the tellers of one reel's stay hold in hand."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from random import Random

from levelwind.demo.clock import ScriptedClock
from levelwind.demo.patterns import BY_CODE, Kind
from levelwind.demo.pictures import Album
from levelwind.demo.stays import Stay
from levelwind.demo.teller import Teller
from levelwind.demo.troubles import Trouble, trouble
from levelwind.shop.models import Job, Owner, Pattern


@dataclass(frozen=True, slots=True)
class Shopful:
    """What every story can reach for."""

    teller: Teller
    owners: dict[str, Owner]
    patterns: dict[str, Pattern]
    album: Album

    @property
    def clock(self) -> ScriptedClock:
        return self.teller.clock


@dataclass(frozen=True, slots=True)
class Case:
    """One job with the stay it is told by, the trouble its reel truly has, and its own dice."""

    shop: Shopful
    job: Job
    stay: Stay
    rng: Random

    @property
    def kind(self) -> Kind:
        return BY_CODE[self.stay.code]

    @property
    def what(self) -> Trouble:
        return trouble(self.kind.family, self.stay.trouble)

    def at(self, step: int) -> datetime:
        """The moment of a step of the way: on its day, in the order of the hours, never back."""
        moment = self.shop.clock.moment(self.stay.days_ago(step), 8.6 + 1.1 * step + 0.4 * self.rng.random())
        return max(moment, self.soon(5))

    def soon(self, minutes: float) -> datetime:
        return self.shop.clock.now + timedelta(minutes=minutes)
