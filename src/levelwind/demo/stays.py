"""Which reels came to the invented shop, when, with what, and how far they are: the plan that the stories follow."""

from dataclasses import dataclass
from random import Random

from levelwind.demo.owners import BY_KEY, KEEPERS
from levelwind.demo.patterns import COMMON
from levelwind.demo.troubles import draw_trouble
from levelwind.shop.models import Stage

WAY = (
    Stage.BOOKED_IN,
    Stage.LOOKED_OVER,
    Stage.PRICE_SENT,
    Stage.AGREED,
    Stage.APART,
    Stage.TOGETHER,
    Stage.PROVED,
    Stage.BOXED,
    Stage.HOME,
)
SHARES = (0.0, 0.12, 0.16, 0.36, 0.58, 0.74, 0.82, 0.9, 1.0)
"""How much of a stay is over when each stage of the way is reached, for a stay that goes home."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stay:
    """One reel's stay: the true ``trouble`` of a pattern, booked in ``days`` ago, and the stage it reaches.

    ``idle`` is for how many days nothing has happened since. ``promised`` is days from today, before it where negative;
    ``order`` the place a part is on order for; ``said`` the owner's word; ``paid`` the share of the bill that is paid.
    ``full`` stays have every step of the bench in the book, ``logged`` ones the scale's logs, ``shown`` ones pictures.
    ``words`` is a complaint of its own; ``drafted`` has a price not sent; ``half_way`` is only half apart;
    ``remembered`` keeps what its pull as left said of the friction of its new washers.
    ``dearer`` was priced again once it was open.
    """

    code: str
    trouble: str
    days: int
    until: Stage = Stage.HOME
    idle: int = 0
    promised: int | None = None
    order: str = ""
    said: str = "yes"
    paid: float = 1.0
    full: bool = True
    logged: bool = False
    shown: bool = False
    half_way: bool = False
    drafted: bool = False
    asked: bool = True
    came_back: bool = False
    words: str = ""
    serial: str = ""
    dearer: bool = False
    remembered: bool = False

    @property
    def on_the_bench(self) -> bool:
        """Apart this very day with somebody looking on: every step and every piece is told."""
        return self.shown and self.until == Stage.APART

    @property
    def way(self) -> tuple[Stage, ...]:
        """The stages it reaches; one that ends otherwise, or stops at a no, has heard the owner's word."""
        last = Stage.AGREED if self.said == "no" else self.until
        return WAY[: WAY.index(last) + 1]

    @property
    def days_to_the_word(self) -> int:
        """How long the owner thinks the price over; the promise waits as long, and is given so much the sooner."""
        sent, agreed = WAY.index(Stage.PRICE_SENT), WAY.index(Stage.AGREED)
        return self.days_ago(sent) - self.days_ago(agreed) if len(self.way) > agreed else 0

    def days_ago(self, step: int) -> int:
        """When each step of the way falls, in whole days before today; never less than one."""
        span = max(0, self.days - 1 - self.idle)
        share = SHARES[step] / SHARES[len(self.way) - 1] if step else 0.0
        return self.days - round(span * share)


@dataclass(frozen=True, slots=True)
class Arrival:
    """A parcel: whose it is and the reels in it."""

    owner: str
    stays: tuple[Stay, ...]
    note: str = ""

    @property
    def days(self) -> int:
        return self.stays[0].days

    @property
    def at_the_counter(self) -> bool:
        return BY_KEY[self.owner].counter


def _one(days: int, owner: str, code: str, trouble: str, until: Stage, **more: object) -> Arrival:
    return Arrival(owner, (Stay(code=code, trouble=trouble, days=days, until=until, **more),))  # type: ignore[arg-type]


B, LO, PS, AG, AP, TO, PR, BX, HO = WAY
BACK, BONES = Stage.SENT_BACK, Stage.SPARES

TWICE = "61C 4402"
"""The serial number of the reel that comes back."""

AGAIN = "Came back from you in summer and the drag slips again, not as bad as it was."

