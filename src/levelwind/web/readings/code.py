"""The code on the screen that opens a reel's measuring pages on the phone."""

from dataclasses import dataclass
from datetime import datetime

from django.conf import settings
from django.http import HttpResponse
from django.urls import path, reverse
from django.utils import timezone
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from levelwind.shop.people.selectors import shop_get
from levelwind.web.pages import page
from levelwind.web.phone_codes import GOOD_FOR, square_code
from levelwind.web.readings.rows import ReadingLine, rows_of
from levelwind.web.readings.spot import Spot, at_spot, token_for
from levelwind.web.requests import Request


@dataclass(frozen=True, slots=True)
class CodeContext:
    """``code`` is None where no phone could reach this machine."""

    spot: Spot
    code: SafeString | None
    address: str
    until: datetime
    rows: tuple[ReadingLine, ...]
    rows_at: str
    spin: str
    pull: str


@require_safe
def code_page(request: Request, spot: Spot) -> HttpResponse:
    """The code to scan, and the readings as they come in."""
    address = request.build_absolute_uri(reverse("phone_readings", args=[token_for(spot.job, spot.moment)]))
    until = timezone.now() + GOOD_FOR
    context = CodeContext(
        spot=spot,
        code=square_code(address) if settings.NETWORK else None,
        address=address,
        until=until,
        rows=rows_of(spot, shop_get().force_unit),
        rows_at=f"{spot.url('readings_rows')}?until={until.timestamp():.0f}",
        spin=spot.url("reading_spin"),
        pull=spot.url("reading_pull"),
    )
    return page(request, "readings/code.html", context)


urlpatterns = [path("jobs/<str:tag>/readings/<str:moment>/phone/", at_spot(code_page), name="readings_code")]
