"""The shop's papers filled in from the book: rows in, frozen sheets out, for ``documents`` to print."""

from django.utils import timezone

from levelwind.documents import price as price_paper
from levelwind.shop.models import Price, Seen
from levelwind.shop.selectors.hunches import job_net
from levelwind.shop.selectors.prices import price_totals
from levelwind.shop.selectors.shops import letterhead, sheet_head, shop_get


def price_sheet(price: Price) -> price_paper.Price:
    """The price as its owner gets it."""
    job, shop = price.job, shop_get()
    rows = tuple(price.lines.all())
    tax = price_totals(rows, shop).tax
    return price_paper.Price(
        shop=letterhead(shop),
        job=sheet_head(job, shop),
        dated=timezone.localdate(price.sent_at or timezone.now()),
        lines=tuple(
            price_paper.PriceLine(
                row.text,
                row.kind,  # type: ignore[arg-type]
                row.low_minor,
                row.likely_minor,
                row.high_minor,
                f"about {row.minutes} minutes" if row.minutes else "",
            )
            for row in rows
        ),
        complaint=job.complaint,
        found=found_in_words(price),
        tax=price_paper.Tax(f"{shop.tax_label} {shop.tax_percent:g} %", *tax) if shop.tax_percent else None,
        promise=price_paper.Promise(job.promised_on, job.promise_chance) if job.promised_on else None,
        included=tuple(filter(None, (price.note,))),
        say_yes="Say yes, no, or yes up to a sum, by phone or mail, with the tag number.",
        valid_until=price.good_until,
    )


def found_in_words(price: Price) -> tuple[str, ...]:
    """What was seen at the looks and is there, in the words of the looks; the owner's own words stand elsewhere."""
    net = job_net(price.job)
    names = {finding.key: finding.name for finding in net.findings if finding.look}
    seen = Seen.objects.filter(job=price.job, present=True).values_list("finding", flat=True)
    return tuple(names[key].capitalize() for key in seen if key in names)
