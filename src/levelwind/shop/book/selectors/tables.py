"""Every table of the book as rows under readable headings. Who may sign in, and with what, is in none of them."""

import re
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any

from django.apps import apps
from django.db.models import BinaryField, Field, ForeignKey, Model

from levelwind.documents.money import Currency
from levelwind.shop.book.sheets import Sheet
from levelwind.shop.models import Findable, FindableWord
from levelwind.shop.people.selectors import currency, shop_get

AT_ONCE = 2000
"""Rows held in memory while a table is written; our choice."""


def book_sheets() -> Iterator[Sheet]:
    """The book's tables, but for what the search keeps for itself, which says nothing new, and files as they came."""
    money = currency(shop_get())
    for model in apps.get_app_config("shop").get_models():
        if model not in (Findable, FindableWord):
            fields = [each for each in model._meta.concrete_fields if not isinstance(each, BinaryField)]
            headings = tuple(_heading(field, money) for field in fields)
            yield Sheet(model._meta.db_table.removeprefix("shop_"), headings, _rows(model, fields, money))


def _rows(model: type[Model], fields: "Sequence[Field[Any, Any]]", money: Currency) -> Iterator[list[object]]:
    sums = [n for n, field in enumerate(fields) if field.name.endswith("_minor")]
    names = [field.attname for field in fields]
    for values in model._base_manager.order_by("pk").values_list(*names).iterator(AT_ONCE):
        row = list(values)
        for n in sums:
            row[n] = in_money(row[n], money)
        yield row


def in_money(minor: int | None, money: Currency) -> Decimal | None:
    """Cents as money.

    >>> in_money(3940, Currency("EUR"))
    Decimal('39.40')
    """
    return None if minor is None else Decimal(minor).scaleb(-money.decimals)


def _heading(field: "Field[Any, Any]", money: Currency) -> str:
    """The field's own words with its unit; a key is the row it points to."""
    words = str(field.verbose_name)
    if field.primary_key:
        return "Row"
    if isinstance(field, ForeignKey):
        words = f"{words} (row)"
    elif field.name.endswith("_minor"):
        words = f"{words.removesuffix(' minor')} ({money.code})"
    else:
        words = re.sub(r"(?<!,) (mm|N|g)$", r", \1", words)
    return words[:1].upper() + words[1:]
