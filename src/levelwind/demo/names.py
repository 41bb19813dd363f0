"""The invented shop, its harbour and those it deals with. No shop, maker or carrier of these names is known to us."""

SHOP = {
    "name": "Brindlehithe Reel Mending",
    "address": "The Net Loft, 4 Cooper's Slip\nBrindlehithe Harbour",
    "phone": "555-0100",
    "email": "bench@example.org",
    "tax_label": "Sales tax",
    "tax_percent": "6",
    "hour_minor": 5400,
    "paper": "a4",
    "force_unit": "lbf",
    "scale_most_N": 490.3325,
    "guarantee": (
        "Work and new parts are stood behind for six months from the day the reel went home. Bring or send it back "
        "and it is looked at first. What your local law gives you stays yours."
    ),
    "how_to_pay": "At the counter, by card over the telephone, or by transfer, with the number of the bill.",
    "invented": True,
}

BENCH = "Orla Tamsett"
"""Who works at the bench."""

CARRIERS = ("Brindle Coast Mail", "Withymoor Carriers")

SUPPLIERS = ("Marlsea Bearing Store", "Tarrish Spring Works", "Cawthray Salvage", "Wrackmouth Works, parts counter")

MAKERS = (
    ("Skellaby", "Skellaby Works, made star drag reels 1946 to 1991"),
    ("Oxenby Forge", "Oxenby Forge, made heavy star drag reels 1931 to 1979"),
    ("Lodderwick", "Lodderwick Brothers, made star drag reels 1983 to 2012"),
    ("Wrackmouth", "Wrackmouth Works, still making every kind"),
    ("Varrenholm", "Varrenholm, made fixed spool reels 1964 to 2003"),
    ("Estermoor", "Estermoor, still making fixed spool reels"),
    ("Kessandry", "Kessandry, made fixed spool and fly reels 1951 to 1985"),
)
