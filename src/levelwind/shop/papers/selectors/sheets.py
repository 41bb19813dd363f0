"""The shop's papers filled in from the book: rows in, frozen sheets out, for ``documents`` to print."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import zip_longest
from typing import cast

from django.utils import timezone

from levelwind.core.in_short import in_short
from levelwind.core.line import STRIKE_WORDS
from levelwind.core.quantities import Quantity, Shown, shown
from levelwind.core.spin.model import LOSS_NAMES, Shares
from levelwind.core.spin.report import SOURCES
from levelwind.core.writing import day_in_words
from levelwind.documents import bill as bill_paper
from levelwind.documents import letterhead as letterhead_paper
from levelwind.documents import price as price_paper
from levelwind.documents import proof as proof_paper
from levelwind.documents.money import format_money
from levelwind.documents.old_parts import OldPart, OldPartsLabel
from levelwind.documents.picture import Picture
from levelwind.documents.price import Kind
from levelwind.reference.families import families, family
from levelwind.shop.jobs.selectors.hunches import job_family, job_net
from levelwind.shop.jobs.selectors.lines import set_to
from levelwind.shop.jobs.selectors.stuck import leave_in_words
from levelwind.shop.models import Bill, Job, MoneyEntry, Photo, Price, Reading, Seen, Shop
from levelwind.shop.money.selectors import Totals, account_of_bill, draft_sums, no_lines, price_totals, rate_words
from levelwind.shop.papers.selectors.done import what_was_done
from levelwind.shop.papers.selectors.proofs import DragProof, drag_proof, in_a_sentence, spool_now
from levelwind.shop.patterns.selectors.layouts import job_places
from levelwind.shop.people.selectors import currency, letterhead, lines, sheet_head, shop_get
from levelwind.shop.readings.selectors.baseline import baseline_of
from levelwind.shop.readings.selectors.figures import compared
from levelwind.shop.readings.selectors.others import Others, others_of_pattern
from levelwind.shop.readings.selectors.readings import AS, MOMENTS, Pair, Readings, readings_of

MOST_PICTURES = 3
"""Of the reel as found, on its price: one row. Our choice."""
NOTHING_MEASURED = "Nothing that tells of the drag or the spool was measured after the work."


def price_sheet(price: Price) -> price_paper.Price:
    """The price as its owner gets it on paper: with what was measured and pictures of the reel as it came."""
    told, job = price_in_words(price), price.job
    found = job.photos.filter(moment="found")[:MOST_PICTURES]
    return replace(
        told,
        found=(*told.found, *measured_as_found(job)),
        pictures=tuple(filter(None, (picture(photo) for photo in found))),
    )


def price_in_words(price: Price) -> price_paper.Price:
    """What its owner is told of a price, without what was measured and the pictures."""
    job, shop = price.job, shop_get()
    rows = tuple(price.lines.all())
    totals = price_totals(rows, shop)
    return price_paper.Price(
        shop=letterhead(shop),
        job=sheet_head(job, shop),
        dated=timezone.localdate(price.sent_at or timezone.now()),
        lines=tuple(
            price_paper.PriceLine(
                row.text,
                cast(Kind, row.kind),
                row.low_minor,
                row.likely_minor,
                row.high_minor,
                ", ".join(filter(None, (f"about {row.minutes} minutes" if row.minutes else "", rate_words(row, shop)))),
            )
            for row in rows
        ),
        complaint=job.complaint,
        found=found_in_words(job),
        taxes=price_taxes(totals),
        promise=price_paper.Promise(job.promised_on, job.promise_chance) if job.promised_on else None,
        included=tuple(filter(None, (price.note, leave_in_words(job), tax_held(totals)))),
        say_yes=f"Say yes, no, or yes up to a sum, by phone or mail, with the tag number.{if_no_words(job, shop)}",
        valid_until=price.good_until,
    )


def measured_as_found(job: Job) -> Iterator[str]:
    """Each quantity that was measured as the reel came in, with its interval."""
    for pair in readings_of(job, shop_get().force_unit).pairs:
        if pair.found:
            yield f"{pair.name}: {shown(pair.found, pair.unit).words}"


def price_taxes(totals: Totals) -> tuple[price_paper.Tax, ...]:
    """What is added to the lines; nothing where prices include it."""
    return () if totals.included else tuple(price_paper.Tax(tax.words, *tax.amounts) for tax in totals.taxes)


def tax_held(totals: Totals) -> str:
    held = " and ".join(tax.words for tax in totals.taxes)
    return f"The sums include {held}." if held and totals.included else ""


def if_no_words(job: Job, shop: Shop) -> str:
    """What a no costs, said before it is."""
    asked = no_lines(job, shop)
    if not asked:
        return ""
    sum_minor = draft_sums(asked, shop).total
    return f" If you say no, the looking and the way back come to {format_money(sum_minor, currency(shop))}."


def found_in_words(job: Job) -> tuple[str, ...]:
    """What was seen at the looks and is there, in the words of the looks; the owner's own words stand elsewhere."""
    net = job_net(job)
    names = {finding.key: finding.name for finding in net.findings if finding.look}
    seen = Seen.objects.filter(job=job, present=True).values_list("finding", flat=True)
    return tuple(names[key].capitalize() for key in seen if key in names)


