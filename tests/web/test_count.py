"""A stock count by walking the shelf, and the labels that lead to it."""

from datetime import date

import pytest
from django.test import Client

from levelwind.documents import label as label_paper
from levelwind.shop.models import Part, StockEntry
from levelwind.shop.parts.services.shelf import stock_counted
from levelwind.shop.people.selectors import letterhead, shop_get
from tests.documents.paper import ink_in_margin, pages, words

pytestmark = pytest.mark.django_db


def test_a_walk_asks_for_each_part_once_and_sets_the_book_right(client: Client) -> None:
    def said(answer: object) -> str:
        return " ".join(answer.content.decode().split())  # type: ignore[attr-defined]

    assert "The shelf is empty" in said(client.get("/shelf/count/"))
    one, two, three = (
        Part.objects.create(number=number, name="pawl", spot=spot)
        for number, spot in (("A-1", "drawer 1"), ("A-2", "drawer 1"), ("B-1", ""))
    )
    stock_counted(part=one, count=3)
    page = said(client.get("/shelf/count/"))
    assert page.index("drawer 1") < page.index("Spot not said") and "0 of 2 counted" in page
    assert client.get("/shelf/count/spot/?spot=drawer 1").headers["Location"] == f"/shelf/count/{one.pk}/"
    assert "The book has 3 new, 0 second-hand" in said(client.get(f"/shelf/count/{one.pk}/"))
    wrong = client.post(f"/shelf/count/{one.pk}/", {"new": "-1"})
    assert wrong.status_code == 422 and Part.objects.get(pk=one.pk).counted_at is None
    then = client.post(f"/shelf/count/{one.pk}/", {"new": "2", "used": "1"})
    assert then.headers["Location"] == f"/shelf/count/{two.pk}/", "on to the next of the drawer"
    client.post(f"/shelf/count/{one.pk}/", {"new": "2", "used": "1"})  # pressed twice
    assert [(each.change, each.used) for each in StockEntry.objects.filter(part=one)] == [
        (3, False),
        (-1, False),
        (1, True),
    ]
    assert client.post(f"/shelf/count/{two.pk}/", {"new": "0"}).headers["Location"] == "/shelf/count/"
    assert "2 of 2 counted" in said(client.get("/shelf/count/"))
    assert client.get("/shelf/count/spot/?spot=drawer 1").headers["Location"] == "/shelf/count/"
    assert client.get("/shelf/count/?number=b-1").headers["Location"] == f"/shelf/count/{three.pk}/"
    assert "There is no part Z-9" in said(client.get("/shelf/count/?number=Z-9"))


def test_labels_carry_the_number_and_a_code_that_opens_the_count(client: Client) -> None:
    part = Part.objects.create(number="A-1", name="pawl", spot="drawer 1")
    Part.objects.create(number="B-1", name="spring")
    assert client.get(f"/shelf/labels.pdf?part={part.pk}").content.startswith(b"%PDF")
    assert client.get("/shelf/labels.pdf?spot=nowhere", follow=True).redirect_chain == [("/shelf/", 302)]
    label = label_paper.Label("A-1", "pawl", "drawer 1", f"http://127.0.0.1:8000/shelf/count/{part.pk}/")
    forme = label_paper.layout([label] * 25, letterhead(shop_get()), date(2026, 3, 2))
    assert words(forme).count("A-1") == 25 and words(forme).count("drawer 1") == 25
    assert [len(pages(forme)), ink_in_margin(pages(forme)[0], 0.3)] == [2, False]
