"""What a donor reel is worth, from the shelf, the ledger and the shop's own pieces; core's tree is tested by itself."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from levelwind.shop.models import BoneReel, Fit, Part, Pattern, Piece, Shop, StockEntry
from levelwind.shop.money.worth import GOOD, USED, bone_worth, came_of
from levelwind.shop.parts.services.bones import bone_strip
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db


def served(pattern: Pattern, number: str, place: str, price_minor: int) -> Part:
    part = Part.objects.create(number=number, name=f"part {number}", price_minor=price_minor)
    Fit.objects.create(part=part, pattern=pattern, place=place, basis="number", sure=0.99)
    return part


def test_parts_count_by_price_good_pieces_and_what_is_asked_for(client: Client) -> None:
    Shop.objects.create(pk=1, name="Bench", hour_minor=6000)
    pattern = a_pattern()
    bone = BoneReel.objects.create(reel="Skerry 50", pattern=pattern, paid_minor=1500)
    assert bone_worth(bone) is None
    page = f"/shelf/bone-box/{bone.pk}/"
    assert "Nothing is known yet that it could bring" in client.get(page).content.decode()
    gear = served(pattern, "G-1", "main_gear", 9000)
    star = served(pattern, "S-1", "star", 40)
    day = timezone.now() - timedelta(days=100)
    StockEntry.objects.create(part=gear, change=9, why="bought", at=day)
    for n in range(9):
        StockEntry.objects.create(part=gear, change=-1, why="taken", at=day + timedelta(days=9 * n))
    told = bone_worth(bone)
    assert told is not None
    second, first = told.pieces  # in the order of the places
    assert (first.name, first.price_minor, first.good) == ("part G-1", 9000, GOOD)
    assert first.sells > 0.9 > second.sells, "nine were used in a season, of the other none"
    assert (told.strip, told.leave) == (("part G-1",), ("part S-1",))
    worn = a_job(pattern=pattern)
    for n in range(8):
        Piece.objects.create(
            job=worn if not n else a_job(f"26-01{n:02}", pattern=pattern), place="main_gear", name="g", state="worn"
        )
    fewer = bone_worth(bone)
    assert fewer is not None and fewer.pieces[1].good == pytest.approx(GOOD / 2)
    assert fewer.told.ways["parts"].worth.value < told.told.ways["parts"].worth.value
    StockEntry.objects.create(part=gear, change=40, why="counted")
    full = bone_worth(bone)
    assert full is not None and full.pieces[1].sells < 0.5, "forty lie on the shelf already"
    BoneReel.objects.update(whole_minor=40_000, shut_minor=900)
    shown = client.get(page).content.decode()
    assert "Mend it and sell it whole." in shown and "in parts" in shown and "left shut" in shown
    bone_strip(bone=bone, parts={star: 1, gear: 1})
    came = came_of(bone)
    assert (came.pieces, came.worth_minor) == (2, round(USED.likely * 9040))
    assert "2 pieces, worth about $54.24 second-hand, for $15.00 paid" in client.get(page).content.decode()