def bill_sheet(bill: Bill) -> bill_paper.Bill:
    """The bill as made, with what was taken off it, and with what was paid: on its job, or on the bill itself."""
    shop = shop_get()
    rows = tuple(bill.entries.select_related("job"))
    others = account_of_bill(bill).entries
    credits = [row for row in others if row.kind == "credit" and row.bill_id in (None, bill.pk)]
    return bill_paper.Bill(
        shop=letterhead(shop),
        job=sheet_head(bill.job, shop) if bill.job else _crate_head(bill, rows, shop),
        number=bill.number,
        dated=timezone.localdate(bill.issued_at),
        lines=tuple(
            bill_paper.BillLine(
                f"{row.job.tag}: {row.text}" if row.job and not bill.job else row.text,
                cast(Kind, row.note if row.kind == "charge" else "work"),
                row.amount_minor if row.typed_minor is None else row.typed_minor,
            )
            for row in (*(row for row in rows if row.kind == "charge"), *credits)
        ),
        taxes=tuple(_taxes(rows)),
        tax_included=bill.tax_included,
        paid=tuple(
            bill_paper.Payment(timezone.localdate(row.at), row.text, -row.amount_minor)
            for row in others
            if row.kind in ("payment", "deposit", "refund") and not hasattr(row, "reversed_by")
        ),
        how_to_pay="" if bill.voided_at else shop.how_to_pay,
        guarantee="" if bill.voided_at else shop.guarantee,
        void=f"Void since {day_in_words(timezone.localdate(bill.voided_at))}: {bill.void_why}"
        if bill.voided_at
        else "",
    )


def _taxes(rows: Iterable[MoneyEntry]) -> Iterator[bill_paper.Tax]:
    """One for each rate, in the order they first stand; what was taken off is off."""
    sums: dict[str, int] = {}
    for row in rows:
        if row.kind == "tax":
            words = row.text.removeprefix("Void: ")
            sums[words] = sums.get(words, 0) + row.amount_minor
    return (bill_paper.Tax(words, amount) for words, amount in sums.items() if amount)


def _crate_head(bill: Bill, rows: Iterable[MoneyEntry], shop: Shop) -> letterhead_paper.JobHead:
    """Of a bill over several jobs, or over none."""
    jobs = list(dict.fromkeys(row.job for row in rows if row.job))
    return letterhead_paper.JobHead(
        tag=", ".join(job.tag for job in jobs),
        owner=bill.owner.name,
        reel=", ".join(job.reel for job in jobs),
        owner_address=lines(bill.owner.address),
        invented=shop.invented,
    )


def old_parts(job: Job) -> tuple[OldPart, ...]:
    """What lies in the scrap bag and goes back to its owner: common practice, no source."""
    scrap = job.pieces.filter(where="scrap")
    return tuple(OldPart(piece.name, piece.count, piece.get_state_display() if piece.state else "") for piece in scrap)


def old_parts_sheet(job: Job) -> OldPartsLabel:
    """Without a pattern a place is taken for a lining where it is one in any family."""
    shop, kin = shop_get(), job_family(job)
    known = kin.places if kin else tuple(place for key in families() for place in family(key).places)
    friction = {place.key for place in (*known, *job_places(job)) if place.kind == "friction_washer"}
    return OldPartsLabel(
        shop=letterhead(shop),
        job=sheet_head(job, shop),
        bagged=timezone.localdate(),
        parts=old_parts(job),
        may_hold_asbestos=job.pieces.filter(where="scrap", place__in=friction).exists(),
    )


def proof_sheet(job: Job) -> proof_paper.ProofSheet:
    """The before and after of a job, from what the book holds; what is missing is left out, not made up."""
    shop = shop_get()
    unit = shop.force_unit
    readings = readings_of(job, unit)
    drag, before = drag_proof(job, readings, unit), baseline_of(job, readings, unit)
    return proof_paper.ProofSheet(
        shop=letterhead(shop),
        job=sheet_head(job, shop),
        dated=timezone.localdate(),
        wrong="; ".join(found_in_words(job)) or "Nothing was noted.",
        in_short=proof_in_short(readings, unit),
        verdict=job.verdict,
        measured=in_a_sentence(readings.verdict),
        complaint=job.complaint,
        done=lines(job.done_note) or what_was_done(job),
        rests_on=tuple(rests_on(readings)),
        readings=tuple(reading_row(pair) for pair in readings.table),
        curves=compared(readings, "pull", unit),
        speeds=compared(readings, "spin", unit),
        shares=loss_shares(readings),
        spool_now=spool_now(readings, for_owner=True),
        others=tuple(beside_others(others_of_pattern(job))),
        bear_in_mind=(
            *filter(None, (leave_in_words(job), before.words if before else "")),
            *readings.cautions,
            *(drag.notes if drag else ()),
        ),
        pictures=picture_pairs(photo_pairs(job)),
        old_parts=old_parts(job),
        drag_check=drag_check(drag),
        setting=drag_setting(job, drag),
    )


