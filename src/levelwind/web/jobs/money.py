"""The money of a job, entry by entry, and what puts one right: a payment mistyped, a bill that does not hold."""

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import path
from django.views.decorators.http import require_POST

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import Bill
from levelwind.shop.money.selectors import Account, account_of, bills_of
from levelwind.shop.money.services.bills import bill_void
from levelwind.shop.money.services.ledger import payment_reverse
from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page, spoken
from levelwind.web.requests import Request, key_in


@dataclass(frozen=True, slots=True)
class MoneyContext:
    head: JobHead
    account: Account
    bills: tuple[Bill, ...]


def money_page(request: Request, tag: str) -> HttpResponse:
    job = job_or_404(tag)
    bills = tuple(bills_of(job))
    return page(request, "jobs/money.html", MoneyContext(job_head(job, "box"), account_of(job), bills))


@require_POST
def payment_mistyped(request: Request, tag: str) -> HttpResponse:
    job = job_or_404(tag)
    entry = get_object_or_404(job.money, pk=key_in(request.POST.get("entry")))
    try:
        payment_reverse(entry=entry, why=request.POST.get("why", ""), by=request.user.get_username())
        messages.success(request, "Taken back. Take the right payment now, if there was one.")
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
    return redirect("money", tag)


@require_POST
def bill_voided(request: Request, tag: str, number: str) -> HttpResponse:
    bill = get_object_or_404(bills_of(job_or_404(tag)), number=number)
    try:
        bill_void(bill=bill, why=request.POST.get("why", ""), by=request.user.get_username())
        messages.success(request, f"Bill {bill.number} is void. Its lines stand to be billed again.")
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
    return redirect("money", tag)


urlpatterns = [
    path("jobs/<str:tag>/money/", money_page, name="money"),
    path("jobs/<str:tag>/money/mistyped/", payment_mistyped, name="payment_mistyped"),
    path("jobs/<str:tag>/money/void/<str:number>/", bill_voided, name="bill_void"),
]
