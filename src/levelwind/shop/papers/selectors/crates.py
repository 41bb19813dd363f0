"""The price of a crate on one paper: a line for each reel."""

from django.utils import timezone

from levelwind.documents import letterhead as letterhead_paper
from levelwind.documents import price as price_paper
from levelwind.shop.money.crates import Crate, CrateRow
from levelwind.shop.papers.selectors.sheets import price_taxes, tax_held
from levelwind.shop.people.selectors import letterhead, lines, shop_get


def crate_sheet(crate: Crate) -> price_paper.Price:
    """The price as the crate's owner gets it; what is done to each reel stands on the reel's own price."""
    shop, owner, priced = shop_get(), crate.parcel.owner, crate.priced
    first, last = priced[0].job.tag, priced[-1].job.tag
    head = letterhead_paper.JobHead(
        tag=first if first == last else f"{first} to {last}",
        owner=owner.name,
        reel=f"{len(priced)} reel{'' if len(priced) == 1 else 's'}",
        owner_address=lines(owner.address),
        invented=shop.invented,
    )
    return price_paper.Price(
        shop=letterhead(shop),
        job=head,
        dated=timezone.localdate(),
        lines=tuple(_line(row) for row in priced),
        taxes=price_taxes(crate.totals),
        promise=_promise(priced),
        included=tuple(filter(None, (tax_held(crate.totals),))),
        say_yes="Say yes, no, or yes up to a sum for all of them, and no to single reels by their tag numbers.",
    )


def _line(row: CrateRow) -> price_paper.PriceLine:
    job = row.job
    serial = f", No. {job.serial}" if job.serial else ""
    low, likely, high = (sum(getattr(line, f"{end}_minor") for line in row.lines) for end in ("low", "likely", "high"))
    done = "; ".join(line.text for line in row.lines if line.likely_minor)
    return price_paper.PriceLine(f"{job.tag} {job.reel}{serial}", "work", low, likely, high, done)


def _promise(priced: tuple[CrateRow, ...]) -> price_paper.Promise | None:
    """The last of the days promised, where every reel has one; its chance is nobody's for all of them together."""
    days = [row.job.promised_on for row in priced if row.job.promised_on]
    return price_paper.Promise(max(days)) if len(days) == len(priced) else None
