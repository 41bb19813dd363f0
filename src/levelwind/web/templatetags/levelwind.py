"""The few words every page uses: a field, a sum, an uncertain number."""

from datetime import date, datetime
from typing import Any, cast

from django import template
from django.forms import BoundField
from django.template.defaultfilters import floatformat
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe

from levelwind.core import quantities
from levelwind.core.figures import Bar, Figure
from levelwind.core.quantities import FIGURES, NEWTONS_PER, Quantity, Shown, shown, to_figures
from levelwind.core.writing import NO_BREAK, day_in_words, decimal_sign, moment_in_words, retold, written
from levelwind.documents import figures
from levelwind.documents.money import format_money
from levelwind.shop.people.selectors import currency, shop_get
from levelwind.web.joined import address

register = template.Library()
register.filter("retold", retold)


@register.simple_tag(name="joined")
def joined_at(kind: str) -> str:
    """Where the one style sheet (``css``) or the one script (``js``) of every page lies."""
    return address(kind)


@register.inclusion_tag("parts/field.html")
def field(bound: BoundField, label: str = "", note: str = "", size: str = "") -> dict[str, Any]:
    """A labelled field with room for what was refused; beside it, hidden, what the book holds."""
    saving = hasattr(bound.form, "was_text")
    return {
        "bound": bound,
        "label": label or bound.label,
        "note": retold(str(note or bound.help_text)),
        "size": size,
        "tick": getattr(bound.field.widget, "input_type", "") == "checkbox",
        "saving": saving,
    }


@register.inclusion_tag("parts/was.html")
def was(bound: BoundField, swap: bool = False) -> dict[str, Any]:
    """The hidden field that says what the book held when the page was drawn."""
    form: Any = bound.form
    return {"name": form.was_name(bound.name), "text": form.was_text(bound.name), "swap": swap}


@register.filter
def money(minor: int | None) -> str:
    return "" if minor is None else format_money(minor, currency(shop_get()))


@register.inclusion_tag("parts/figure.html")
def figure(figure: Figure, live: bool = False, own: bool = False) -> dict[str, Any]:
    """``live``: figure.js pulls it about; ``own``: it is what the page is about, and can be put right on it."""
    drawn, keyed = mark_safe(figures.on_screen(figure)), figures.key(figure, figures.SCREEN)
    return {"figure": figure, "drawn": drawn, "keyed": keyed, "live": live, "own": own}


@register.simple_tag
def share_bar(percent: Quantity, role: str) -> SafeString:
    """A share of a whole as a bar with its interval; ``role``: as-found or as-left."""
    return mark_safe(figures.bar(Bar(role, percent, 100.0, whole=True), figures.SCREEN, 200.0))


@register.simple_tag
def quantity(value: Quantity | Shown | dict[str, float] | None, unit: str = "") -> SafeString:
    """An uncertain number with its unit and interval, as rounded where it is; nothing known is said, not left empty."""
    if value is None:
        return mark_safe('<span class="unknown">not told</span>')
    if isinstance(value, dict):
        value = Quantity(**value)
    rounded = value if isinstance(value, Shown) else shown(value, unit)
    tail = f' <span class="interval">({rounded.interval})</span>' if rounded.interval else ""
    return mark_safe(f'<span class="quantity">{rounded.value}{tail}</span>')


@register.simple_tag
def force(newtons: Quantity | None, unit: str) -> SafeString:
    """The same of a force in N, in the shop's unit; one said outright in N keeps no more figures than a scale's."""
    if newtons is None:
        return quantity(None)
    carried = newtons.scaled(1 / NEWTONS_PER[unit])
    if carried.low == carried.high and unit != "N":
        carried = Quantity.exact(to_figures(carried.value, FIGURES[unit]))
    return quantity(carried, unit)


@register.filter(expects_localtime=True)
def day(at: date | None, parts: str) -> str:
    """As the shop writes it. ``parts`` as Django's own: "j M Y", "l j F", "j M Y, H:i"; F is the month's whole name."""
    if at is None or at == "":
        return ""
    words = {"year": "Y" in parts, "long": "F" in parts}
    if parts.endswith(", H:i"):
        return moment_in_words(cast(datetime, at), **words)
    return day_in_words(at, **words, weekday={"D": "short", "l": "long"}.get(parts[0], ""))


@register.simple_tag(name="decimal_sign")
def decimal() -> str:
    """What the script puts before decimals."""
    return decimal_sign()


@register.simple_tag
def now_in_words() -> str:
    return moment_in_words(timezone.localtime(), long=True)


@register.filter
def decimals(value: float | None, places: int | str = -1) -> str:
    """As Django's floatformat, with the shop's decimal sign."""
    return written(floatformat(value, f"{places}u"), "")


@register.filter
def figures_of(value: float, spec: str) -> str:
    """A number as Python's format has it, with the shop's decimal sign."""
    return written(value, spec)


@register.filter
def percent(share: float | None) -> str:
    """A share of one as whole percent, never 0 or 100 unless it is."""
    return "" if share is None else unbroken(quantities.percent(share))


@register.filter
def unbroken(words: str) -> str:
    """A line's end never comes between a number and its sign: "Sales tax 6 %"."""
    return words.replace(" %", f"{NO_BREAK}%")


@register.filter
def get(mapping: Any, key: Any) -> Any:
    return mapping.get(key) if mapping else None
