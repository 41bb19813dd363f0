"""Finding anything in the book by whatever word is at hand, a mistyped one too, and saying by what it was found."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.db import connection
from django.db.models import Model
from django.db.models.expressions import RawSQL

from levelwind.shop.finding.kept import ALL, ALL_OF_A_PART, FIELDS, ON_THE_SHELF, SHORTEST_WORD
from levelwind.shop.models import Bill, Job, Owner, Part, Pattern

MOST_WORDS = 6
MOST_OF_A_KIND = {"§jo": 200, "§ow": 20, "§pa": 20, "§bi": 20, "§pt": 20}
"""How many of each kind are looked at more closely, the newest first; our choice."""
NEWEST = 2000
"""Where every word is shorter than three letters, for which there is no index, only so many rows are looked through."""
GRAM = 3
SAME_TELEPHONE_DIGITS = 8
"""Two numbers that end alike in so many digits are taken for one: before them stand a country and its own zero, written
or not. Our choice: shorter than what is dialled within any country that we know of, from memory."""
LEAST_TELEPHONE_DIGITS = 6
NEAR, NEAR_OF_LONG, LONG = 1, 2, 8
"""How many slips are forgiven in a word, and in one of so many letters or more; our choice: a second slip in a short
word makes another word of it."""
MOST_NEAR = 6

CALLED = {
    "number": {"§jo": "tag number", "§pa": "part number", "§bi": "bill number"},
    "name": {"§pa": "name"},
}
"""What a column is called where it depends on what is found."""
NAMES = {
    "number": "number",
    "name": "owner",
    "phone": "telephone",
    "mail": "e-mail",
    "reel": "reel",
    "pattern": "pattern",
    "serial": "serial number",
    "complaint": "complaint",
    "came": "tracking number of the way in",
    "sent": "tracking number of the way home",
}
WORTH = {
    "number": 60,
    "serial": 50,
    "phone": 50,
    "mail": 50,
    "came": 45,
    "sent": 45,
    "name": 40,
    "reel": 25,
    "pattern": 24,
    "complaint": 10,
}
"""How much a word in a column tells, a number that is one thing's own before a word that many have; our choice."""
WHOLE, AT_START = 40, 10
KINDS: dict[str, tuple[str, type[Model]]] = {
    "§ow": ("owner", Owner),
    "§jo": ("job", Job),
    "§pa": ("part", Part),
    "§bi": ("bill", Bill),
    "§pt": ("pattern", Pattern),
}

Term = tuple[str, ...]
"""Ways to write one word, any of which will do."""


@dataclass(frozen=True, slots=True)
class Answer:
    """A thing found: "job", "owner", "part", "bill" or "pattern"; ``why`` names what of it holds the words."""

    kind: str
    subject: Model
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Found:
    """The answers, best first; ``read_as`` are the words of the book that were taken for mistyped ones."""

    answers: tuple[Answer, ...]
    read_as: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Hit:
    mark: str
    ref: int
    worth: float
    fields: tuple[str, ...]


def find(words: str, *, most: int = 12) -> Found:
    """Everything in which every word occurs somewhere; if nothing, what has the telephone number; if nothing, what has
    words that are nearly these. Under three letters a word is looked for among the newest things alone.
    """
    typed: tuple[Term, ...] = tuple(
        (word,) for word in words.lower().replace("§", "").replace("\0", "").split()[:MOST_WORDS]
    )
    if not typed:
        return Found(())
    hits, terms = _hits(typed), typed
    if not hits and (number := _telephone(words)):
        hits = _hits((number,))
    if not hits and (terms := _forgiven(typed)) != typed:
        hits = _hits(terms)
    read_as = tuple(dict.fromkeys(other for term in terms for other in term[1:])) if hits else ()
    return Found(_answers(hits, most), read_as)


