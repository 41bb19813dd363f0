"""The proof sheet as the book fills it: everything measured, only a stop-watch, nothing at all."""

from dataclasses import replace

import pytest

from levelwind.core import pull, spin
from levelwind.core.codec import as_stored
from levelwind.core.notes import Note, newtons
from levelwind.documents import proof
from levelwind.shop.models import Owner, Parcel, Pattern, Shop, Work
from levelwind.shop.papers.selectors.sheets import proof_sheet
from tests.documents.paper import words
from tests.jobs import a_job, a_pattern
from tests.shop.readings.reading_rows import CLEAN, DIRTY, a_gauge, a_known_spin, a_pull, a_row, a_spin

pytestmark = pytest.mark.django_db


@pytest.fixture
def pattern() -> Pattern:
    return a_pattern(end_float_low_mm=0.1, end_float_high_mm=0.4, turn_most_Nm=0.3)


def test_spins_limits_and_others_are_on_it(pattern: Pattern) -> None:
    owner = Owner.objects.create(name="Brisa Tolk")
    parcel = Parcel.objects.create(owner=owner)
    for n in range(3):
        a_known_spin(a_job(f"26-1{n:03}", owner=owner, parcel=parcel, pattern=pattern), 30.0, 3.0 - 0.1 * n)
    job = a_job(pattern=pattern)
    a_spin(job, "found", DIRTY, file_name="before.csv")
    a_spin(job, "left", CLEAN, file_name="after.csv")
    a_gauge(job, "turn", "left", 0.9)
    a_gauge(job, "end_float", "left", 0.2)
    sheet = proof_sheet(job)
    assert sheet.speeds and [line.role for line in sheet.speeds.lines] == ["as-found", "as-left"]
    assert [share.name for share in sheet.shares] == ["dry friction", "oil", "air"]
    assert all(share.as_found and share.as_left and "points" in share.note for share in sheet.shares)
    rows = {row.name: row for row in sheet.readings}
    assert "Lost to oil" not in rows
    assert rows["Handle torque"].outside.startswith("Too much") and not rows["Handle torque"].note
    assert rows["End float"].note == "the pattern allows 0.1 to 0.4 mm"
    assert sheet.others[0].startswith("Spin time from 25 rev/s: freer than 3 of the 3 others of this pattern. Eight")
    assert any(line.startswith("Spin as left: the table after.csv") for line in sheet.rests_on)
    assert "dry friction takes less off the speed" in sheet.measured
    assert sheet.in_short.startswith("The spool spins longer, ") and sheet.verdict == ""


def test_only_a_stop_watch_has_no_curve_and_no_shares(pattern: Pattern) -> None:
    job = a_job(pattern=pattern)
    a_row(job, "spin", "found", as_stored(spin.typed(11.0)))
    a_row(job, "spin", "left", as_stored(spin.typed(34.0)))
    sheet = proof_sheet(job)
    assert (sheet.speeds, sheet.curves, sheet.shares, sheet.others) == (None, None, (), ())
    assert sheet.measured.startswith("Free spin 11.0 to 34.0 s") and sheet.verdict == ""
    assert sheet.in_short == "The spool spins longer, 34.0 s where it was 11.0 s."
    assert any("timed by hand" in words for words in sheet.bear_in_mind)


def test_what_to_bear_in_mind_stands_in_the_shops_unit() -> None:
    Shop.objects.create(pk=1, force_unit="lbf")
    limit = Note.of("limit_reached", "the scale reached its limit of {most}", most=newtons(200.0))
    job = a_job()
    for moment in ("found", "left"):
        typed = pull.typed(30.0, 20.0)
        a_row(job, "pull", moment, as_stored(replace(typed, cautions=(limit,))))
    sheet = proof_sheet(job)
    said = [f"pull {as_}: the scale reached its limit of 45.0 lbf" for as_ in ("as found", "as left")]
    assert list(sheet.bear_in_mind) == said
    assert said[0] in words(proof.layout(sheet))


def test_under_a_verdict_of_the_benchs_own_stands_what_was_measured() -> None:
    job = a_job(verdict="It runs like new.")
    a_row(job, "spin", "found", as_stored(spin.typed(11.0)))
    a_row(job, "spin", "left", as_stored(spin.typed(34.0)))
    sheet = proof_sheet(job)
    assert sheet.verdict == "It runs like new." and sheet.measured.startswith("Free spin 11.0 to 34.0 s")
    printed = words(proof.layout(sheet))
    assert printed.index(sheet.verdict) < printed.index(sheet.measured)


def test_nothing_measured_is_said_and_nothing_made_up() -> None:
    job = a_job()
    a_row(job, "spin", "left", {}, work=Work.WAITING, file_name="film.mp4")
    sheet = proof_sheet(job)
    assert sheet.in_short == "Nothing that tells of the drag or the spool was measured after the work."
    assert (sheet.readings, sheet.speeds, sheet.shares, sheet.others, sheet.rests_on) == ((), None, (), (), ())
    assert proof.render(sheet).startswith(b"%PDF")


def test_one_moment_alone_is_drawn_alone() -> None:
    job = a_job()
    a_spin(job, "found", DIRTY)
    a_pull(job, "found", 60.0, 37.0)
    sheet = proof_sheet(job)
    assert sheet.speeds and [line.role for line in sheet.speeds.lines] == ["as-found"]
    assert all(share.as_found and share.as_left is None and not share.note for share in sheet.shares)
    assert proof.render(sheet).startswith(b"%PDF")
