"""The letters as they come with Levelwind, the fields that may stand in them, and how a text is filled in."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import LetterKind

FIELD = re.compile(r"\{([^{}\n]*)\}")

COMMON = {
    "owner": "the owner's name",
    "reel": "the reel, as its owner names it",
    "serial": "its serial number",
    "tag": "its tag number",
    "complaint": "the complaint, in the owner's words",
    "came_on": "the day it came in",
    "shop": "the shop's name",
    "shop_phone": "the shop's telephone",
    "shop_email": "the shop's e-mail",
}
PRICED = {
    "price": "what it will cost, with tax",
    "lines": "what is to be done and fitted",
    "price_sent_on": "the day the price was sent",
    "promised_on": "the day promised",
    "good_until": "the day until which the price holds",
}
OWED = {"owes": "what is still to be paid", "how_to_pay": "how to pay, where something is owed"}
GONE = {"sent_on": "the day it left", "carrier": "the carrier", "tracking": "the tracking number"}


@dataclass(frozen=True, slots=True)
class Text:
    """The subject and the body of a letter, with its fields in braces."""

    subject: str
    body: str


def _text(subject: str, *lines: str) -> Text:
    return Text(subject, "\n".join(("Dear {owner},", "", *lines, "", "{shop}", "{shop_phone}", "{shop_email}")))


YOUR_WORD = "Please say yes, no, or yes up to a sum, by phone or mail, with the tag number {tag}."
TO_PAY = ("Still to be paid: {owes}.", "{how_to_pay}")

SHIPPED = {
    LetterKind.PRICE: _text(
        "What your {reel} will cost ({tag})",
        "Here is the price for your {reel}: {price}.",
        "It is for: {lines}.",
        "With your yes it should be ready by {promised_on}.",
        "The price holds until {good_until}.",
        "",
        YOUR_WORD,
    ),
    LetterKind.ASK_AGAIN: _text(
        "Your {reel} waits for your answer ({tag})",
        "On {price_sent_on} we sent you the price for your {reel}: {price}.",
        "We have not heard from you yet, and until we do the work waits.",
        "",
        YOUR_WORD,
    ),
    LetterKind.READY: _text(
        "Your {reel} is ready ({tag})",
        "Your {reel} is ready.",
        *TO_PAY,
    ),
    LetterKind.SENT: _text(
        "Your {reel} is on its way ({tag})",
        "Your {reel} left us on {sent_on}.",
        "The carrier is {carrier}.",
        "The tracking number is {tracking}.",
        *TO_PAY,
    ),
    LetterKind.SENT_BACK: _text(
        "Your {reel} comes back to you ({tag})",
        "Your {reel} comes back to you unmended.",
        "It left us on {sent_on}.",
        "The carrier is {carrier}.",
        "The tracking number is {tracking}.",
        *TO_PAY,
    ),
    LetterKind.THANKS: _text(
        "Thank you, and how does your {reel} do? ({tag})",
        "Thank you for trusting us with your {reel}. It left us on {sent_on}.",
        "How does it do? If anything is not as it should be, say so: a line is enough.",
    ),
    LetterKind.SERVICE: _text(
        "Time for a service of your {reel}?",
        "Your {reel} left us on {sent_on}.",
        "If it was fished since, salt and old grease are worth a look. We would be glad to see it again.",
    ),
    LetterKind.OTHER: _text("Your {reel} ({tag})", "About your {reel}:", ""),
}


def fields_of(kind: LetterKind) -> dict[str, str]:
    """What may stand in braces in a letter of this kind, each with what it becomes."""
    more = {
        LetterKind.PRICE: PRICED,
        LetterKind.ASK_AGAIN: PRICED,
        LetterKind.READY: OWED,
        LetterKind.SENT: GONE | OWED,
        LetterKind.SENT_BACK: GONE | OWED,
        LetterKind.THANKS: GONE,
        LetterKind.SERVICE: GONE,
        LetterKind.OTHER: {},
    }
    return COMMON | more[kind]


def text_check(kind: LetterKind, text: str) -> None:
    """Raises LevelwindError that names a field this kind of letter does not know, or a brace without its other."""
    known = fields_of(kind)
    for name in FIELD.findall(text):
        if name not in known:
            allowed = ", ".join(f"{{{one}}}" for one in known)
            raise LevelwindError(f"The letter “{kind.label}” has no field {{{name[:40]}}}. It has {allowed}.")
    left = FIELD.sub("", text)
    if "{" in left or "}" in left:
        raise LevelwindError("A brace stands alone: a field is written {owner}, with one on each side.")


def filled(text: str, values: Mapping[str, str]) -> str:
    """The text with its fields filled in, once; a line that names what is not known is left out.

    >>> filled("Dear {owner},\\nthe carrier is {carrier}.\\nGoodbye", {"owner": "Ansa {tag}", "carrier": ""})
    'Dear Ansa {tag},\\nGoodbye'
    """
    lines = [
        FIELD.sub(lambda found: values.get(found[1], ""), line)
        for line in text.splitlines()
        if all(values.get(name) for name in FIELD.findall(line))
    ]
    return re.sub(r"\n{3,}", "\n\n", "\n".join(lines)).strip()
