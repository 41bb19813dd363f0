"""Figures drawn as SVG, with one look on screen and on paper.

On screen places are in per cent of the area and colours are the page's, so that words keep their size, a figure fits
any width, and dark paper turns it over; on paper everything has a size and fixed ink. As found is thin, dashed and
hollow, as left is thick, solid and filled: told apart without colour too.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape

from levelwind.core.figures import Bar, Figure, Line, Marker, Points, Span
from levelwind.core.writing import written
from levelwind.documents.figure_words import Place, placed

SCREEN = {
    "ink": "var(--ink)",
    "faint": "var(--faint)",
    "rule": "var(--rule)",
    "brass": "var(--brass)",
    "wash": "var(--brass-wash)",
    "red": "var(--red)",
    "sheet": "var(--sheet)",
}
PAPER = {
    "ink": "#1a1a18",
    "faint": "#55524b",
    "rule": "#a59f92",
    "brass": "#86671a",
    "wash": "#efe4c4",
    "red": "#a3241c",
    "sheet": "#ffffff",
}
"""The inks of a page (web/static/levelwind.css) and of a sheet of paper (layouts/house.typ)."""

LOOK: Mapping[str, Mapping[str, str]] = {
    "as-found": {"fill": "none", "stroke": "ink", "stroke-width": "1.3", "stroke-dasharray": "6 4"},
    "as-left": {"fill": "none", "stroke": "brass", "stroke-width": "2.4"},
    "read": {"fill": "none", "stroke": "ink", "stroke-width": "1.6"},
    "computed": {"fill": "none", "stroke": "ink", "stroke-width": "2.4"},
    "supposed": {"fill": "none", "stroke": "ink", "stroke-width": "1.6", "stroke-dasharray": "1.5 4"},
    "limit": {"fill": "none", "stroke": "red", "stroke-width": "1.5", "stroke-dasharray": "3 4"},
    "here": {"fill": "none", "stroke": "brass", "stroke-width": "1.5", "stroke-dasharray": "3 4"},
    "running": {"fill": "none", "stroke": "brass", "stroke-width": "2.4"},
    "wobble": {"fill": "none", "stroke": "brass", "stroke-width": "1.4", "stroke-dasharray": "2 4"},
    "first": {"fill": "none", "stroke": "ink", "stroke-width": "2.4"},
    "second": {"fill": "none", "stroke": "brass", "stroke-width": "2", "stroke-dasharray": "8 4"},
    "third": {"fill": "none", "stroke": "faint", "stroke-width": "1.4", "stroke-dasharray": "2 3"},
    "rest-range": {"fill": "none", "stroke": "brass", "stroke-width": "7", "opacity": "0.7"},
    "computed band": {"fill": "wash"},
    "pit band": {"fill": "ink", "opacity": "0.75"},
    "running band": {"fill": "brass", "opacity": "0.3"},
    "as-found mark": {"fill": "sheet", "stroke": "ink", "stroke-width": "1.6"},
    "as-left mark": {"fill": "brass", "stroke": "brass", "stroke-width": "2"},
    "read mark": {"fill": "sheet", "stroke": "brass", "stroke-width": "2.4"},
    "as-found bar": {"fill": "none", "stroke": "ink", "stroke-width": "1.3", "stroke-dasharray": "4 2"},
    "as-left bar": {"fill": "brass", "stroke": "brass"},
    "computed bar": {"fill": "wash", "stroke": "ink"},
    "whole": {"fill": "none", "stroke": "rule"},
    "range": {"stroke": "ink", "stroke-width": "1.8"},
    "as-found range": {"stroke": "ink", "stroke-width": "1.6"},
    "as-left range": {"stroke": "brass", "stroke-width": "2"},
    "read range": {"stroke": "brass", "stroke-width": "2"},
    "rule": {"stroke": "rule"},
    "axis": {"stroke": "ink"},
    "ground": {"fill": "wash", "opacity": "0.35"},
    "edge": {"stroke": "faint", "stroke-dasharray": "3 3"},
    "word": {
        "fill": "ink",
        "stroke": "sheet",
        "stroke-width": "4",
        "stroke-linejoin": "round",
        "paint-order": "stroke",
    },
    "tick": {"fill": "faint"},
}
"""How each thing on a figure looks: the one place that says so."""

SHAPES = {
    "breakaway": ("circle", {"r": "6"}),
    "flick": ("circle", {"r": "6"}),
    "pull": ("circle", {"r": "6"}),
    "half": ("path", {"d": "M0-7l7 7-7 7-7-7z"}),
    "rest": ("rect", {"x": "-6", "y": "-13", "width": "12", "height": "12"}),
}
"""The shape of each kind of marker, about the place it marks; px."""

KEY = {
    "edge": "start and end",
    "breakaway": "breakaway",
    "running": "running level, with its range",
    "wobble": "wobble once a turn",
    "flick": "first speed",
    "half": "half speed",
    "rest": "at rest",
    "rest-range": "when it came to rest, its range",
    "computed": "range of nine times in ten",
    "pit": "eaten away",
}
"""What shapes, bands and nameless lines stand for."""

TYPE_PX = 14.0
"""The size of words on paper before a sheet scales a figure to its place; on screen the page has its own."""

MARGINS_PX = (46.0, 26.0, 16.0, 46.0)
"""Left, above, right and below the area on paper: room for what is written along the axes."""

ROOMS = {"phone": (300.0, 280.0), "desk": (820.0, 280.0)}
"""How wide and high a figure's area is on a phone and at a desk: so much room have the words on it."""