def proof_in_short(readings: Readings, unit: str) -> str:
    """What the readings say in a sentence that a stranger understands, or that there are none as left."""
    left = {key: pair.left for key in ("running", "spin_time") if (pair := readings.pair(key)) and pair.left}
    return in_short(readings.compared, left, unit) or NOTHING_MEASURED


def reading_row(pair: Pair) -> proof_paper.Reading:
    """What it changed by, and the pattern's limit where it has one."""
    allowed = f"the pattern allows {pair.limit.words}" if pair.limit and not pair.outside else ""
    note = "; ".join(filter(None, (pair.difference, allowed)))
    return proof_paper.Reading(pair.name, pair.found, pair.left, pair.unit, note, pair.outside)


def loss_shares(readings: Readings) -> tuple[proof_paper.LossShare, ...]:
    """What took the spool's speed away, at either moment or both, in percent."""
    shares = {moment: spin.energy_share for moment, spin in readings.apart.items() if spin.energy_share}
    before, after = (shares.get(moment) for moment in MOMENTS)
    (found, found_told), (left, left_told) = _by_loss(before, after), _by_loss(after, before)
    return tuple(
        proof_paper.LossShare(
            name,
            found.get(name),
            left.get(name),
            readings.share_difference(name),
            found_told.get(name),
            left_told.get(name),
        )
        for name in found or left
    )


def _by_loss(shares: Shares | None, other: Shares | None) -> tuple[dict[str, Quantity], dict[str, Shown]]:
    if shares is None:
        return {}, {}
    return shares.percents, dict(zip(LOSS_NAMES, shares.told_beside(other), strict=True))


def beside_others(others: Others) -> Iterator[str]:
    """Each quantity that can be placed among the shop's other reels of the pattern, with their range."""
    for among in others.reported:
        words = f"{among.words[0].lower()}{among.words[1:]}"
        yield f"{among.what.name}: {words} Eight in ten of them: {among.range_words}."


def rests_on(readings: Readings) -> Iterator[str]:
    """Each reading a verdict leans on: where its numbers came from and when."""
    for (_, moment), row in readings.latest.items():
        source = f"the {_came_as(row)} {row.file_name}" if row.file_name else "typed"
        yield f"{row.name.capitalize()} {AS[moment]}: {source}, {day_in_words(timezone.localdate(row.at))}"


def _came_as(row: Reading) -> str:
    """Log, film, sound or table."""
    return SOURCES.get(row.analysis.get("source", ""), "log")


PhotoPair = tuple[Photo | None, Photo | None]


def photo_pairs(job: Job, most: int = 2) -> tuple[PhotoPair, ...]:
    """The first pictures as found beside the first as left."""
    found, left = (list(job.photos.filter(moment=moment)[:most]) for moment in ("found", "left"))
    return tuple(zip_longest(found, left))


def picture_pairs(pairs: Iterable[PhotoPair]) -> tuple[proof_paper.PicturePair, ...]:
    return tuple(
        proof_paper.PicturePair(picture(before), picture(after), either.caption)
        for before, after in pairs
        if (either := before or after)
    )


def picture(photo: Photo | None) -> Picture | None:
    if photo is None:
        return None
    with photo.picture.open("rb") as stored:
        return Picture(stored.read(), photo.caption)


def drag_check(drag: DragProof | None) -> proof_paper.DragCheck | None:
    if drag is None or drag.measured is None or drag.computed is None:
        return None
    told = " ".join(words for words in (f"{drag.where.capitalize()}.", drag.guides_words, drag.words) if words)
    return proof_paper.DragCheck(drag.computed, drag.measured, drag.unit, told)


def drag_setting(job: Job, drag: DragProof | None) -> proof_paper.DragSetting | None:
    """The setting for the line on the reel, and what it becomes as the spool empties."""
    if drag is None or drag.strike is None or not drag.fills:
        return None
    full = drag.fills[0].line_radius_mm
    states = tuple(
        proof_paper.SpoolState(fill.fill, drag.strike.scaled(full / fill.line_radius_mm), fill.line_radius_mm)
        for fill in drag.fills
    )
    pattern, for_line = job.pattern, set_to(job)
    return proof_paper.DragSetting(
        line=for_line.name,
        states=states,
        unit=drag.unit,
        how=f"Set with a scale at a full spool: {STRIKE_WORDS} of the {for_line.kind}'s strength (common practice).",
        arbor_radius_mm=pattern.spool_arbor_mm / 2 if pattern and pattern.spool_arbor_mm else None,
        flange_radius_mm=pattern.spool_flange_mm / 2 if pattern and pattern.spool_flange_mm else None,
    )
