"""One drawer for screen and paper: the same look, places to scale, words that keep out of one another's way."""

import re
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest

import levelwind.documents
from levelwind.core.figures import Axis, Band, Bar, Figure, Line, Marker, Span
from levelwind.core.quantities import Quantity
from levelwind.documents import figures
from levelwind.documents.figure_words import placed
from levelwind.documents.figures import LOOK, PAPER, ROOMS, SCREEN, bar, key, on_paper, on_screen

FOUND = Line("as-found", ((0.0, 0.0), (1.0, 40.0), (10.0, 30.0)), "as found", "running at 30 N")
LEFT = Line("as-left", ((0.0, 0.0), (1.0, 22.0), (10.0, 20.0)), "as left", "running at 20 N")
BOTH = Figure(
    "Force over time, as found and as left",
    Axis("seconds", 0.0, 10.0),
    Axis("N", 0.0, 50.0),
    (FOUND, LEFT),
    markers=(
        Marker("breakaway", 1.0, 40.0, "breakaway 40 N", role="as-found"),
        Marker("breakaway", 1.0, 22.0, "breakaway 22 N", role="as-left"),
    ),
)
READ = Figure(
    "Force over time",
    Axis("seconds", 0.0, 10.0),
    Axis("N", 0.0, 50.0),
    (Line("read", FOUND.points), Line("running", ((2.0, 30.0), (9.0, 30.0)), says="30 N (28 to 32)")),
    (Band("running", ((2.0, 28.0), (9.0, 28.0)), ((2.0, 32.0), (9.0, 32.0))),),
    (Span("pull 1", 0.5, 9.5),),
    (
        Marker("breakaway", 1.0, 40.0, "breakaway 40 N (38 to 42)", "40 N", "breakaway", range_=(38.0, 42.0)),
        Marker("level", 2.0, 30.0, "running level 30 N", "30 N", "running", until=9.0),
    ),
)
FACES = ("Atkinson Hyperlegible Next",)
SVG = "{http://www.w3.org/2000/svg}"


