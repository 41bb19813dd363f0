"""Two pulls like for like."""

from dataclasses import replace

import pytest

from levelwind.core.codec import as_shown
from levelwind.core.errors import NotDeterminedError
from levelwind.core.pull import Pull, PullResult, typed
from levelwind.core.pull.compare import FIGURES, compare
from levelwind.core.quantities import Quantity


def logged(running_N: float, ratio: float = 1.2, part: float = 0.01, **more: object) -> PullResult:
    """A log of one pull, each figure known to a part of itself."""
    figures = {
        name: Quantity(value, value * (1 - part), value * (1 + part))
        for name, value in (
            ("running_N", running_N),
            ("breakaway_N", running_N * ratio),
            ("startup_ratio", ratio),
        )
    }
    return PullResult((Pull(0.0, 9.0, **figures, **more),))  # type: ignore[arg-type]


def test_the_words_name_the_ratio_the_drag_and_what_they_rest_on() -> None:
    said = compare(typed(32.4, 20.0), typed(24.0, 21.0))
    words = said.words()
    assert words.startswith("start-up ratio 1.62 to 1.14: down by 0.48")
    assert "running drag 20.0 to 21.0 N: up by 1.0 N" in words
    assert any(str(note).startswith("as found: typed") for note in said.cautions)
    assert any(str(note).startswith("as left: typed") for note in said.cautions)
    assert "stick-slip" not in words


def test_the_words_speak_the_unit_asked_for() -> None:
    """20 and 21 N are 4.50 and 4.72 lbf (by the definition of the pound-force)."""
    said = compare(typed(32.4, 20.0), typed(24.0, 21.0))
    assert "running drag 4.5 to 4.72 lbf: up by 0.2 lbf" in said.words("lbf")
    assert said.words("lbf").startswith("start-up ratio 1.62 to 1.14: down by 0.48")
    running = said.change("running_N")
    assert running and running.in_unit("lbf").chance_real == running.chance_real


def test_json_holds_every_figure_left_less_found() -> None:
    wave = Quantity(1.5, 1.3, 1.7)
    before, after = logged(20.0, 1.6, wobble_N=wave), logged(24.0, 1.1, wobble_N=wave.scaled(0.5))
    shape = as_shown(compare(before, after))
    assert list(shape) == ["kind", "status", "of", *FIGURES, "cautions"]
    assert (shape["kind"], shape["status"], shape["of"]) == ("compare", "ok", "pull")
    for name in FIGURES:
        assert list(shape[name]) == ["found", "left", "change", "real"], name
        change = shape[name]["change"]
        assert change["value"] == pytest.approx(shape[name]["left"]["value"] - shape[name]["found"]["value"])
        assert change["low"] < change["value"] < change["high"]
    assert shape["running_N"]["change"]["value"] == pytest.approx(4.0)
    assert shape["running_N"]["real"] is True and shape["wobble_N"]["real"] is True


@pytest.mark.parametrize("lacking", ["found", "left"])
def test_a_figure_that_one_log_does_not_tell_is_null(lacking: str) -> None:
    wave = logged(20.0, wobble_N=Quantity(1.5, 1.3, 1.7))
    both = {"found": wave, "left": wave} | {lacking: typed(24.0, 20.0)}
    said = compare(**both)
    assert as_shown(said)["wobble_N"] is None
    assert said.change("running_N") is not None


def test_a_twenty_fifth_is_no_change_of_a_drag_however_sure_two_logs_are() -> None:
    """Another hand, another pace and a warmer drag make as much."""
    said = compare(logged(20.0, part=0.001), logged(20.8, part=0.001))
    running = said.change("running_N")
    assert running and not running.real and running.by.endswith("too small to tell from chance")


def test_sticking_has_gone_only_where_both_logs_tell() -> None:
    sticks, slides = logged(20.0, stick_slip=True), logged(20.0, stick_slip=False)
    untold = logged(20.0, stick_slip=None)
    assert "stick-slip gone" in compare(sticks, slides).words()
    assert "stick-slip has come" in compare(slides, sticks).words()
    assert "still stick-slip" in compare(sticks, sticks).words()
    for one, other in ((sticks, untold), (untold, sticks), (sticks, typed(24.0, 20.0)), (slides, slides)):
        assert "stick-slip" not in compare(one, other).words()


def test_cautions_of_each_pull_are_borne_once() -> None:
    (pull,) = typed(30.0, 20.0).pulls
    (note,) = typed(30.0, 20.0).cautions
    twice = PullResult((replace(pull, cautions=(note,)),) * 2)
    assert [str(each) for each in compare(twice, PullResult((pull,))).cautions] == [f"as found: {note}"]


def test_a_log_without_a_pull_is_refused() -> None:
    with pytest.raises(NotDeterminedError, match="no number in common"):
        compare(PullResult(), typed(30.0, 20.0))
