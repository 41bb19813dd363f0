"""The fields that each kind of list may hold, as others head them too. Common practice, no source."""

from dataclasses import dataclass

from levelwind.core.columns.model import Field


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of list: what it is called, and which of a file's sheets hold it."""

    key: str
    title: str
    one: str
    many: str
    what: str
    sheets: tuple[str, ...]
    fields: tuple[Field, ...]
    always: tuple[str, ...]
    """Fields that are asked for even where no column seems to hold them."""


NAME = (
    *("customer", "owner", "client", "full name", "customer name", "owner name", "contact", "company"),
    *("name of the owner", "person", "bill to"),
)
MAIL = ("email", "mail", "e mail address", "email address", "owner email")
PHONE = ("phone", "tel", "mobile", "cell", "phone number", "telephone number", "cell phone", "owner phone")
NOTE = ("notes", "remark", "remarks", "comment", "comments")
MAKER = ("brand", "manufacturer", "make", "reel maker", "mfg", "reel brand")
MODEL = ("reel model", "model name", "series", "fits model")
SIZE = ("reel size", "model size")

OWNERS = (
    Field("name", "name", (*NAME, "last name", "surname", "family name")),
    Field("first", "first name, where it has a column of its own", ("first name", "given name", "forename")),
    Field("email", "e-mail", MAIL, "mail"),
    Field("phone", "telephone", PHONE, "phone"),
    Field("address", "address", ("street", "postal address", "address line 1", "street address", "address 1")),
    Field("address_2", "address, second line", ("address line 2", "address 2", "apartment", "suite")),
    Field("postcode", "postal code", ("postcode", "zip", "zip code", "post code")),
    Field("town", "town", ("city", "place", "suburb")),
    Field("region", "region", ("state", "county", "province", "district")),
    Field("country", "country", (), same=True),
    Field("note", "note", NOTE),
    Field("since", "since", ("customer since", "first seen", "created", "date added"), "day"),
)
SHELF = (
    Field(
        "number",
        "number",
        ("part number", "part no", "sku", "item number", "part", "item no", "article", "#"),
        needed=True,
    ),
    Field("name", "name", ("description", "part name", "item", "title", "designation", "item name"), needed=True),
    Field("kind", "kind", ("type", "category", "part type"), same=True),
    Field("maker", "maker", MAKER, same=True),
    Field("material", "material", ("made of",), same=True),
    Field("sizes", "sizes", ("dimensions", "measurements", "size mm")),
    Field("spot", "where it lies", ("location", "bin", "drawer", "shelf", "box", "spot", "where"), same=True),
    Field("supplier", "supplier", ("vendor", "bought from", "source"), same=True),
    Field("days_to_come", "days an order takes", ("days to come", "lead time", "lead time days"), "count", same=True),
    Field(
        "cost_minor", "what it costs us", ("cost", "cost price", "unit cost", "purchase price", "buy price"), "money"
    ),
    Field(
        "price_minor",
        "what we charge",
        ("price", "retail price", "sell price", "unit price", "list price", "msrp"),
        "money",
    ),
    Field("pack", "sold in packs of", ("pack", "pack size", "per pack"), "count", same=True),
    Field("last_buy_years", "goes out of production: must last years", (), "number"),
    Field("a_reel", "of it each reel uses up", ("used a reel", "per reel"), "number"),
    Field("cut_off", "of the sheet begun, cut off already", (), "share"),
    Field("keep_at_least", "keep at least", ("minimum", "min stock", "reorder level", "reorder point", "min"), "count"),
    Field(
        "new", "how many, new", ("quantity", "qty", "stock", "in stock", "on hand", "count", "how many", "new"), "count"
    ),
    Field("used", "how many, second-hand", ("second hand", "used", "used stock", "qty used"), "count"),
    Field("note", "note", NOTE),
)
FITS = (
    Field("maker", "reel’s maker", ("maker", *MAKER), needed=True, same=True),
    Field("model", "reel’s model", ("model", "reel", *MODEL), needed=True, same=True),
    Field("size", "reel’s size", ("size", *SIZE), same=True),
    Field("family", "how it is built", ("family", "reel family", "reel type"), same=True),
    Field(
        "place",
        "place in the reel",
        ("place", "position", "where", "description", "part name", "name", "designation"),
        needed=True,
    ),
    Field(
        "number", "number of the part that serves", ("part number", "part no", "sku", "item number", "part", "serves")
    ),
    Field(
        "place_number", "the maker’s number for the place", ("maker’s number", "original number", "oem number", "oem")
    ),
    Field("name", "name of the part", ("part name", "part description", "item name")),
    Field("kind", "kind of part", ("part type", "part kind"), same=True),
    Field("basis", "on what ground", ("basis", "ground", "evidence"), same=True),
    Field("said_by", "who says so", ("said by", "source", "says"), same=True),
    Field("sure", "how sure", ("certainty", "confidence"), "share", same=True),
    Field("serves", "it fits", ("fits", "compatible"), "yes or no", same=True),
    Field("note", "note", NOTE),
)
REEL = FITS[:4]
"""Which pattern a row speaks of, and how it is built where the book does not have it yet."""
SURE = tuple(field for field in FITS if field.key in ("said_by", "sure", "note"))
LIMITS = (
    *REEL,
    Field("place", "place in the reel", ("place", "position", "where", "piece", "part name"), needed=True),
    Field("dimension", "which size", ("size of the piece", "dimension", "what is measured"), needed=True, same=True),
    Field("new_mm", "as new, mm", ("new", "as new", "nominal"), "mm"),
    Field("least_mm", "renew under, mm", ("least", "minimum", "min", "wear limit", "service limit"), "mm"),
    Field("most_mm", "renew over, mm", ("most", "maximum", "max"), "mm"),
    Field("source", "whose limit it is", ("source", "says", "said by"), same=True),
)
REPLACEMENTS = (
    Field("number", "part that serves instead", ("part number", "new number", "superseded by", "part"), needed=True),
    Field(
        "instead_of",
        "part it is used instead of",
        ("instead of", "old number", "supersedes", "replaces", "obsolete number"),
        needed=True,
    ),
    *SURE,
)
JOBS = (
    Field("owner", "owner", (*NAME, "name"), needed=False),
    Field("email", "owner’s e-mail", MAIL, "mail"),
    Field("phone", "owner’s telephone", PHONE, "phone"),
    Field(
        "tag",
        "tag number",
        ("tag", "job", "job number", "ticket", "work order", "order number", "repair number", "id", "#"),
    ),
    Field("reel", "the reel", ("reel", "item", "product", "reel name", "equipment"), needed=True, same=True),
    Field("serial", "serial number", ("serial", "serial no", "s n", "sn")),
    Field(
        "complaint", "complaint", ("problem", "fault", "issue", "complaint in the owner’s words", "symptom", "reported")
    ),
    Field("came_with", "what came with it", ("accessories", "came with")),
    Field("looked_like", "how it looked", ("condition", "state when received")),
    Field(
        "booked_on",
        "booked in on",
        ("date in", "received", "date received", "date", "booked in", "in", "arrived"),
        "day",
        needed=True,
    ),
    Field(
        "ended_on",
        "went home on",
        ("date out", "returned", "completed", "date completed", "out", "shipped", "finished", "ended on"),
        "day",
    ),
    Field("how", "how it ended", ("status", "outcome", "result", "stage"), same=True),
    Field("maker", "reel’s maker", ("maker", *MAKER), same=True),
    Field("model", "reel’s model", ("model", *MODEL), same=True),
    Field("size", "reel’s size", ("size", *SIZE), same=True),
    Field("done_note", "what was done", ("work done", "repair", "service", "work performed", "work", "done")),
    Field("verdict", "verdict", ("findings", "diagnosis")),
    Field("charged", "what was charged", ("total", "price", "amount", "charged", "invoice total", "paid"), "money"),
)
KINDS = {
    kind.key: kind
    for kind in (
        Kind(
            key="owners",
            title="Owners",
            one="owner",
            many="owners",
            what="people and boats that own reels",
            sheets=("owners", "owner", "customers"),
            fields=OWNERS,
            always=("name", "email", "phone"),
        ),
        Kind(
            key="shelf",
            title="The shelf",
            one="part",
            many="parts",
            what="parts, with how many lie there",
            sheets=("shelf", "parts", "stock", "part"),
            fields=SHELF,
            always=("new",),
        ),
        Kind(
            key="fits",
            title="Parts lists and fits",
            one="fit",
            many="fits",
            what="which part sits or serves where in a reel",
            sheets=("fits", "parts list", "fit"),
            fields=FITS,
            always=("family", "number", "place_number"),
        ),
        Kind(
            key="limits",
            title="Limits of wear",
            one="limit of wear",
            many="limits of wear",
            what="how far a piece of a reel may be worn",
            sheets=("limits of wear", "wear limits", "limits"),
            fields=LIMITS,
            always=("family", "least_mm", "most_mm"),
        ),
        Kind(
            key="replacements",
            title="Replacements",
            one="replacement",
            many="replacements",
            what="which part of the shelf serves wherever another one does",
            sheets=("replacements", "supersessions"),
            fields=REPLACEMENTS,
            always=(),
        ),
        Kind(
            key="jobs",
            title="Past jobs",
            one="past job",
            many="past jobs",
            what="reels that came and went before this book",
            sheets=("past jobs", "jobs", "repairs", "job"),
            fields=JOBS,
            always=("owner", "ended_on"),
        ),
    )
}
