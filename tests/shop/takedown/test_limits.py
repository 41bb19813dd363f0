"""Limits of wear: on a place of the pattern, editable; they judge a measured piece, and say why."""

import pytest
from django.test import Client

from levelwind.core.errors import InputError
from levelwind.core.fits.wear import Limit, judge, judge_all
from levelwind.shop.models import Pattern, PlaceLimit
from levelwind.shop.patterns.services.keeping import pattern_copy
from levelwind.shop.patterns.services.limits import place_limit_set
from levelwind.shop.takedown.services.pieces import job_pattern_choose, piece_judge, piece_measure
from tests.jobs import a_job, a_pattern

THIN = Limit("thickness", 2.5, 2.3, None, "our choice")
BORE = Limit("inner diameter", 5.0, None, 5.1, "the maker's sheet")


@pytest.mark.parametrize(
    ("limit", "read", "state"),
    [(THIN, 2.41, "good"), (THIN, 2.27, "worn"), (THIN, 2.29, ""), (THIN, 2.31, ""), (THIN, 2.33, "good"),
     (BORE, 5.13, ""), (BORE, 5.15, "worn"), (BORE, 5.05, "good")],
)  # fmt: skip
def test_a_caliper_tells_good_from_worn_but_near_the_limit(limit: Limit, read: float, state: str) -> None:
    assert judge(limit, read).state == state


def test_one_worn_size_is_enough_and_good_takes_them_all() -> None:
    assert judge_all((THIN, BORE), {"thickness": 2.0, "inner diameter": 5.0})[0] == "worn"
    assert judge_all((THIN, BORE), {"thickness": 2.4})[0] == ""
    assert judge_all((THIN, BORE), {"thickness": 2.4, "inner diameter": 5.0, "length": 9.0})[0] == "good"
    assert judge_all((), {"thickness": 2.4}) == ("", ())


@pytest.mark.parametrize(
    "sizes", [(None, None, None), (2.5, 2.6, None), (2.5, None, 2.4), (2.5, -1, None), (None, 3, 2), (1, 0.5, 1)]
)
def test_limits_that_cannot_be_are_refused(sizes: tuple[float | None, float | None, float | None]) -> None:
    with pytest.raises(InputError, match="limit"):
        Limit("thickness", *sizes, "our choice")


@pytest.mark.django_db
def test_a_measured_piece_is_judged_by_its_limits_and_follows_its_size() -> None:
    pattern, job = a_pattern(), a_job()
    place_limit_set(pattern=pattern, place="friction_1", dimension="thickness", new_mm=1, least_mm=0.85)
    job_pattern_choose(job=job, pattern=pattern)
    washer, other = (job.pieces.get(place=place) for place in ("friction_1", "friction_2"))
    piece_measure(piece=washer, sizes_mm={"thickness": 0.78})
    assert washer.state == "worn"
    said = "thickness 0.78 mm, new 1.00, renew under 0.85 (our choice): worn"
    assert any(said in event.text for event in job.events.all())
    piece_measure(piece=washer, sizes_mm={"thickness": 0.98})
    assert washer.state == "good"
    piece_measure(piece=washer, sizes_mm={"thickness": None})
    assert washer.state == ""
    piece_judge(piece=washer, state="broken")
    piece_measure(piece=washer, sizes_mm={"thickness": 0.98})
    piece_measure(piece=other, sizes_mm={"thickness": 0.1})
    assert (washer.state, other.state) == ("broken", "")


@pytest.mark.django_db
def test_the_pattern_book_keeps_them_and_parts_and_the_tray_show_them(client: Client) -> None:
    pattern, job = a_pattern(), a_job()
    address = f"/patterns/{pattern.pk}/place/friction_1/"
    number = 2  # thickness comes behind the two diameters
    typed = {f"limit{number}-new_mm": "1", f"limit{number}-least_mm": "0,85", f"limit{number}-source": "works' sheet"}
    page = client.get(address).content.decode()
    assert "How far it may be worn" in page and "Thickness" in page
    assert client.post(f"{address}limits/", typed).status_code == 302
    (row,) = PlaceLimit.objects.all()
    assert (row.dimension, row.new_mm, row.least_mm, row.most_mm, row.source) == (
        "thickness", 1.0, 0.85, None, "works' sheet",
    )  # fmt: skip
    assert 'value="0.85"' in client.get(address).content.decode()
    refused = client.post(f"{address}limits/", {**typed, f"limit{number}-least_mm": "3"})
    assert refused.status_code == 422 and "rising" in refused.content.decode()
    assert "can be" in client.post(f"{address}limits/", {f"limit{number}-new_mm": "x"}).content.decode()
    copy = pattern_copy(pattern=pattern, maker="Tarn & Wey", model="Holm")
    assert copy.limits.count() == 1
    job_pattern_choose(job=job, pattern=pattern)
    piece_measure(piece=job.pieces.get(place="friction_1"), sizes_mm={"thickness": 0.7})
    told = "Thickness 0.70 mm, new 1.00, renew under 0.85 (works&#x27; sheet): worn."
    assert told in client.get(f"/jobs/{job.tag}/parts/").content.decode()
    assert client.post(f"{address}limits/", {}).status_code == 302
    assert Pattern.objects.get(pk=pattern.pk).limits.count() == 0
