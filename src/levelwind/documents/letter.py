"""A letter to an owner on the shop's paper."""

from dataclasses import dataclass
from datetime import date

from levelwind.documents import press
from levelwind.documents.letterhead import JobHead, Shop, head


@dataclass(frozen=True, slots=True)
class Letter:
    """What it is about, and its paragraphs, each with its own line ends."""

    shop: Shop
    job: JobHead
    dated: date
    subject: str
    paragraphs: tuple[str, ...]


def render(letter: Letter) -> bytes:
    return press.pdf(layout(letter))


def layout(letter: Letter) -> press.Forme:
    data = {
        **head("Letter", letter.shop, letter.job, letter.dated),
        "subject": letter.subject,
        "paragraphs": letter.paragraphs,
    }
    return press.Forme("letter", data, letter.dated)
