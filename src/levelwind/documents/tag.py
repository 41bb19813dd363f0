"""The tag: the slip that travels with the reel and opens its job on the phone."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from levelwind.core.errors import InputError
from levelwind.documents import press, square_code
from levelwind.documents.letterhead import JobHead, Shop, head
from levelwind.documents.letters import shortened

LONGEST_COMPLAINT = 420
"""Letters of the owner's words that a slip holds at a size that can be read; the job holds them all."""

LONGEST_LIST = 220
"""Letters of what came with the reel."""


@dataclass(frozen=True, slots=True)
class Tag:
    """One reel's slip, 62 by 100 mm. ``url`` is what the code opens; ``came_with`` names what lay in the parcel."""

    shop: Shop
    job: JobHead
    booked_in: date
    complaint: str
    url: str
    came_with: tuple[str, ...] = ()


def render(tag: Tag) -> bytes:
    """A slip for a label printer: one page of 62 by 100 mm."""
    return press.pdf(layout(tag))


def layout(tag: Tag) -> press.Forme:
    return _forme([tag], "slip")


def render_page(tags: Sequence[Tag]) -> bytes:
    """The same slips, eight to a page of the shop's paper, with lines to cut along."""
    return press.pdf(layout_page(tags))


def layout_page(tags: Sequence[Tag]) -> press.Forme:
    if not tags:
        raise InputError("tags to print", "none", "at least one")
    return _forme(tags, tags[0].shop.paper)


def _forme(tags: Sequence[Tag], paper: str) -> press.Forme:
    return press.Forme("tag", {"paper": paper, "tags": [_slip(tag) for tag in tags]}, tags[0].booked_in)


def _slip(tag: Tag) -> dict[str, object]:
    return {
        **head("Tag", tag.shop, tag.job, tag.booked_in),
        "complaint": shortened(tag.complaint, LONGEST_COMPLAINT),
        "came_with": shortened(", ".join(tag.came_with), LONGEST_LIST),
        "code": square_code.svg(tag.url),
    }