def _telephone(words: str) -> Term:
    """The digits, without the zeros before them, and the last of them."""
    if not re.fullmatch(r"[+\d\s()./-]+", words.strip()):
        return ()
    digits = re.sub(r"\D", "", words).lstrip("0")
    if len(digits) < LEAST_TELEPHONE_DIGITS:
        return ()
    return tuple(dict.fromkeys((digits, digits[-SAME_TELEPHONE_DIGITS:])))


def _hits(terms: Sequence[Term]) -> list[_Hit]:
    question, values = candidates(terms)
    with connection.cursor() as cursor:
        cursor.execute(question, values)
        rows = cursor.fetchall()
    weighed = (_weighed(mark, ref, dict(zip(FIELDS, texts, strict=True)), terms) for mark, ref, *texts in rows)
    hits = [hit for hit in weighed if hit]
    kinds = list(KINDS)
    return sorted(hits, key=lambda hit: (-hit.worth, kinds.index(hit.mark)))


def candidates(terms: Sequence[Term]) -> tuple[str, list[str]]:
    """The question to the database's own index of three letters, and its values: the newest rows of each kind."""
    long = [term for term in terms if all(len(word) >= GRAM for word in term)]
    row = f"SELECT f.mark, f.ref, {', '.join(f'f.{field}' for field in FIELDS)} FROM shop_findable f"  # noqa: S608
    if not long:
        return f"{row} ORDER BY f.id DESC LIMIT {NEWEST}", []
    kind = _KIND[connection.vendor]
    named = [
        f"SELECT * FROM ({row} {kind(long)} ORDER BY f.id DESC LIMIT {most}) AS {KINDS[mark][0]}_found"  # noqa: S608
        for mark, most in MOST_OF_A_KIND.items()
    ]
    values = [value for mark in MOST_OF_A_KIND for value in _VALUES[connection.vendor](mark, long)]
    return " UNION ALL ".join(named), values


def _in_sqlite(terms: Sequence[Term]) -> str:
    return "JOIN find_text ON find_text.rowid = f.id WHERE find_text MATCH %s"


def _sqlite_values(mark: str, terms: Sequence[Term]) -> list[str]:
    ways = [" OR ".join('"' + word.replace('"', '""') + '"' for word in term) for term in terms]
    every = " AND ".join([f'"{mark}"', *(f"({way})" for way in ways)])
    return [f"- {ON_THE_SHELF} : ({every})"]


def _in_postgresql(terms: Sequence[Term]) -> str:
    ways = [" OR ".join([f"{ALL} LIKE %s"] * len(term)) for term in terms]
    return "WHERE mark = %s AND " + " AND ".join(f"({way})" for way in ways)


def _postgresql_values(mark: str, terms: Sequence[Term]) -> list[str]:
    return [mark, *("%" + re.sub(r"([%_\\])", r"\\\1", word) + "%" for term in terms for word in term)]


def parts_with(word: str) -> RawSQL:
    """Keys of the parts with this word, of three letters or more, in number, name, kind, maker, material or spot."""
    word = word.replace("\0", "")
    if connection.vendor == "sqlite":
        # In this order: the other way round the index of letters would be asked for each part by itself.
        tables = "find_text CROSS JOIN shop_findable f ON f.id = find_text.rowid WHERE find_text MATCH %s"
        value = 'mark : "§pa" AND "' + word.replace('"', '""') + '"'
    else:
        tables = f"shop_findable f WHERE f.mark = '§pa' AND {ALL_OF_A_PART} LIKE %s"
        value = "%" + re.sub(r"([%_\\])", r"\\\1", word.lower()) + "%"
    return RawSQL(f"SELECT f.ref FROM {tables}", [value])  # noqa: S608


_KIND = {"sqlite": _in_sqlite, "postgresql": _in_postgresql}
_VALUES = {"sqlite": _sqlite_values, "postgresql": _postgresql_values}


def _weighed(mark: str, ref: int, texts: dict[str, str], terms: Sequence[Term]) -> _Hit | None:
    """What the row is worth, by the most telling column of each word; None where a word is in none of them."""
    texts, worth, fields = {field: text.lower() for field, text in texts.items() if text}, 0.0, []
    for term in terms:
        best = max(((_worth(field, text, word), field) for field, text in texts.items() for word in term), default=None)
        if best is None or not best[0]:
            return None
        worth += best[0]
        fields.append(best[1])
    return _Hit(mark, ref, worth, tuple(dict.fromkeys(fields)))


