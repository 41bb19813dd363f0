"""Forty-two invented owners. Their telephone numbers are of the range kept for fiction, their mail of RFC 2606."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Keeper:
    """An owner of reels. ``counter``: comes to the shop in person."""

    key: str
    name: str
    address: str
    counter: bool = False
    note: str = ""

    @property
    def email(self) -> str:
        plain = self.name.removeprefix("Charter boat ").lower().replace("'", "")
        return ".".join(plain.split()) + ("@example.org" if self.counter else "@example.com")


KEEPERS = (
    Keeper("marrash", "Tobin Marrash", "12 Ropewalk\nOllerness"),
    Keeper("quell", "Hester Quell", "3 Saltpan Row\nCawthray", note="Prefers a call after six."),
    Keeper("ardle", "Wendrick Ardle", "Chandler's House\nMarlsea"),
    Keeper("brook", "Ilsa Brookhythe", "41 Upper Tarrish Road\nGreat Tarrish"),
    Keeper("dunmere", "Caspar Dunmere", "9 Kiln Yard\nBrindlehithe", counter=True, note="Fishes the bar from a kayak."),
    Keeper("ferrant", "Oswin Ferrant", "Lamb Cottage\nLittle Tarrish"),
    Keeper("gillow", "Marit Gillow", "27 Weir Street\nFennimouth"),
    Keeper("hask", "Jory Hask", "2 Beacon Steps\nBrindlehithe", counter=True),
    Keeper("iverley", "Nell Iverley", "Shingle End\nDrumlow", note="Her grandfather's reels: keep every old piece."),
    Keeper("jessop", "Amos Jessoponne", "88 Long Reach\nTressle Quay"),
    Keeper("kettle", "Wyn Kettlebeck", "5 Pound Lane\nAldermanby"),
    Keeper("lorne", "Padrig Lornevale", "Flat 6, Harbour View\nPort Issel"),
    Keeper("mossop", "Greta Mossoway", "14 Dyer's Fold\nGreat Tarrish"),
    Keeper("nance", "Corin Nancewell", "The Old Forge\nWithymoor End"),
    Keeper("orchard", "Delphine Orchardine", "33 Cable Street\nMarlsea"),
    Keeper("pellow", "Rufus Pellowyn", "7 Quay Terrace\nBrindlehithe", counter=True),
    Keeper("quarrie", "Sunniva Quarrie", "19 Mill Brow\nCawthray"),
    Keeper("rudd", "Edlin Ruddock-Vane", "Heron House\nOllerness"),
    Keeper("selwick", "Thora Selwick", "60 Station Parade\nFennimouth"),
    Keeper("tavis", "Lionel Tavisgarth", "4 Lime Pits\nAldermanby"),
    Keeper("ulver", "Brannoc Ulverby", "11 Causeway\nPort Issel"),
    Keeper("vey", "Isolde Veyne", "Top Flat, 23 Cross Street\nTressle Quay"),
    Keeper("wragge", "Hob Wraggeley", "Wharf Cottages 2\nBrindlehithe", counter=True, note="Pays in coins."),
    Keeper("yarrow", "Petra Yarrowick", "15 Sandpiper Close\nKittering Sands"),
    Keeper("ashby", "Gideon Ashbarrow", "Rook Farm\nLittle Tarrish"),
    Keeper("birk", "Solveig Birkenhay", "8 The Shambles\nMarlsea"),
    Keeper("crane", "Tam Cranmoor", "52 Sea Road\nKittering Sands"),
    Keeper("dray", "Ottoline Drayce", "1 Bell Court\nGreat Tarrish"),
    Keeper("elger", "Ewan Elgerby", "30 Tidewaiter's Hill\nBrindlehithe", counter=True),
    Keeper("foss", "Mabyn Fossdale", "Ferry House\nDrumlow"),
    Keeper("gorse", "Ludo Gorsley", "17 Market Stairs\nFennimouth"),
    Keeper("hythe", "Annika Hytheward", "6 Net Row\nPort Issel"),
    Keeper("imlay", "Dougal Imlayson", "44 Pans Road\nCawthray"),
    Keeper("joll", "Kerra Jolliman", "21 St Anselm's Walk\nAldermanby"),
    Keeper(
        "keld", "Barnaby Keldstone", "The Lookout\nKittering Sands", note="Surf club: sends two or three at a time."
    ),
    Keeper("lathe", "Roswitha Latherow", "39 Old Bridge Street\nOllerness"),
    Keeper("munt", "Perrin Muntjoy", "10 Orchard Rise\nWithymoor End"),
    Keeper("noake", "Bryony Noakes-Tarn", "25 Foundry Lane\nTressle Quay"),
    Keeper("saltfern", "Charter boat Saltfern", "Berth 14, Outer Basin\nBrindlehithe", True, "Skipper Dov Ellerane."),
    Keeper("gannock", "Charter boat Grey Gannock", "Berth 3, Inner Basin\nPort Issel", note="Skipper Una Tresk."),
    Keeper(
        "oxley", "Winifred Oxlade-Fenn", "Almshouse 4\nGreat Tarrish", note="Write large: she reads no small print."
    ),
    Keeper("prosp", "Mungo Prosperley", "71 Brickfield Road\nMarlsea"),
)
BY_KEY = {keeper.key: keeper for keeper in KEEPERS}


def phone(number: int) -> str:
    """The owner's number, of the hundred kept for fiction."""
    return f"555-01{number + 1:02d}"