CURRENT = (
    _one(1, "dunmere", "C20", "slips", B),
    _one(1, "gillow", "E50", "twist", B),
    _one(2, "vey", "V60", "bail", B, shown=True),
    _one(2, "prosp", "S35", "jerks", B, shown=True),
    _one(3, "munt", "K2", "service", B),
    _one(1, "hask", "O5", "backs_up", B),
    _one(4, "nance", "L22", "level_wind", B),
    _one(4, "birk", "E30", "backs_up", LO),
    _one(5, "joll", "S25", "short_cast", LO, shown=True),
    _one(6, "lathe", "W65", "jerks", LO, drafted=True),
    _one(5, "crane", "V80", "grinds", LO),
    _one(7, "iverley", "O8", "salt", LO, drafted=True, shown=True),
    _one(9, "quell", "S35", "slips", PS, idle=5, promised=12),
    _one(8, "imlay", "E80", "grinds", PS, idle=4, promised=9),
    _one(13, "selwick", "L18", "out_of_gear", PS, idle=9, promised=5),
    _one(6, "wragge", "V40", "knocks", PS, idle=1, promised=14),
    _one(11, "ferrant", "K1", "jerks", PS, idle=6, promised=8),
    _one(10, "noake", "SH2", "grinds", PS, idle=2, promised=10, said="no"),
    _one(12, "yarrow", "W45", "twist", AG, promised=4),
    _one(14, "ardle", "S45", "grinds", AG, idle=2, promised=11, order="main_gear"),
    _one(11, "mossop", "C12", "backs_up", AG, promised=3),
    _one(16, "tavis", "V80", "grinds", AG, idle=5, promised=-2, order="main_gear"),
    _one(9, "elger", "E50", "slips", AG, promised=6, said="up_to"),
    _one(15, "keld", "S35", "slips", AP, promised=-3, words=AGAIN, serial=TWICE, logged=True),
    _one(15, "brook", "S35", "short_cast", AP, promised=2, shown=True),
    _one(13, "rudd", "L22", "grinds", AP, promised=4, dearer=True),
    _one(18, "ulver", "E50", "backs_up", AP, promised=-1),
    _one(21, "lorne", "L28", "grinds", AP, idle=4, promised=-5, order="main_gear"),
    _one(17, "hythe", "V60", "bail", AP, promised=3),
    _one(12, "foss", "S25", "clicker", AP, promised=7, half_way=True),
    _one(20, "oxley", "O5", "slips", TO, promised=1, logged=True, shown=True),
    _one(16, "gorse", "E80", "jerks", TO, promised=2, logged=True),
    _one(19, "dray", "S35", "jerks", PR, promised=1, logged=True, shown=True),
    _one(15, "pellow", "V60", "grinds", PR, promised=2, logged=True),
    _one(18, "ashby", "C20", "out_of_gear", PR, promised=-1, logged=True, shown=True),
    _one(22, "kettle", "L18", "backs_up", BX, full=False, promised=0, logged=True, paid=0.5),
    _one(17, "orchard", "W45", "slips", BX, promised=1, logged=True),
    _one(20, "quarrie", "K2", "bail", BX, full=False, promised=1, paid=0.0),
    _one(29, "marrash", "S35", "slips", HO, idle=4, promised=-6, logged=True, shown=True),
    _one(27, "jessop", "E50", "jerks", HO, idle=2, promised=-1, logged=True, shown=True, paid=0.5),
    _one(33, "gannock", "O8", "jerks", HO, full=False, idle=9, promised=-8, logged=True),
    _one(24, "hask", "V40", "twist", HO, full=False, idle=1, promised=0),
    _one(30, "elger", "L28", "short_cast", HO, idle=6, promised=-5, logged=True, paid=0.0),
    _one(14, "wragge", "K1", "grinds", BACK, idle=3, said="no"),
    _one(19, "lathe", "S45", "salt", BACK, idle=6, said="no"),
    _one(23, "selwick", "E30", "grinds", BONES, idle=8, said="no"),
    _one(12, "vey", "WL50", "jerks", PR, promised=4, logged=True),
    _one(10, "crane", "WP10", "jerks", AP, promised=6, logged=True),
    _one(9, "nance", "WF7", "slips", TO, promised=5, logged=True),
    _one(7, "quell", "K5", "click", AP, promised=8),
    _one(11, "joll", "V30R", "slips", PR, promised=3, logged=True),
    Arrival("keld", (
        Stay(code="E80", trouble="service", days=8, until=PS, idle=3, promised=13),
        Stay(code="W65", trouble="bail", days=8, until=AG, promised=13),
    ), "Two from the surf club."),
    Arrival("saltfern", (
        Stay(code="L28", trouble="slips", days=26, until=HO, idle=2, promised=-2, full=False, logged=True,
             words="Number 1 of the boat's. Drag slips, every charter since August."),
        Stay(code="L28", trouble="jerks", days=26, until=BX, idle=1, promised=1, full=False, logged=True,
             words="Number 2. Drag jerks, lost two good cod."),
        Stay(code="L28", trouble="slips", days=26, until=PR, promised=3, logged=True,
             words="Number 3. Drag slips when it is wet."),
        Stay(code="L28", trouble="backs_up", days=26, until=TO, promised=3, logged=True,
             words="Number 4. Handle turns back on the strike."),
        Stay(code="L28", trouble="grinds", days=26, until=AP, idle=6, promised=6, order="main_gear",
             words="Number 5. Grinds under load, gets worse."),
        Stay(code="L18", trouble="slips", days=26, until=AP, promised=6,
             words="Number 6. Drag weak."),
        Stay(code="L18", trouble="short_cast", days=26, until=AP, promised=6, half_way=True,
             words="Number 7, spare. Spool slow, will not cast."),
        Stay(code="L18", trouble="out_of_gear", days=26, until=AG, idle=4, promised=8,
             words="Number 8. Jumps out of gear on a heavy pull."),
        Stay(code="O5", trouble="jerks", days=26, until=AG, idle=4, promised=8,
             words="The two old heavy ones: this one, drag sticks and grabs."),
        Stay(code="O5", trouble="salt", days=26, until=BONES, idle=14, said="no",
             words="The other old one fell in the bilge. Stiff with salt."),
        Stay(code="S45", trouble="slips", days=26, until=PS, idle=12, promised=9,
             words="Number 11. Drag slips, otherwise sound."),
        Stay(code="S45", trouble="clicker", days=26, until=LO, idle=18,
             words="Number 12. Clicker is dead."),
    ), "The boat's whole locker at the end of the season."),
    _one(6, "ferrant", "K9", "no_pickup", AP, promised=9),
    _one(5, "dunmere", "WL80", "shift", PS, idle=1, promised=15),
    _one(4, "munt", "K0", "backs_up", LO),
    _one(4, "gillow", "L6", "overruns", LO),
    _one(3, "yarrow", "W900", "motor", LO),
    _one(3, "prosp", "O3", "click", LO),
    _one(2, "birk", "V4P", "stands", B),
    _one(2, "rudd", "E40F", "free_run", B),
    _one(1, "foss", "S6S", "swivel", B),
)  # fmt: skip