SHAPE_PX = 20.0
"""Room for a shape in a key."""

SWATCH_PX = (34.0, 20.0)
"""How wide and high an entry of a key is; one of shapes is as wide as they are."""

TICKS = 6
FULL = {"width": "100%", "height": "100%"}
SCREEN_CURVES = (1000.0, 100.0)
"""The box that curves are drawn in on screen, to be stretched over the area: figure.js counts in it too."""

MANY = 12
"""More spans than this stand without their numbers until one looks closer."""


@dataclass(frozen=True, slots=True)
class Keyed:
    """One entry of a key: how it looks, and what it stands for."""

    svg: str
    words: str


def on_screen(figure: Figure) -> str:
    """What stands inside the SVG of a page, which gives it its size."""
    return _Drawer(figure, SCREEN, SCREEN_CURVES).area(ROOMS)


def on_paper(figure: Figure, width_px: float, height_px: float, faces: Sequence[str]) -> bytes:
    """A whole SVG of this size with its words in these faces; a sheet then scales it to its place."""
    left, above, right, below = MARGINS_PX
    size = width_px - left - right, height_px - above - below
    drawn = _Drawer(figure, PAPER, size).area({"paper": size})
    place = dict(zip(("x", "y", "width", "height"), (f"{each:g}" for each in (left, above, *size)), strict=True))
    return _whole(
        element("svg", {**place, "overflow": "visible"}, drawn),
        (width_px, height_px),
        {"font-family": ", ".join(faces), "font-size": f"{TYPE_PX:g}"},
    ).encode()


def key(figure: Figure, inks: Mapping[str, str]) -> tuple[Keyed, ...]:
    """Everything on the figure once: the curves and pulls by their names, then shapes, bands and nameless lines."""
    drawer = _Drawer(figure, inks, SWATCH_PX)
    named = [(drawer.stroke(line.role), line.keyed) for line in figure.lines if line.name]
    named += [(drawer.shapes([pull]), pull.words) for pull in figure.markers if pull.kind == "pull"]
    named += [(drawn, KEY[kind]) for kind, drawn in drawer.swatches().items()]
    return tuple(Keyed(drawn, words) for drawn, words in named)


def bar(of: Bar, inks: Mapping[str, str], width_px: float, height_px: float = 16.0) -> str:
    """A bar to its value, with its interval as a line through it, in a box where it is part of a whole."""
    low, value, high = (share * (width_px - 1) for share in of.shares)
    box, middle = {"x": "0.5", "y": "2.5", "height": f"{height_px - 5:g}"}, f"{height_px / 2:g}"
    whole = element("rect", box | {"width": f"{width_px - 1:g}"} | _look("whole", inks)) if of.whole else ""
    part = element(
        "rect", {"class": f"part {of.role}"} | box | {"width": f"{value:.1f}"} | _look(f"{of.role} bar", inks)
    )
    ends = {"x1": f"{low + 0.5:.1f}", "x2": f"{high + 0.5:.1f}", "y1": middle, "y2": middle}
    range_ = element("line", ends | _look("range", inks))
    return _whole(whole + part + range_, (width_px, height_px), {"aria-hidden": "true"})


def element(name: str, attributes: Mapping[str, str], inside: str = "") -> str:
    written = "".join(f' {key}="{escape(value)}"' for key, value in attributes.items())
    return f"<{name}{written}>{inside}</{name}>"


