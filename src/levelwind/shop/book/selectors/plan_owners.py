"""Owners of a list beside those in the book: who is there already, and by what they are recognised."""

import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils import timezone

from levelwind.shop.book.selectors.lines import Line
from levelwind.shop.models import Owner

LEAST_FIGURES = 7
"""Figures of a telephone number by which somebody is recognised; our choice: shorter ones are extensions."""
FILLABLE = ("email", "phone", "address", "note")


@dataclass(frozen=True, slots=True)
class Who:
    """Somebody in the book (``pk``) or in an earlier row (``line``)."""

    name: str
    email: str
    phone: str
    pk: int | None = None
    line: Line | None = None


class OwnersKnown:
    """Everybody known so far, found by e-mail, by telephone, then by name."""

    def __init__(self) -> None:
        self.by_mail: dict[str, Who] = {}
        self.by_phone: dict[str, list[Who]] = defaultdict(list)
        self.by_name: dict[str, list[Who]] = defaultdict(list)
        self.rows: dict[int, dict[str, Any]] = {}
        self.told: dict[tuple[str, ...], Owner] = {}
        """By name, e-mail and telephone, one of which said who it is: a list of jobs names the same people again."""
        merged: dict[int, int] = {}
        for row in Owner.objects.filter(kind="").values("pk", "name", "merged_into_id", *FILLABLE):
            self.rows[row["pk"]] = row
            if row["merged_into_id"]:
                merged[row["pk"]] = row["merged_into_id"]
        for pk, row in self.rows.items():
            self.add(Who(row["name"], row["email"], row["phone"], merged.get(pk, pk)))

    def add(self, who: Who) -> None:
        if who.email:
            self.by_mail.setdefault(who.email.casefold(), who)
        if len(figures(who.phone)) >= LEAST_FIGURES:
            self.by_phone[figures(who.phone)[-LEAST_FIGURES:]].append(who)
        self.by_name[plain(who.name)].append(who)

    def find(self, line: Line, name: str, email: str, phone: str) -> None:
        """Put into the line who it is, or why that cannot be told."""
        mail, call = self.by_mail.get(email.casefold()) if email else None, self._called(phone)
        if mail and call and (mail.pk, mail.line) != (call.pk, call.line):
            line.why.append(f"e-mail is {mail.name}’s and telephone is {call.name}’s: they are two in the book")
            return
        if mail or call:
            self._is(line, mail or call, "e-mail" if mail else "telephone")
            return
        same = {
            (who.pk, id(who.line)): who for who in self.by_name.get(plain(name), ()) if not _other(who, email, phone)
        }
        if len(same) > 1:
            line.why.append(f"{len(same)} owners are called {name}: an e-mail or a telephone must say which one it is")
        elif same:
            self._is(line, next(iter(same.values())), "name")

    def _called(self, phone: str) -> Who | None:
        number = figures(phone)
        if len(number) < LEAST_FIGURES:
            return None
        for who in self.by_phone.get(number[-LEAST_FIGURES:], ()):
            theirs = figures(who.phone)
            if theirs.endswith(number.lstrip("0")) or number.endswith(theirs.lstrip("0")):
                return who
        return None

    def _is(self, line: Line, who: Who | None, by: str) -> None:
        assert who is not None
        line.known, line.earlier, line.by = who.pk, who.line, by


def figures(phone: str) -> str:
    return re.sub(r"\D", "", phone)


def plain(name: str) -> str:
    """A name as names are compared: "Vell, Ansa" is Ansa Vell.

    >>> plain("Vell,  Ansa") == plain("ansa vell")
    True
    """
    last, comma, first = name.partition(",")
    return " ".join((f"{first} {last}" if comma and first.strip() else name).casefold().split())


def _other(who: Who, email: str, phone: str) -> bool:
    """Somebody else of the same name: both have an e-mail or both a telephone, and they are not the same."""
    return bool(email and who.email) or bool(phone and who.phone)


def plan_owners(lines: Iterable[Line], known: str) -> None:
    """Say of each line whether it is new, and make its row."""
    book = OwnersKnown()
    for line in lines:
        values = owner_values(line.values)
        line.values = values
        if not values.get("name"):
            line.why.append("name: nothing stands there")
        made = Owner(**values)
        if line.why or not line.checked(made, values):
            continue
        book.find(line, made.name, made.email, made.phone)
        if known == "new" and line.fate == "known":
            line.known, line.earlier = None, None
        if line.fate == "new":
            line.made = made
            book.add(Who(made.name, made.email, made.phone, line=line))
        elif line.fate == "known" and known == "fill":
            _fill(line, book)


def _fill(line: Line, book: OwnersKnown) -> None:
    if line.known:
        there = book.rows[line.known]
        line.fills = {name: line.values[name] for name in FILLABLE if line.values.get(name) and not there[name]}
        there.update(line.fills)
    elif line.earlier and line.earlier.made:
        for name in FILLABLE:
            if line.values.get(name) and not getattr(line.earlier.made, name):
                setattr(line.earlier.made, name, line.values[name])
                line.fills[name] = line.values[name]


def owner_values(said: dict[str, Any]) -> dict[str, Any]:
    """As an owner's row has them: the name in one, the address line by line."""
    name = " ".join(filter(None, (said.get("first"), said.get("name"))))
    town = " ".join(filter(None, (said.get("postcode"), said.get("town"))))
    address = [said.get("address"), said.get("address_2"), town, said.get("region"), said.get("country")]
    found: dict[str, Any] = {"name": " ".join(name.split()), "email": said.get("email", "")}
    found |= {"phone": " ".join(said.get("phone", "").split()), "note": said.get("note", "")}
    found["address"] = "\n".join(line for line in address if line)
    if since := said.get("since"):
        found["since"] = datetime(since.year, since.month, since.day, 12, tzinfo=timezone.get_current_timezone())
    return found