def drawn(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(f'<svg xmlns="http://www.w3.org/2000/svg">{svg}</svg>')


def lines(svg: str) -> dict[str, dict[str, str]]:
    return {each.attrib["class"]: dict(each.attrib) for each in drawn(svg).iter(f"{SVG}polyline")}


@pytest.mark.parametrize("inks", [SCREEN, PAPER])
def test_as_found_and_as_left_are_told_apart_without_colour(inks: dict[str, str]) -> None:
    """In black and white print and by one who sees no colours: by thickness, by dashes, by what is filled."""
    found, left = LOOK["as-found"], LOOK["as-left"]
    assert float(left["stroke-width"]) > 1.5 * float(found["stroke-width"])
    assert "stroke-dasharray" in found and "stroke-dasharray" not in left
    assert (LOOK["as-found mark"]["fill"], LOOK["as-left mark"]["fill"]) == ("sheet", "brass")
    assert inks["brass"] != inks["sheet"]


def test_lines_look_the_same_on_screen_on_paper_and_in_the_key() -> None:
    on_page, on_sheet = on_screen(BOTH), on_paper(BOTH, 500, 220, FACES).decode()
    keys = "".join(entry.svg for entry in key(BOTH, SCREEN))
    for role in ("as-found", "as-left"):
        looks = [
            {name: drawn_[name] for name in ("stroke-width", "stroke-dasharray") if name in drawn_}
            for drawn_ in (lines(on_page)[f"line {role}"], lines(on_sheet)[f"line {role}"], LOOK[role])
        ]
        assert looks[0] == looks[1] == looks[2]
        assert f'class="line {role}" stroke-width="{LOOK[role]["stroke-width"]}"' in keys.replace(
            'fill="none" ', ""
        ).replace(f'stroke="{SCREEN[LOOK[role]["stroke"]]}" ', "")


def test_every_curve_and_shape_stands_in_the_key_once() -> None:
    assert [entry.words for entry in key(BOTH, SCREEN)] == [
        "as found, running at 30 N",
        "as left, running at 20 N",
        "breakaway",
    ]
    assert [entry.words for entry in key(READ, PAPER)] == [
        "start and end",
        "breakaway",
        "running level, with its range",
    ]
    shapes = key(BOTH, SCREEN)[-1].svg
    assert shapes.count("<circle") == 2, "one hollow, one filled"


def test_points_lie_to_scale_on_screen_and_on_paper() -> None:
    assert lines(on_screen(BOTH))["line as-found"]["points"] == "0.00,100.00 100.00,20.00 1000.00,40.00"
    sheet = on_paper(BOTH, 500, 220, FACES).decode()
    box = re.search(r'class="curves" viewBox="0 0 (\d+) (\d+)"', sheet)
    assert box
    wide, high = map(float, box.groups())
    first, top, last = (tuple(map(float, each.split(","))) for each in lines(sheet)["line as-found"]["points"].split())
    assert first == (0.0, high)
    assert list(top) == pytest.approx([wide / 10, high * (1 - 40 / 50)])
    assert list(last) == pytest.approx([wide, high * (1 - 30 / 50)])


def test_an_interval_is_drawn_about_its_value() -> None:
    whisker = next(each for each in drawn(on_screen(READ)).iter(f"{SVG}svg") if each.get("class") == "whisker")
    top, height = (float(whisker.attrib[name].rstrip("%")) for name in ("y", "height"))
    assert [top, height] == pytest.approx([100 * (1 - 42 / 50), 100 * 4 / 50])


def test_what_comes_from_a_file_cannot_break_the_drawing() -> None:
    hostile = '"><script>x</script>&'
    figure = replace(READ, y=Axis(hostile, 0.0, 50.0), spans=(Span(hostile, 0.5, 9.5),))
    assert "<script" not in on_screen(figure)
    ElementTree.fromstring(on_paper(figure, 500, 220, FACES))


def test_on_paper_no_colour_is_left_to_a_page_and_words_are_text() -> None:
    sheet = on_paper(READ, 500, 220, FACES).decode()
    assert "var(" not in sheet
    texts = ["".join(each.itertext()) for each in ElementTree.fromstring(sheet).iter(f"{SVG}text")]
    assert {"N", "seconds", "0", "40", "breakaway 40 N", "running 30 N"} <= set(texts)


def test_paper_has_the_sheets_own_inks() -> None:
    house = (Path(levelwind.documents.__file__).parent / "layouts" / "house.typ").read_text()
    for ours, theirs in (
        ("ink", "ink"),
        ("faint", "soft"),
        ("brass", "brass"),
        ("red", "red"),
        ("rule", "rule-colour"),
    ):
        assert f'#let {theirs} = rgb("{PAPER[ours]}")' in house


def test_words_fit_beside_their_shapes_and_never_touch() -> None:
    crowd = tuple(Marker("breakaway", n * 0.7, n * 17.3 % 50, "", f"{n}.0 N", "first") for n in range(14))
    places = placed(replace(READ, markers=crowd), ROOMS)
    wide, high = ROOMS["phone"]
    boxes = []
    for marker, place in zip(crowd, places, strict=True):
        x, y = wide * marker.x / 10 + place.dx, high * (1 - marker.y / 50) + place.dy
        long = 6.5 * len(f"{marker.named} {marker.label}")
        if place.room == "phone":
            boxes.append((x - long if place.side == "end" else x, x if place.side == "end" else x + long, y))
    assert 2 < len(boxes) < 14
    assert all(left >= 0 and right <= wide for left, right, _ in boxes)
    for n, (left, right, y) in enumerate(boxes):
        assert all(right < a or left > b or abs(y - h) > 15 for a, b, h in boxes[:n])
    assert sum(place.room != "none" for place in places) > len(boxes), "a desk has more room"


def test_a_bar_is_as_long_as_its_value_and_its_line_as_its_interval() -> None:
    svg = bar(Bar("as-left", Quantity(40.0, 30.0, 60.0), 100.0, whole=True), PAPER, 201.0)
    widths = [float(each) for each in re.findall(r'<rect[^>]* width="([\d.]+)"', svg)]
    ends = [float(each) for each in re.findall(r'x[12]="([\d.]+)"', svg)]
    assert widths == [200.0, 80.0]
    assert ends == [60.5, 120.5]


def test_as_found_and_as_left_have_one_code_on_screen_and_paper() -> None:
    """The same lines, marks and bars in both; told apart without colour; the sheets print with the figures' inks."""
    assert figures.SCREEN.keys() == figures.PAPER.keys()
    for kind in ("", " mark", " bar"):
        found, left = (figures.LOOK[f"as-{moment}{kind}"] for moment in ("found", "left"))
        apart = [key for key in ("stroke-dasharray", "fill", "stroke-width") if found.get(key) != left.get(key)]
        assert apart, kind
    house = (Path(figures.__file__).parent / "layouts/house.typ").read_text()
    for ink in ("ink", "brass", "red"):
        assert f'#let {ink} = rgb("{figures.PAPER[ink]}")' in house
    sheets = (Path(figures.__file__).parents[1] / "web/static").glob("*.css")
    assert not [sheet.name for sheet in sheets if "as-found" in sheet.read_text() or "as-left" in sheet.read_text()]
