"""One full specimen of every sheet, from an invented shop. Tests change what they need with ``dataclasses.replace``."""

from dataclasses import replace
from datetime import date
from io import BytesIO
from math import exp, sin

from PIL import Image

from levelwind.core.figures import Figure, Line, Marker, compared
from levelwind.core.quantities import Quantity
from levelwind.documents import bill, old_parts, parts_list, price, proof, tag, takedown
from levelwind.documents.letterhead import JobHead, Shop, pattern_head
from levelwind.documents.money import Currency
from levelwind.documents.picture import Picture

DAY = date(2026, 5, 14)
SHOP = Shop(
    name="Kelpwick Reel Bench",
    currency=Currency("GBP", "£"),
    address=("3 Netloft Lane", "Kelpwick Harbour"),
    phone="01632 960 417",
    email="bench@kelpwick.example",
    tax_id="tax no. 000 0000 00",
)
JOB = JobHead("K-0412", "Maren Tidewell", "Harrowgate 40 star drag", "HG40-11873", ("12 Slipway Rise", "Kelpwick"))

COMPLAINT = (
    "The drag slips. It started last August on the way back from the banks, with a fish of perhaps 20 kg, and since "
    "then it has got worse: it slips, then grabs, then slips. Also the handle knocks once a turn when winding in, at "
    "the top; it never did that before my brother-in-law oiled it with something from a spray can. Please look at the "
    "bearings too. I am at home in the evenings only. I would like it back."
)
HOSTILE = (
    "he said \"#read('/etc/passwd')\" $x^2$ *b* _i_ `c` \\ @ref <label> [a] {b} // c /* d */ = h \\u{41} ~ --- ..."
)
"""Everything that means something in typst's markup, in one line."""


def photo(width: int = 160, height: int = 120, kind: str = "JPEG") -> bytes:
    out = BytesIO()
    Image.linear_gradient("L").resize((width, height)).convert("RGB").save(out, kind)
    return out.getvalue()


TIMES = tuple(i / 20 for i in range(200))
AS_FOUND = Line(
    "as-found",
    [(t, 38 * (1 - exp(-3 * t)) + 9 * (2 * t % 1)) for t in TIMES],
    "as found",
    "running at 38 N",
)
AS_LEFT = Line("as-left", [(t, 30 * (1 - exp(-4 * t)) + sin(3 * t)) for t in TIMES], "as left", "running at 30 N")
BREAKAWAYS = (
    Marker("breakaway", 0.45, 46.0, "breakaway as found 46 N", role="as-found"),
    Marker("breakaway", 1.2, 31.0, "breakaway as left 31 N", role="as-left"),
)


def pulls(*lines: Line) -> Figure | None:
    return compared("Force over time in N", "N", lines, BREAKAWAYS)


OLD_PARTS = (old_parts.OldPart("drag washer", 5, "worn through"), old_parts.OldPart("bridge screw", why="burred"))

PROOF = proof.ProofSheet(
    shop=SHOP,
    job=JOB,
    dated=DAY,
    wrong="The drag jumped on every run and the handle was stiff near the top of its turn.",
    verdict="The drag starts at 1.08 of its running force, where it came in at 1.46.",
    complaint="the drag slips",
    done=("Stripped, cleaned and greased", "Drag washers renewed, five woven carbon", "End float set"),
    rests_on=("two pulls as found, three as left", "a spin timed by hand"),
    readings=(
        proof.Reading("Running drag", Quantity(36, 31, 41), Quantity(30.4, 29.6, 31.3), "N"),
        proof.Reading("Start-up ratio", Quantity(1.46, 1.31, 1.62), Quantity(1.08, 1.04, 1.13)),
        proof.Reading("End float", "none felt", Quantity(0.12, 0.1, 0.14), "mm", "some must remain"),
        proof.Reading("Handle torque", None, Quantity(0.08, 0.06, 0.1), "N·m"),
    ),
    curves=pulls(AS_FOUND, AS_LEFT),
    pictures=(proof.PicturePair(Picture(photo(), "stack, worn"), Picture(photo(), "stack, new"), "The drag stack"),),
    old_parts=OLD_PARTS,
    drag_check=proof.DragCheck(Quantity(31, 24, 39), Quantity(30.4, 29.6, 31.3), "N", "full spool"),
    setting=proof.DragSetting(
        line="15 kg line, 0.50 mm",
        states=(
            proof.SpoolState("full", Quantity(30.4, 29.6, 31.3), 27),
            proof.SpoolState("half", Quantity(37.3, 36.0, 38.6), 22),
            proof.SpoolState("near empty", Quantity(54.7, 53.0, 57.0), 15),
        ),
        how="Pull straight off the reel against a scale until the line runs steadily at 30 N.",
        arbor_radius_mm=12,
        flange_radius_mm=30,
    ),
    cautions=("The drag is hot after a long run.",),
)

