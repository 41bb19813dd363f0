"""Who did what to an owner, a part, a pattern or a bill, and when."""

from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from levelwind.shop.models import Deed, Owner, Part, Shop
from levelwind.shop.money.selectors import DraftLine
from levelwind.shop.money.services.bills import bill_draft_save, bill_make, bill_void
from levelwind.shop.parts.services.fits import fit_say, fit_take_back
from levelwind.shop.parts.services.shelf import part_add
from levelwind.shop.people.services import owner_add
from tests.jobs import a_job, a_pattern
from tests.pages import typed_into

pytestmark = pytest.mark.django_db
HTMX = {"HX-Request": "true"}


def told(kind: str, ref: int) -> list[str]:
    return list(Deed.objects.filter(kind=kind, ref=ref).order_by("pk").values_list("text", flat=True))


def test_each_change_says_who_what_and_from_what(client: Client) -> None:
    """Typed on within ten minutes it is one change, from what stood there first; by another, or later, another."""
    owner = owner_add(owner=Owner(name="Ines Vasterholm", phone="555 0117"))
    there = f"/counter/owners/{owner.pk}/"
    for name in ("ansa", "bram"):
        client.force_login(User.objects.create_user(name))
        for phone in ("555 01", "555 0199" + name[0]):
            client.post(there, typed_into(client.get(there), phone=phone), headers=HTMX)
    assert told("owner", owner.pk) == [
        "Written down.",
        "Phone: “555 0199a”, was “555 0117”.",
        "Phone: “555 0199b”, was “555 0199a”.",
    ]
    assert [deed.by for deed in Deed.objects.order_by("pk")] == ["", "ansa", "bram"]
    Deed.objects.update(at=timezone.now() - timedelta(minutes=11))
    client.post(there, typed_into(client.get(there), phone=""), headers=HTMX)
    assert told("owner", owner.pk)[-1] == "Phone: nothing, was “555 0199b”."
    page = client.get(f"/history/owner/{owner.pk}/").content.decode()
    assert "bram" in page and "at this machine" in page and "was “555 0117”" in page
    assert client.get("/history/shop/1/").status_code == 404


def test_parts_patterns_and_bills_have_theirs(client: Client) -> None:
    Shop.objects.create(pk=1, name="Bench")
    part, pattern = part_add(number="G-1", name="Gear"), a_pattern()
    fit = fit_say(part=part, pattern=pattern, place="main_gear")
    fit_take_back(fit=fit)
    part.price_minor, part.sizes_mm = 3800, {"outer diameter": 28.5}
    part.save()
    for of in (told("part", part.pk), told("pattern", pattern.pk)):
        assert of[0] == "Written down." and of[1].startswith("Fit added: G-1") and of[2].startswith("Fit taken away")
    assert told("part", part.pk)[3:] == ["Sizes mm: changed.", "What we charge: “$38.00”, was “$0.00”."]
    bill = bill_make(job=bill_draft_save(job=a_job(), lines=[DraftLine("work", "Service", 6000)]))
    bill_void(bill=bill, why="wrong reel")
    assert told("bill", bill.pk)[0] == "Made." and told("bill", bill.pk)[-1] == "Void why: “wrong reel”."
    for address in (f"/shelf/part/{part.pk}/", f"/patterns/{pattern.pk}/", f"/counter/bills/{bill.number}/"):
        assert "/history/" in client.get(address).content.decode()
    pk = part.pk
    client.post(f"/shelf/part/{pk}/take-away/")
    assert told("part", pk)[-1] == "Taken out of the book: G-1 Gear." and not Part.objects.exists()
