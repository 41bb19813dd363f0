"""Reels at home whose time for a service has come, each with its letter ready."""

from dataclasses import dataclass

from django.core.paginator import Page
from django.http import HttpResponse
from django.urls import path
from django.views.decorators.http import require_safe

from levelwind.shop.jobs.selectors.service import service_due, service_months
from levelwind.shop.models import Sending
from levelwind.shop.people.selectors import shop_get
from levelwind.web.pages import leaf, page
from levelwind.web.requests import Request

A_PAGE = 40


@dataclass(frozen=True, slots=True)
class ServiceContext:
    rows: Page[Sending]
    months: dict[int, int]
    """By job, after how many months it is due."""


@require_safe
def service_page(request: Request) -> HttpResponse:
    shop = shop_get()
    rows = leaf(service_due(shop), A_PAGE, request.GET.get("page"))
    months = {row.job_id: service_months(row.job, shop) for row in rows}
    return page(request, "counter/service.html", ServiceContext(rows, months))


urlpatterns = [path("service/", service_page, name="service_due")]
