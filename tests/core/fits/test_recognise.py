"""What standard thing a piece is: every row, none of these, wear, what is common, and what to measure next."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.errors import InputError
from levelwind.core.fits import Measurement, length, pitch, recognise
from levelwind.core.fits.apart import look_alikes, told_apart
from levelwind.core.fits.figure import leaders_figure
from levelwind.core.fits.kinds import THREAD
from levelwind.core.fits.law import density_per_mm
from levelwind.core.fits.report import as_dict, as_text
from levelwind.reference.standard_parts import BUILDERS, table


def asked(kind: str, /, **typed: str):
    return recognise(table(kind), {key: (pitch if key == "pitch" else length)(text) for key, text in typed.items()})


def names(answer) -> list[str]:
    return [found.candidate.name for found in answer.found]


@pytest.mark.parametrize("kind", BUILDERS)
def test_every_row_recognises_itself(kind: str) -> None:
    """Measured in the middle of its limits it comes first, or a caliper does not tell it from what does."""
    rows = table(kind)
    for number, candidate in enumerate(rows.candidates):
        form = rows.forms[rows.first[number]]
        middles = [sum(span) / 2 for span in form.limits]
        over = [6 if each.over > 1 else 0 for each in rows.kind.dimensions]
        measured = {
            each.key: Measurement(middle, over=times)
            for each, middle, times in zip(rows.kind.dimensions, middles, over, strict=True)
        }
        answer = recognise(rows, measured, common=False)
        first = names(answer)[0]
        assert not answer.is_none
        assert first == candidate.name or candidate.name in answer.alike, (candidate.name, names(answer))
        total = sum(found.probability for found in answer.found) + answer.none_probability
        assert 0.97 < total <= 1 + 1e-9


@pytest.mark.parametrize(
    ("kind", "typed", "first"),
    [
        ("thread", {"diameter": "2.81mm", "pitch": "40tpi"}, "#4-40 UNC"),
        ("thread", {"diameter": "2.95", "pitch": "3.0 over 6"}, "M3x0.5"),
        ("thread", {"diameter": "3,15", "pitch": "3.54 over 6"}, "5BA"),
        ("thread", {"diameter": "1/4", "pitch": "28"}, "1/4-28 UNF"),
        ("nut", {"diameter": "2.55", "pitch": "0.5"}, "M3x0.5"),
        ("bearing", {"bore": "3mm", "od": "10mm", "width": "4mm"}, "623"),
        ("bearing", {"bore": "1/8", "od": "3/8", "width": "3.97"}, "R2"),
        ("oring", {"id": "9.2mm", "section": "1.8mm"}, "AS568-012"),
        ("oring", {"id": "9.0", "section": "2.0"}, "9x2"),
        ("clip", {"shaft": "6mm", "groove": "5mm", "thickness": "0.7mm"}, "DIN 6799 5"),
        ("clip", {"shaft": "6mm", "groove": "5.7mm"}, "DIN 471 6"),
        ("any_clip", {"groove": "12.55", "thickness": "1.0"}, "DIN 472 12"),
        ("any_clip", {"groove": "5.7", "thickness": "0.7"}, "DIN 471 6"),
        ("bore_clip", {"shaft": "10", "groove": "10.4"}, "DIN 472 10"),
        ("spring", {"od": "8", "id": "4.2", "thickness": "0.4"}, "DIN 2093 A 8x4.2x0.4"),
    ],
)
def test_a_piece_on_the_bench_is_named(kind: str, typed: dict[str, str], first: str) -> None:
    answer = asked(kind, **typed)
    assert names(answer)[0] == first and answer.found[0].probability > 0.7


def test_any_measurement_may_be_left_out_but_not_all() -> None:
    assert len(asked("thread", diameter="2.81").found) > 2 and asked("bearing", width="4").found
    with pytest.raises(InputError, match="left out; allowed is to give at least one of bore, outside diameter, width"):
        recognise(table("bearing"), {})


def test_of_no_standard_is_a_real_answer() -> None:
    answer = asked("thread", diameter="5.0", pitch="3.6 over 6")
    assert answer.is_none and answer.none_probability > 0.9
    assert asked("bearing", bore="3.3", od="11.4", width="3.3").is_none


def test_a_worn_screw_is_smaller_and_a_worn_bore_larger() -> None:
    """Read 0.06 mm outside its limits on the worn side it is still the likeliest; on the other side much less so."""
    low, high = (np.array([each]) for each in table("thread").forms[9].limits[0])
    limits = float(low[0]), float(high[0])
    shrunk, swollen = (
        density_per_mm(at, 0.013, low, high, THREAD.dimensions[0], True)[0]
        for at in (limits[0] - 0.06, limits[1] + 0.06)
    )
    assert shrunk > 10 * swollen
    bore = table("nut").kind.dimensions[0]
    small, large = (density_per_mm(at, 0.02, low, high, bore, True)[0] for at in (limits[0] - 0.1, limits[1] + 0.1))
    assert large > 10 * small


def test_tolerance_is_an_interval_and_not_a_point() -> None:
    """Anywhere within the limits, away from their ends, a new piece is equally likely."""
    low, high = np.array([2.3]), np.array([2.5])
    inside = [density_per_mm(at, 0.004, low, high, THREAD.dimensions[0], False)[0] for at in (2.36, 2.40, 2.44)]
    assert inside == pytest.approx([inside[1]] * 3, rel=0.12)


def test_a_density_is_one_over_all_readings() -> None:
    low, high, at = np.array([2.3]), np.array([2.5]), np.linspace(1.9, 2.9, 1001)
    for worn in (False, True):
        every = [density_per_mm(each, 0.013, low, high, THREAD.dimensions[0], worn)[0] for each in at]
        assert np.trapezoid(every, at) == pytest.approx(1.0, abs=1e-5)


def test_what_is_common_on_reels_can_be_left_out_of_it() -> None:
    rows, measured = table("thread"), {"diameter": length("2.99"), "pitch": pitch("0.5")}
    with_it, without = (recognise(rows, measured, common=each).found[0].probability for each in (True, False))
    assert with_it >= without
    between = {"diameter": length("4.815"), "pitch": pitch("4.78 over 6")}
    coarse = [dict(zip(names(a), (f.probability for f in a.found), strict=True)).get("M5x0.8", 0.0)
              for a in (recognise(rows, between), recognise(rows, between, common=False))]  # fmt: skip
    assert coarse[0] > 1.2 * coarse[1] > 0


def test_the_next_measurement_tells_the_leaders_apart_if_made_as_well_as_it_says() -> None:
    answer = asked("thread", diameter="3.15", pitch="0.59")
    following = answer.next
    assert following is not None and following.dimension.key == "pitch" and following.over == 6
    assert set(following.tells) == {"5BA", "#5-44 UNF", "#5-40 UNC"}
    for off in (-following.accuracy_mm, following.accuracy_mm):
        again = asked("thread", diameter="3.15", pitch=f"{6 * 0.59 + 0.9 * off:.4f} over 6")
        assert names(again)[0] == "5BA"
    asked_next = asked("bearing", od="10").next
    assert asked_next is not None and (asked_next.dimension.key, asked_next.finer) == ("bore", False)
    assert asked("thread", diameter="2.81", pitch="40tpi").next is None


def test_what_a_caliper_cannot_tell_is_said_so() -> None:
    answer = asked("thread", diameter="4.80", pitch="4.77 over 6")
    assert set(names(answer)[:2]) == {"#10-32 UNF", "M5x0.8"} and answer.alike
    rows = table("thread")
    number = {candidate.name: n for n, candidate in enumerate(rows.candidates)}
    assert not told_apart(rows, number["M2.5x0.45"], number["#3-56 UNF"])
    assert told_apart(rows, number["M3x0.5"], number["#4-40 UNC"])
    alike = look_alikes(rows)
    assert ("M5x0.8", "#10-32 UNF") in alike and ("M3x0.5", "#4-40 UNC") not in alike
    assert not any(told_apart(rows, number[one], number[other]) for one, other in alike)


@pytest.mark.parametrize(
    ("kind", "typed", "said"),
    [
        ("bearing", {"bore": "12", "od": "10"}, "bore was 12; allowed is less than the outside diameter of 10"),
        ("thread", {"diameter": "9.9 cm"}, r"9.9 cm \(99 mm\); allowed is 0.5 to 30 mm"),
        ("clip", {"shaft": "5", "groove": "6"}, "diameter in the groove was 6; allowed is less than the shaft of 5"),
        ("bearing", {"section": "2"}, "one of bore, od, width"),
    ],
)
def test_sizes_that_cannot_be_are_refused_in_a_sentence(kind: str, typed: dict[str, str], said: str) -> None:
    with pytest.raises(InputError, match=said):
        asked(kind, **typed)


@pytest.mark.parametrize("wrong", [{"gauge_mm": 0.0}, {"gauge_mm": float("nan")}, {"gauge_mm": 2.0}, {"hand": "both"}])
def test_a_gauge_or_hand_that_cannot_be_is_refused(wrong) -> None:
    with pytest.raises(InputError, match="allowed is"):
        recognise(table("thread"), {"diameter": length("3")}, **wrong)


@given(st.data())
def test_any_reading_has_an_answer(data: st.DataObject) -> None:
    """Any sizes, gauge and wear within what is allowed: shares that add up to at most 1, in their order."""
    rows = table(data.draw(st.sampled_from(sorted(BUILDERS))))
    readings = {
        each.key: Measurement(data.draw(st.floats(each.least_mm, each.most_mm)), over=data.draw(st.integers(0, 6)))
        for each in rows.kind.dimensions
    }
    gauge, worn = data.draw(st.floats(1e-4, 1.0)), data.draw(st.booleans())
    try:
        answer = recognise(rows, readings, gauge_mm=gauge, worn=worn)
    except InputError:
        return  # the smaller one was drawn larger
    shares = [found.probability for found in answer.found]
    assert shares == sorted(shares, reverse=True) and sum(shares) + answer.none_probability <= 1 + 1e-9
    assert all(0 <= share <= 1 for share in (*shares, answer.none_probability))
    assert as_dict(answer)["status"] in ("ok", "none") and as_text(answer) and (leaders_figure(answer) or not shares)
