"""The papers that go with a letter: which it speaks of, and each as it is put in."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial

from levelwind.core.errors import LevelwindError
from levelwind.documents import bill as bill_paper
from levelwind.documents import price as price_paper
from levelwind.documents import proof as proof_paper
from levelwind.shop.jobs.selectors.jobs import proved_reading
from levelwind.shop.models import Bill, Enclosure, Letter, LetterKind, LetterWay, Price, Stage
from levelwind.shop.money.selectors import bills_of, price_latest
from levelwind.shop.papers.selectors.sent import proof_of
from levelwind.shop.papers.selectors.sheets import bill_sheet, price_sheet


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper that may go with a letter; ``spoken_of`` where it goes unless it is left off."""

    key: str
    words: str
    file_name: str
    spoken_of: bool
    render: Callable[[], bytes]
    bill: Bill | None = None


_MAY_GO = {
    LetterKind.PRICE: ("price",),
    LetterKind.ASK_AGAIN: ("price",),
    LetterKind.READY: ("bill", "proof"),
    LetterKind.SENT: ("bill", "proof"),
    LetterKind.SENT_BACK: ("bill",),
    LetterKind.OTHER: ("price", "bill", "proof"),
}
_SPOKEN_OF = _MAY_GO | {LetterKind.READY: ("bill",), LetterKind.OTHER: ()}
"""A reel that is ready is still here: its proof goes along with it, and only on request before it."""


def papers_for(letter: Letter) -> tuple[Paper, ...]:
    """The papers of its job that may go with the letter, as the book has them now."""
    kind = LetterKind(letter.kind)
    may, spoken = _MAY_GO.get(kind, ()), _SPOKEN_OF.get(kind, ())
    found = {"price": _prices, "bill": _bills, "proof": _proofs}
    return tuple(paper for what in may for paper in found[what](letter, what in spoken))


def _prices(letter: Letter, spoken: bool) -> Iterator[Paper]:
    price: Price | None = letter.price or price_latest(letter.job)
    if price and price.lines.exists():
        name = f"price-{letter.job.tag}-{price.number}.pdf"
        yield Paper("price", f"Price {price.number}", name, spoken, lambda: price_paper.render(price_sheet(price)))


def _bills(letter: Letter, spoken: bool) -> Iterator[Paper]:
    for bill in bills_of(letter.job).filter(voided_at=None).order_by("pk"):
        words, name = f"Bill {bill.number}", f"bill-{bill.number}.pdf"
        yield Paper(f"bill-{bill.pk}", words, name, spoken, partial(_bill_pdf, bill), bill)


def _bill_pdf(bill: Bill) -> bytes:
    return bill_paper.render(bill_sheet(bill))


def _proofs(letter: Letter, spoken: bool) -> Iterator[Paper]:
    job = letter.job
    if proved_reading(job) and job.stage in (Stage.PROVED, Stage.BOXED, Stage.HOME):
        name = f"proof-{job.tag}.pdf"
        yield Paper("proof", "Proof sheet", name, spoken, lambda: proof_paper.render(proof_of(job)))


def enclose(went: LetterWay, keys: Iterable[str]) -> tuple[str, ...]:
    """Put these papers in, as they are now, in place of any before.

    Returns them in words. Raises LevelwindError for one that does not go with the letter as the book stands.
    """
    there = {paper.key: paper for paper in papers_for(went.letter)}
    wanted = list(dict.fromkeys(keys))
    if not set(wanted) <= there.keys():
        raise LevelwindError("A paper that was to go with this letter is not in the book any more: look again.")
    went.enclosures.all().delete()
    for key in wanted:
        paper = there[key]
        row = Enclosure(went=went, words=paper.words, file_name=paper.file_name, bill=paper.bill, pdf=paper.render())
        row.full_clean()
        row.save(force_insert=True)
    return tuple(there[key].words for key in wanted)


def enclosure_untrue(went: LetterWay) -> str:
    """Why a paper that is put in does not hold any more; empty where each does."""
    void = went.enclosures.filter(bill__voided_at__isnull=False).select_related("bill").first()
    return f"bill {void.bill.number} is void" if void and void.bill else ""
