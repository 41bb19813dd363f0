"""All tables of the shop's book."""

from levelwind.shop.models.boxes import SeenBox, SeenReels
from levelwind.shop.models.deeds import Deed
from levelwind.shop.models.finding import Findable, FindableWord
from levelwind.shop.models.imports import Import
from levelwind.shop.models.jobs import ENDED, OPEN, AfterNo, Draft, Job, JobEvent, Photo, Reel, Stage, Turn
from levelwind.shop.models.letters import Enclosure, Letter, LetterKind, LetterText, LetterWay, MailServer
from levelwind.shop.models.links import OwnerLink
from levelwind.shop.models.looks import Lesson, Reading, Seen, Work
from levelwind.shop.models.money import Balance, Bill, MoneyEntry, Sending
from levelwind.shop.models.naming import PatternSign, Sighting
from levelwind.shop.models.notes import JobNote
from levelwind.shop.models.pattern_pictures import PatternPicture
from levelwind.shop.models.patterns import Build, Fit, Part, Pattern, PatternPlace, PlaceLimit, Replacement
from levelwind.shop.models.people import DayOff, Owner, Parcel, Shop
from levelwind.shop.models.pieces import DragPlan, Piece, StepDone
from levelwind.shop.models.prices import FlatPrice, Price, PriceLine, Word, YearlyCost
from levelwind.shop.models.promises import Promise
from levelwind.shop.models.safekeeping import Safekeeping
from levelwind.shop.models.sheets import SheetPicture
from levelwind.shop.models.shelf import BoneReel, PartOffer, PartOrder, PartStock, ReelUse, StockEntry, Supplier, UsedUp
from levelwind.shop.models.stuck import Stuck

__all__ = [
    "ENDED",
    "OPEN",
    "AfterNo",
    "Balance",
    "Bill",
    "BoneReel",
    "Build",
    "DayOff",
    "Deed",
    "Draft",
    "DragPlan",
    "Enclosure",
    "Findable",
    "FindableWord",
    "Fit",
    "FlatPrice",
    "Import",
    "Job",
    "JobEvent",
    "JobNote",
    "Lesson",
    "Letter",
    "LetterKind",
    "LetterText",
    "LetterWay",
    "MailServer",
    "MoneyEntry",
    "Owner",
    "OwnerLink",
    "Parcel",
    "Part",
    "PartOffer",
    "PartOrder",
    "PartStock",
    "Pattern",
    "PatternPicture",
    "PatternPlace",
    "PatternSign",
    "Photo",
    "Piece",
    "PlaceLimit",
    "Price",
    "PriceLine",
    "Promise",
    "Reading",
    "Reel",
    "ReelUse",
    "Replacement",
    "Safekeeping",
    "Seen",
    "SeenBox",
    "SeenReels",
    "Sending",
    "SheetPicture",
    "Shop",
    "Sighting",
    "Stage",
    "StepDone",
    "StockEntry",
    "Stuck",
    "Supplier",
    "Turn",
    "UsedUp",
    "Word",
    "Work",
    "YearlyCost",
]