SPIN_TIMES = tuple(i / 4 for i in range(137))
FULL_PROOF = replace(
    PROOF,
    speeds=compared(
        "Speed over time in rev/s",
        "rev/s",
        [
            Line("as-found", [(t, 30 * (1 - t / 11)) for t in SPIN_TIMES[:45]], "as found", "11.0 s to rest"),
            Line("as-left", [(t, 30 * (1 - t / 34) ** 1.4) for t in SPIN_TIMES], "as left", "34.0 s to rest"),
        ],
        [
            Marker("rest", 11.0, 0.0, "at rest as found", role="as-found"),
            Marker("rest", 34.0, 0.0, "at rest as left", role="as-left"),
        ],
    ),
    shares=(
        proof.LossShare("dry friction", Quantity(71, 62, 79), Quantity(37, 30, 44), "down by 34 points, real"),
        proof.LossShare("oil", Quantity(11, 4, 20), Quantity(25, 16, 34), "up by 14 points, real"),
        proof.LossShare("air", Quantity(18, 10, 26), Quantity(38, 30, 47), "up by 20 points, real"),
    ),
    spool_now="As left, air more than the others (38 %, 30 to 47): as free as it gets",
    others=(
        "Spin time: freer than 9 of the 11 others of this pattern.",
        "Start-up ratio: not to be told from any of the 11 others of this pattern.",
    ),
    bear_in_mind=(
        "spin as found: the stop was not seen: it is worked out from a spool followed down to 2.1 rev/s",
        "pull as left: one pull only",
    ),
)

TAG = tag.Tag(SHOP, JOB, DAY, "The drag slips, then grabs.", "http://192.168.1.20:8000/j/K-0412/", ("bag", "spool"))

PRICE = price.Price(
    shop=SHOP,
    job=JOB,
    dated=DAY,
    lines=(
        price.PriceLine("Strip, clean and rebuild", "work", 4500, 4500, 4500),
        price.PriceLine("Drag washers, set of five", "part", 1100, 1100, 1400, "renewed on a reel that is open"),
        price.PriceLine("Spool bearing", "part", 0, 650, 1300),
        price.PriceLine("Return post, insured", "post", 780, 780, 780),
    ),
    complaint="the drag slips",
    found=("Drag grabs at the start",),
    pictures=(Picture(photo(), "washers as found"),),
    taxes=(price.Tax("Harbour tax 10 %", 638, 703, 798),),
    promise=price.Promise(date(2026, 5, 28), 0.92),
    included=("Readings before and after",),
    say_yes="Answer this letter and say the tag number.",
    valid_until=date(2026, 6, 14),
)

BILL = bill.Bill(
    shop=SHOP,
    job=JOB,
    number="2026-118",
    dated=DAY,
    lines=(
        bill.BillLine("Strip, clean and rebuild", "work", 4500, "1.5 h"),
        bill.BillLine("Drag washers", "part", 1100, "set of 5"),
        bill.BillLine("Thank-you for the crate", "work", -500),
    ),
    taxes=(bill.Tax("Harbour tax 10 %", 510),),
    paid=(bill.Payment(date(2026, 5, 2), "cash", 2000),),
    due_by=date(2026, 5, 28),
    how_to_pay="Bank transfer, with the tag number.",
    guarantee="We stand behind the work for twelve months.",
)

LABEL = old_parts.OldPartsLabel(SHOP, JOB, DAY, OLD_PARTS, may_hold_asbestos=True)

GUIDE = takedown.TakedownGuide(
    shop=SHOP,
    job=JOB,
    dated=DAY,
    steps=(
        takedown.Step("Take the handle nut off", "10 mm spanner", "A1", minutes=2),
        takedown.Step(
            "Lift off the star and its spring",
            "fingers",
            "A2",
            cautions=("Spring under load: a cupped hand over it before you lift.",),
            note="Note which way the cup faces",
            minutes=1,
            picture=Picture(photo(), "star"),
        ),
    ),
    reach="third drag washer",
    cautions=("Eye protection on.",),
)

PARTS = parts_list.PartsList(
    shop=SHOP,
    pattern=pattern_head("Harrowgate 40", invented=False),
    dated=DAY,
    assemblies=(
        ("Handle", (parts_list.ListedPlace("handle nut", "HG40-3"), parts_list.ListedPlace("knob screw", count=2))),
        (
            "Drag washers",
            (parts_list.ListedPlace("drag washer", "HG40-11", 3, "whenever open", alike=("brake washer",)),),
        ),
    ),
)
LAYOUTS = {
    "proof": proof.layout(FULL_PROOF),
    "tag": tag.layout(TAG),
    "tags": tag.layout_page([TAG] * 3),
    "price": price.layout(PRICE),
    "bill": bill.layout(BILL),
    "label": old_parts.layout(LABEL),
    "guide": takedown.layout(GUIDE),
    "parts": parts_list.layout(PARTS),
}