def _whole(drawn: str, size: tuple[float, float], more: Mapping[str, str]) -> str:
    width, height = (f"{each:g}" for each in size)
    space = {"xmlns": "http://www.w3.org/2000/svg", "viewBox": f"0 0 {width} {height}"}
    return element("svg", {**space, "width": width, "height": height, **more}, drawn)


def _swatch(drawn: str, width: float = SWATCH_PX[0]) -> str:
    return _whole(drawn, (width, SWATCH_PX[1]), {"aria-hidden": "true"})


def _look(name: str, inks: Mapping[str, str]) -> dict[str, str]:
    return {key: inks.get(value, value) for key, value in LOOK[name].items()}


@dataclass(frozen=True, slots=True)
class _Drawer:
    """Draws one figure in these inks; ``curves`` is the size of the box that lines are drawn in."""

    figure: Figure
    inks: Mapping[str, str]
    curves: tuple[float, float]

    def area(self, rooms: Mapping[str, tuple[float, float]]) -> str:
        """Grid and axes, and what lies on them."""
        spans = "".join(self._span(number, span) for number, span in enumerate(self.figure.spans, 1))
        words = placed(self.figure, rooms)
        marks = "".join(self._marker(marker, place) for marker, place in zip(self.figure.markers, words, strict=True))
        inside = element("svg", {"class": "inside", **FULL, "overflow": "visible"}, spans + self._lines() + marks)
        return self._grid() + inside

    def _line(self, look: str, x1: str, y1: str, x2: str, y2: str, **more: str) -> str:
        return element("line", {"x1": x1, "y1": y1, "x2": x2, "y2": y2, **more, **_look(look, self.inks)})

    def _written(self, text: str, x: str, y: str, anchor: str, dy: str) -> str:
        place = {"x": x, "y": y, "dy": dy, "text-anchor": anchor}
        return element("text", {**place, **_look("tick", self.inks)}, escape(text))

    def _grid(self) -> str:
        x, y = self.figure.x, self.figure.y
        across = [(self._y(at), label) for at, label in y.ticks(TICKS)]
        along = [(self._x(at), label) for at, label in x.ticks(TICKS)]
        rows = "".join(
            self._line("rule", "0", at, "100%", at) + self._written(label, "-8", at, "end", "0.35em")
            for at, label in across
        )
        columns = "".join(
            self._line("rule", at, "0", at, "100%") + self._written(label, at, "100%", "middle", "1.3em")
            for at, label in along
        )
        names = self._written(y.name, "0", "0", "start", "-0.6em") + self._written(
            x.name, "100%", "100%", "end", "2.6em"
        )
        axes = self._line("axis", "0", "0", "0", "100%") + self._line("axis", "0", "100%", "100%", "100%")
        return element("g", {"class": "y-ticks"}, rows) + element("g", {"class": "x-ticks"}, columns) + names + axes

    def _span(self, number: int, span: Span) -> str:
        start = self.figure.x.share(span.low)
        place = {"x": _percent(start), "width": _percent(self.figure.x.share(span.high) - start)}
        held = {"data-s": f"{span.low:.4f}", "data-e": f"{span.high:.4f}"}
        title = element(
            "title", {}, escape(f"{span.name}: {written(span.low, '.2f')} to {written(span.high, '.2f')} s")
        )
        ground = element("rect", {**FULL, **_look("ground", self.inks)})
        edges = "".join(self._line("edge", x, "0", x, "100%") for x in ("0", "100%"))
        count = len(self.figure.spans)
        many = {"class": "many"} if count > MANY else {}
        middle = {"x": "50%", "y": "18", "text-anchor": "middle", "font-weight": "600", **_look("word", self.inks)}
        told = element("text", {**many, **middle}, str(number)) if count > 1 else ""
        whole = {"class": "stretch", **place, "height": "100%", "overflow": "visible", **held}
        return element("svg", whole, title + ground + edges + told)

    def _lines(self) -> str:
        bands = [
            element(
                "polygon",
                {"points": self._points([*band.high, *reversed(band.low)]), **_look(f"{band.role} band", self.inks)},
            )
            for band in self.figure.bands
        ]
        wide, high = (f"{each:g}" for each in self.curves)
        box = {"class": "curves", "viewBox": f"0 0 {wide} {high}", "preserveAspectRatio": "none", **FULL}
        return element("svg", box, "".join([*bands, *map(self._curve, self.figure.lines)]))

    def _curve(self, line: Line) -> str:
        more = {"vector-effect": "non-scaling-stroke", "stroke-linejoin": "round", **_look(line.role, self.inks)}
        title = element("title", {}, escape(line.says)) if line.says and not line.name else ""
        return element("polyline", {"class": f"line {line.role}", "points": self._points(line.points), **more}, title)

    def _points(self, points: Points) -> str:
        wide, high = self.curves
        x, y = self.figure.x, self.figure.y
        return " ".join(f"{wide * x.share(a):.2f},{high * (1 - y.share(b)):.2f}" for a, b in points)

    def _marker(self, marker: Marker, place: Place) -> str:
        x, y = self._x(marker.x), self._y(marker.y)
        until = {} if marker.until is None else {"data-e": f"{marker.until:.4f}"}
        held = {"overflow": "visible", "data-s": f"{marker.x:.4f}", **until}
        title = element("title", {}, escape(marker.words))
        drawn = element(
            "svg",
            {"class": f"dot {marker.kind}", "x": x, "y": y, **held},
            title + self.shape(marker) + self._word(marker, place),
        )
        return self._whisker(marker) + drawn

    def _whisker(self, marker: Marker) -> str:
        if marker.range_ is None:
            return ""
        top, foot = (min(1.0, max(0.0, 1 - self.figure.y.share(end))) for end in reversed(marker.range_))
        place = {"x": self._x(marker.x), "y": _percent(top), "height": _percent(foot - top)}
        look = f"{marker.role} range"
        ends = "".join(self._line(look, "-6", y, "6", y) for y in ("0", "100%"))
        held = {"overflow": "visible", "data-s": f"{marker.x:.4f}"}
        return element("svg", {"class": "whisker", **place, **held}, self._line(look, "0", "0", "0", "100%") + ends)

    def _word(self, marker: Marker, place: Place) -> str:
        if not marker.label or (place.room == "none" and self.inks is PAPER):
            return ""
        named = element("tspan", {"class": "named"}, escape(marker.named) + " ") if marker.named else ""
        where = {"class": f"word {place.room}", "x": f"{place.dx:g}", "y": f"{place.dy:g}", "text-anchor": place.side}
        return element("text", {**where, **_look("word", self.inks)}, named + escape(marker.label))

    def shape(self, marker: Marker) -> str:
        if marker.kind not in SHAPES:
            return ""
        name, form = SHAPES[marker.kind]
        return element(name, {**form, **_look(f"{marker.role} mark", self.inks)})

    def shapes(self, markers: Sequence[Marker]) -> str:
        """A swatch with these shapes side by side."""
        middle = SWATCH_PX[1] / 2 + (6 if markers[0].kind == "rest" else 0)
        drawn = (
            element("g", {"transform": f"translate({SHAPE_PX * (n + 0.5):g} {middle:g})"}, self.shape(marker))
            for n, marker in enumerate(markers)
        )
        return _swatch("".join(drawn), SHAPE_PX * len(markers))

    def stroke(self, role: str, under: str = "") -> str:
        """A swatch with a line of this role, over what lies ``under`` it."""
        wide, middle = f"{SWATCH_PX[0]:g}", f"{SWATCH_PX[1] / 2:g}"
        return _swatch(under + self._line(role, "0", middle, wide, middle, **{"class": f"line {role}"}))

    def swatches(self) -> dict[str, str]:
        """For each kind of what has no name of its own, in the order of the key."""
        plain = {line.role for line in self.figure.lines if not line.name}
        bands = {band.role for band in self.figure.bands}
        drawn = {}
        for kind in KEY:
            own = {marker.role: marker for marker in self.figure.markers if marker.kind == kind}
            if own:
                drawn[kind] = self.shapes(list(own.values()))
            elif kind == "edge" and self.figure.spans:
                drawn[kind] = _swatch(self._line("edge", "10", "0", "10", "20"), SHAPE_PX)
            elif kind in bands:
                box = {"x": "2", "y": "4", "width": f"{SWATCH_PX[0] - 4:g}", "height": f"{SWATCH_PX[1] - 8:g}"}
                band = element("rect", {**box, **_look(f"{kind} band", self.inks)})
                drawn[kind] = self.stroke(kind, band) if kind in plain else _swatch(band)
            elif kind in plain and kind != "computed":
                drawn[kind] = self.stroke(kind)
        return drawn

    def _x(self, value: float) -> str:
        return _percent(self.figure.x.share(value))

    def _y(self, value: float) -> str:
        return _percent(1 - self.figure.y.share(value))


def _percent(share: float) -> str:
    return f"{100 * share:.3f}%"