def _worth(field: str, text: str, word: str) -> float:
    if word not in text:
        return 0
    starts = re.search(rf"(?<!\w){re.escape(word)}", text) is not None
    return WORTH[field] + (WHOLE if word == text or word in text.split() else AT_START if starts else 0)


def _answers(hits: Sequence[_Hit], most: int) -> tuple[Answer, ...]:
    """The things themselves, read from the book kind by kind; of those equally near a job under way is first."""
    looked_at = hits[: 5 * most]
    things = {mark: _things(mark, [hit.ref for hit in looked_at if hit.mark == mark]) for mark in KINDS}
    there = [(hit, things[hit.mark][hit.ref]) for hit in looked_at if hit.ref in things[hit.mark]]
    there.sort(key=lambda one: (-one[0].worth, isinstance(one[1], Job) and one[1].is_over))
    return tuple(
        Answer(KINDS[hit.mark][0], thing, tuple(_called(hit.mark, field) for field in hit.fields))
        for hit, thing in there[:most]
    )


def _things(mark: str, refs: Sequence[int]) -> dict[int, Model]:
    if not refs:
        return {}
    if mark == "§jo":
        return dict(Job.objects.select_related("owner", "pattern").in_bulk(refs))
    if mark == "§bi":
        return dict(Bill.objects.select_related("owner", "job").in_bulk(refs))
    return dict(KINDS[mark][1]._default_manager.in_bulk(refs))


def _called(mark: str, field: str) -> str:
    return CALLED.get(field, {}).get(mark, NAMES[field])


def _forgiven(terms: Sequence[Term]) -> tuple[Term, ...]:
    return tuple((*term, *words_near(term[0])) for term in terms)


def words_near(typed: str) -> tuple[str, ...]:
    """Words of the book that a slip or two make of this one, the nearest first; a letter too many, too few, another, or
    two the wrong way round are one slip each.
    """
    if len(typed) < SHORTEST_WORD:
        return ()
    padded = f"  {typed} "
    grams = [padded[n : n + GRAM] for n in range(len(padded) - GRAM + 1)]
    with connection.cursor() as cursor:
        cursor.execute(*_ALIKE[connection.vendor](typed, grams))
        alike = [word for (word,) in cursor.fetchall()]
    most = NEAR_OF_LONG if len(typed) >= LONG else NEAR
    near = sorted((slips(typed, word), word) for word in alike if abs(len(word) - len(typed)) <= most)
    return tuple(word for count, word in near if 0 < count <= most)[:MOST_NEAR]


_ALIKE: dict[str, Callable[[str, list[str]], tuple[str, list[str]]]] = {
    "sqlite": lambda typed, grams: (
        "SELECT trim(padded) FROM find_word WHERE find_word MATCH %s ORDER BY rank LIMIT 200",
        [" OR ".join('"' + gram.replace('"', '""') + '"' for gram in grams)],
    ),
    "postgresql": lambda typed, grams: ("SELECT word FROM shop_findableword ORDER BY word <-> %s LIMIT 200", [typed]),
}


def slips(one: str, other: str) -> int:
    """Edits between two words: the restricted Damerau-Levenshtein distance (F. J. Damerau, Communications of the ACM 7,
    1964, from memory).

    >>> slips("quilane", "quillane"), slips("drga", "drag"), slips("reel", "reel")
    (1, 1, 0)
    """
    before: list[int] = []
    last = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        row = [i]
        for j, b in enumerate(other, 1):
            row.append(min(last[j] + 1, row[-1] + 1, last[j - 1] + (a != b)))
            if i > 1 and j > 1 and a == other[j - 2] and one[i - 2] == b:
                row[-1] = min(row[-1], before[j - 2] + 1)
        before, last = last, row
    return last[-1]