FIRST_TIME = Arrival("keld", (
    Stay(code="S35", trouble="slips", days=151, idle=131, promised=-130, logged=True, remembered=True, came_back=True,
         serial=TWICE),
))  # fmt: skip
"""The stay after which the reel of `TWICE` came back."""

PAST = 52
"""Stays of the year before, besides those above. Lighter in detail, so that the book is filled in seconds."""


def past(rng: Random) -> tuple[Arrival, ...]:
    """The closed year: more reels in spring and at the end of the season, each from somebody who sends such reels."""
    arrivals = []
    people = [keeper.key for keeper in KEEPERS if keeper.key not in ("saltfern",)]
    for number in range(PAST):
        kind = rng.choice(COMMON)
        booked = 358 - round(318 * (number + rng.random()) / PAST)
        took = round(rng.triangular(7, 34, 15))
        ending = rng.random()
        until = BACK if ending < 0.06 else BONES if ending < 0.1 else HO
        stay = Stay(
            code=kind.code,
            trouble=draw_trouble(rng, kind.family, kind.code).key,
            days=booked,
            until=until,
            idle=booked - took - 1,
            promised=rng.choice((-2, -1, 0, 1, 2, 3, 5)) + took - booked,
            said="no" if until != HO else rng.choice(("yes", "yes", "yes", "up_to")),
            paid=0.6 if number in (44, 50) else 1.0,
            full=False,
            asked=booked - took > 75 or rng.random() < 0.4,
        )
        arrivals.append(Arrival(rng.choice(people), (stay,)))
    arrivals.append(FIRST_TIME)
    return tuple(arrivals)
