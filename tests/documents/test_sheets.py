"""What every sheet must do, and what each must say."""

import re
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from levelwind.core.errors import InputError
from levelwind.core.figures import HEADROOM, Line, compared
from levelwind.core.quantities import Quantity
from levelwind.documents import bill, old_parts, parts_list, press, price, proof, tag, takedown
from levelwind.documents.figures import MARGINS_PX
from levelwind.documents.letterhead import JobHead, Shop, pattern_head
from levelwind.documents.money import Currency, format_money
from levelwind.documents.picture import Picture
from tests.documents.paper import ink_in_margin, pages, words
from tests.documents.sheets import (
    BILL,
    COMPLAINT,
    DAY,
    FULL_PROOF,
    GUIDE,
    HOSTILE,
    JOB,
    LABEL,
    LAYOUTS,
    OLD_PARTS,
    PRICE,
    PROOF,
    SHOP,
    TAG,
    photo,
)
from tests.full_size import cases

BARE = JobHead("1", "A", "B")
EMPTY = {
    "proof": proof.layout(proof.ProofSheet(SHOP, BARE, DAY, "", "Nothing was measured.")),
    "tag": tag.layout(tag.Tag(SHOP, BARE, DAY, "", "http://192.168.1.20/j/1/")),
    "price": price.layout(price.Price(SHOP, BARE, DAY, ())),
    "bill": bill.layout(bill.Bill(SHOP, BARE, "1", DAY, ())),
    "label": old_parts.layout(old_parts.OldPartsLabel(SHOP, BARE, DAY, ())),
    "guide": takedown.layout(takedown.TakedownGuide(SHOP, BARE, DAY, ())),
    "parts": parts_list.layout(parts_list.PartsList(SHOP, pattern_head("B", invented=False), DAY, ())),
}

LONG_JOB = JobHead(
    tag="K-0412-1234567",
    owner="Ναυτίλος Łukasz Żółć-Ødegård von und zu Иван شركة 😀 Maximilian the Third, of Kelpwick",
    reel="Harrowgate & Sons Great Northern Ocean Special 14/0 lever drag, two speed",
    serial="1234567890" * 5,
    owner_address=("x" * 200, HOSTILE, *("a line of an address",) * 300),
    invented=True,
)
LETTER = replace(SHOP, name="Kelpwick " * 20, paper="us-letter", currency=Currency("JPY", "¥", 0))
TALL = "\n".join(["a line of words"] * 120)
TEXTS = (COMPLAINT, HOSTILE, "y" * 400, TALL)
LONG = {
    "proof": proof.layout(
        replace(
            FULL_PROOF,
            shop=LETTER,
            job=LONG_JOB,
            wrong=COMPLAINT,
            done=TEXTS,
            readings=PROOF.readings * 9,
            pictures=PROOF.pictures * 5 + (proof.PicturePair(Picture(photo(40, 900)), None, COMPLAINT),),
            old_parts=OLD_PARTS * 20,
            cautions=TEXTS,
            others=TEXTS,
            bear_in_mind=TEXTS,
            spool_now=HOSTILE,
            shares=tuple(replace(row, name=HOSTILE, note=COMPLAINT) for row in FULL_PROOF.shares),
        )
    ),
    "tag": tag.layout(tag.Tag(LETTER, LONG_JOB, DAY, COMPLAINT, "http://h/" + "a" * 120, ("a thing in the box",) * 30)),
    "price": price.layout(
        replace(PRICE, shop=LETTER, job=LONG_JOB, lines=PRICE.lines * 10, found=TEXTS, pictures=PRICE.pictures * 7)
    ),
    "bill": bill.layout(
        replace(
            BILL,
            shop=LETTER,
            job=LONG_JOB,
            number="9" * 80,
            lines=tuple(bill.BillLine(f"line {i}", "part", 10**12, "1,000 ×", COMPLAINT) for i in range(40)),
            guarantee=TALL,
        )
    ),
    "label": old_parts.layout(replace(LABEL, shop=LETTER, job=LONG_JOB, parts=OLD_PARTS * 15)),
    "guide": takedown.layout(
        replace(
            GUIDE,
            shop=LETTER,
            job=LONG_JOB,
            steps=tuple(replace(s, what=t, note=t, cautions=(t,), cell="z" * 60) for s in GUIDE.steps for t in TEXTS),
        )
    ),
    "parts": parts_list.layout(
        parts_list.PartsList(
            LETTER,
            pattern_head(LONG_JOB.reel, invented=True),
            DAY,
            tuple((text, (parts_list.ListedPlace(text, "9" * 40, 200, text, (text,)),) * 9) for text in TEXTS[:3]),
            COMPLAINT,
        )
    ),
}

INSIDE_MM = {"parts": 6, "proof": 6, "price": 6, "bill": 6, "guide": 6, "tag": 2.5, "label": 3}
"""Nothing is printed nearer than this to the edge; a cell or a column that overflows would reach it."""

CASES = [pytest.param(n, f, id=f"{k}-{n}") for k, group in (("empty", EMPTY), ("long", LONG)) for n, f in group.items()]


@pytest.mark.parametrize(("name", "forme"), [*CASES, *((n, f) for n, f in LAYOUTS.items() if n != "tags")])
def test_nothing_runs_off_the_paper_and_no_letter_is_missing(name: str, forme: press.Forme) -> None:
    """PDF/A-2b (ISO 19005-2:2011, 6.2.11.8) forbids references to a missing glyph, so typst refuses to write one."""
    assert press.pdf(forme, ["a-2b"]).startswith(b"%PDF-1.7")
    assert not [n for n, page in enumerate(pages(forme), 1) if ink_in_margin(page, INSIDE_MM[name])]


@pytest.mark.parametrize("name", ["tag", "label"])
def test_a_slip_or_label_is_one_page_whatever_it_says(name: str) -> None:
    assert [len(pages(group[name])) for group in (EMPTY, LONG, LAYOUTS)] == [1, 1, 1]


@pytest.mark.parametrize("invented", [False, True])
def test_a_shops_name_as_long_as_the_book_holds_is_not_cut_off_the_slip(invented: bool) -> None:
    name = "Kelpwick Harbour Reel Mending, Cleaning and Proving of Old and New Reels by Post"
    forme = tag.layout(replace(TAG, shop=replace(SHOP, name=name), job=replace(JOB, invented=invented)))
    assert press.cautions(forme) == ()


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_the_front_of_a_full_proof_sheet_holds_on_one_page(paper: str) -> None:
    assert len(pages(proof.layout(replace(PROOF, shop=replace(SHOP, paper=paper))))) == 2  # type: ignore[arg-type]
    front = replace(PROOF, shop=replace(SHOP, paper=paper), drag_check=None, measured="", rests_on=())  # type: ignore[arg-type]
    assert len(pages(proof.layout(front))) == 1


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_with_a_spin_its_losses_and_the_others_it_holds_on_two(paper: str) -> None:
    sheet = replace(FULL_PROOF, shop=replace(SHOP, paper=paper), pictures=FULL_PROOF.pictures * 2)  # type: ignore[arg-type]
    assert len(pages(proof.layout(sheet))) <= 2


@pytest.mark.parametrize(("paper", "size"), [("a4", (210, 297)), ("us-letter", (215.9, 279.4))])
def test_the_paper_is_the_shops(paper: str, size: tuple[float, float]) -> None:
    """A4: ISO 216:2007. Letter: ANSI/ASME Y14.1, size A, 8.5 by 11 inches."""
    (page,) = pages(bill.layout(replace(BILL, shop=replace(SHOP, paper=paper))), 25.4)  # type: ignore[arg-type]
    assert page.size == pytest.approx(size, abs=1)


def test_a_paper_nobody_stocks_is_refused() -> None:
    with pytest.raises(InputError, match="a4 or us-letter"):
        Shop("S", SHOP.currency, paper="foolscap")  # type: ignore[arg-type]


@pytest.mark.parametrize("name", sorted(LAYOUTS.keys() - {"parts"}))
def test_a_sheet_of_a_job_says_whose_reel_it_is(name: str) -> None:
    printed = words(LAYOUTS[name])
    assert all(
        said in printed for said in ("K-0412", "Maren Tidewell", "Harrowgate 40 star drag", "14 May 2026", "Kelp")
    )


@pytest.mark.parametrize("name", LONG)
def test_invented_data_are_marked_on_every_page_and_true_data_never(name: str) -> None:
    mark = "INVENTED DATA: demonstration"
    assert words(LONG[name]).count(mark) >= len(pages(LONG[name]))
    assert mark not in words(LAYOUTS[name])


TEXT = st.text(max_size=80)


@settings(max_examples=cases(8, 25), deadline=None)
@given(TEXT, TEXT, TEXT, st.lists(TEXT, max_size=3))
def test_no_words_from_outside_can_stop_a_paper(tag_number: str, owner: str, text: str, items: list[str]) -> None:
    job = JobHead(tag_number, owner, text, text)
    cells = tuple(items)
    for forme in (
        tag.layout(replace(TAG, job=job, complaint=text, came_with=cells)),
        proof.layout(replace(PROOF, job=job, wrong=text, done=cells, cautions=cells)),
        takedown.layout(replace(GUIDE, job=job, steps=(takedown.Step(text, owner, tag_number, cells),))),
    ):
        assert press.pdf(forme, ["a-2b"])


# Tag


@pytest.mark.parametrize(("count", "sheets"), [(1, 1), (8, 1), (9, 2)])
def test_slips_go_eight_to_a_page(count: int, sheets: int) -> None:
    tags = [replace(TAG, job=replace(JOB, tag=f"T-{i}")) for i in range(count)]
    forme = tag.layout_page(tags)
    assert len(pages(forme)) == sheets
    assert [f"T-{i}" in words(forme) for i in range(count)] == [True] * count


def test_a_page_of_no_slips_is_refused() -> None:
    with pytest.raises(InputError, match="at least one"):
        tag.render_page([])


def test_a_slip_says_when_nothing_came_with_the_reel() -> None:
    assert "nothing else" in words(EMPTY["tag"])
    assert "bag, spool" in words(LAYOUTS["tag"])


def test_a_complaint_too_long_for_the_slip_says_that_there_is_more() -> None:
    assert "…" in words(tag.layout(replace(TAG, complaint="word " * 200)))


# Price and bill

AMOUNT = st.integers(-(10**7), 10**9)


@settings(max_examples=cases(8, 25), deadline=None)
@given(st.lists(st.tuples(AMOUNT, AMOUNT, AMOUNT), max_size=6))
def test_the_columns_of_a_price_add_up(amounts: list[tuple[int, int, int]]) -> None:
    lines = tuple(price.PriceLine("x", "work", *three) for three in amounts)
    made = replace(PRICE, lines=lines, taxes=())
    assert made.total == tuple(sum(three[i] for three in amounts) for i in range(3))
    assert price.layout(made).data["total"] == [format_money(total, SHOP.currency) for total in made.total]


def test_a_price_says_what_it_will_cost_when_and_how_sure() -> None:
    printed = words(LAYOUTS["price"])
    assert PRICE.total == (7018, 7733, 8778)
    assert all(f"£{total}" in printed for total in ("70.18", "77.33", "87.78"))
    assert "28 May 2026" in printed and "92 in 100 chance of keeping it" in printed
    assert "14 Jun 2026" in printed and price.ESTIMATE in printed and price.OLD_PARTS in printed


def test_what_may_not_be_needed_stands_apart_and_no_row_is_of_noughts() -> None:
    lines = (
        price.PriceLine("Take apart and clean", "work", 4000, 4500, 5000),
        price.PriceLine("Renew the spool bearings", "work", 0, 0, 1080),
        price.PriceLine("Bearings", "part", 0, 0, 2500),
        price.PriceLine("Wind the line back on", "work", 0, 0, 0),
    )
    made = replace(PRICE, lines=lines, taxes=(price.Tax("Sales tax 10 %", 400, 450, 858),))
    printed = words(price.layout(made))
    assert "£0.00" not in printed and "free" in printed
    rows, sums = printed.split("Before tax")
    for said, order in (
        (rows, ["Wind the line back on", "ONLY IF IT TURNS OUT", "Renew the spool bearings", "£10.80", "£25.00"]),
        (sums, ["£40.00", "£45.00", "£85.80", "Sales tax 10 %", "£8.58", "Total", "£94.38"]),
    ):
        places = [said.index(each) for each in order]
        assert places == sorted(places)
    assert "Before tax" not in words(price.layout(replace(made, taxes=())))


@pytest.mark.parametrize(("chance", "printed"), [(0.0, "1 in 100"), (0.999, "99 in 100"), (0.5, "50 in 100")])
def test_nobody_is_promised_a_certainty(chance: float, printed: str) -> None:
    assert printed in words(price.layout(replace(PRICE, promise=price.Promise(DAY, chance))))


def test_a_promise_without_a_chance_claims_none() -> None:
    printed = words(price.layout(replace(PRICE, promise=price.Promise(DAY))))
    assert "Ready by" in printed and "in 100" not in printed


def test_a_bill_says_the_total_what_was_paid_and_what_is_due() -> None:
    printed = words(LAYOUTS["bill"])
    assert (BILL.total, BILL.due) == (5610, 3610)
    assert "£56.10" in printed and "−£20.00" in printed and "£36.10" in printed
    assert "Due by 28 May 2026" in printed and "Bank transfer" in printed and bill.LOCAL_RULES in printed


@pytest.mark.parametrize(
    ("paid", "said", "amount"),
    [(5610, "Paid in full", "£0.00"), (6000, "We owe you", "£3.90"), (0, "Due by", "£56.10")],
)
def test_a_bill_says_who_owes_whom(paid: int, said: str, amount: str) -> None:
    printed = words(bill.layout(replace(BILL, paid=(bill.Payment(DAY, "card", paid),))))
    assert said in printed and amount in printed
    assert ("How to pay" in printed) == (said == "Due by")


def test_forty_lines_of_a_bill_are_all_printed() -> None:
    printed = words(LONG["bill"])
    assert [i for i in range(40) if f"line {i}\n" not in printed] == []
    assert "¥40,000,000,000,510" in printed


# Proof sheet


def test_a_proof_sheet_sets_as_found_beside_as_left() -> None:
    printed = words(LAYOUTS["proof"])
    table = printed[printed.index("Readings") :]
    row = [table.index(said) for said in ("Running drag", "36 N", "31 to 41", "30.4 N", "29.6 to 31.3")]
    assert row == sorted(row)
    assert "none felt" in printed and "not measured" in printed
    assert PROOF.verdict in printed and "two pulls as found, three as left; a spin timed by hand" in printed


def test_a_proof_sheet_opens_with_a_sentence_then_its_picture_then_the_numbers_then_the_reckoning() -> None:
    sheet = replace(FULL_PROOF, in_short="The drag holds 30 N.", measured="Running drag 36 to 30 N.")
    printed = words(proof.layout(sheet))
    order = [sheet.in_short, sheet.verdict, "The pull", "What was wrong", "Readings", "The spool running down"]
    order += ["How it was measured", sheet.measured, "This rests on", "To bear in mind", proof.ADVICE]
    places = [printed.index(said) for said in order]
    assert places == sorted(places)
    assert words(proof.layout(FULL_PROOF)).count(FULL_PROOF.verdict) == 1


def test_a_proof_sheet_shows_the_spool_running_down_and_what_took_its_speed() -> None:
    printed = words(LAYOUTS["proof"])
    row = [printed.index(said) for said in ("The spool running down", "dry friction", "71 %", "62 to 79", "37 %")]
    assert row == sorted(row) and "down by 34 points, real" in printed and FULL_PROOF.spool_now in printed
    bars = proof.layout(FULL_PROOF).data["shares"][0]["bars"]  # type: ignore[index]
    assert [filled(bar["drawn"]) for bar in bars] == pytest.approx([0.71, 0.37], abs=0.001)
    assert all(heading not in words(proof.layout(PROOF)) for heading in ("The spool running down", "What took its"))


def filled(svg: bytes) -> float:
    """Which part of its box a bar fills."""
    whole, part = (float(width) for width in re.findall(r'<rect[^>]* width="([\d.]+)"', svg.decode()))
    return part / whole


def test_a_share_told_at_one_moment_only_is_one_bar_and_never_beyond_the_whole() -> None:
    share = proof.LossShare("oil", None, Quantity(99, 97, 104))
    (row,) = proof.layout(replace(FULL_PROOF, shares=(share,))).data["shares"]  # type: ignore[misc]
    (bar,) = row["bars"]
    assert bar["name"] == "as left"
    assert filled(bar["drawn"]) == pytest.approx(0.99, abs=0.001)
    whole, end = (float(re.findall(f' {name}="([\\d.]+)"', bar["drawn"].decode())[0]) for name in ("width", "x2"))
    assert end <= whole


def test_a_proof_sheet_says_where_it_stands_what_to_bear_in_mind_and_which_limit_is_not_kept() -> None:
    row = proof.Reading("Handle torque", None, Quantity(0.4, 0.36, 0.44), "N m", outside="Too much: at most 0.3 N m.")
    printed = words(proof.layout(replace(FULL_PROOF, readings=(row,))))
    assert all(said in printed for said in (*FULL_PROOF.others, *FULL_PROOF.bear_in_mind, row.outside))
    assert "Beside our other reels" not in words(proof.layout(PROOF))


def test_a_proof_sheet_gives_the_setting_at_three_fillings_and_says_that_it_is_advice() -> None:
    printed = words(LAYOUTS["proof"])
    assert all(said in printed for said in ("full", "half", "near empty", "30.4 N", "37.3 N", "54.7 N", proof.ADVICE))
    assert proof.ADVICE not in words(proof.layout(replace(PROOF, drag_check=None, setting=None)))


def test_the_spool_is_drawn_to_scale_only_from_radii_that_make_sense() -> None:
    assert PROOF.setting
    states = (proof.SpoolState("full", PROOF.setting.states[0].tension, 27.0),)
    for arbor, flange, fill in ((12, 30, {"arbor": 0.4, "line": 0.9}), (28, 30, None), (12, 20, None), (0, 30, None)):
        setting = replace(PROOF.setting, states=states, arbor_radius_mm=arbor, flange_radius_mm=flange)
        data = proof.layout(replace(PROOF, setting=setting)).data["setting"]
        assert data["states"][0]["fill"] == fill  # type: ignore[index]


def test_a_pull_is_drawn_to_scale() -> None:
    """The same steady 30 N beside nothing and beside 40 N, measured in ink on the page."""
    steady, stronger = (
        Line(role, ((0.0, force), (10.0, force))) for role, force in (("as-left", 30.0), ("as-found", 40.0))
    )
    figures = [compared("Force over time", "N", lines, ()) for lines in ([steady], [stronger, steady])]
    bare = proof.ProofSheet(SHOP, BARE, DAY, "", "-")
    alone, beside = (middle_of_the_thick_line(proof.layout(replace(bare, curves=each))) for each in figures)
    height_mm = proof.PULL_MM - (MARGINS_PX[1] + MARGINS_PX[3]) / proof.PX_PER_MM
    assert beside - alone == pytest.approx(height_mm * (30 - 30 * 30 / 40) / (30 * HEADROOM), abs=0.2)


def middle_of_the_thick_line(forme: press.Forme) -> float:
    """How far down the page, in mm, the line of a steady pull as left runs: 1.3 pt of brass, where rules have 0.6."""
    dpi, title_block_mm = 300, 60
    page = pages(forme, dpi)[0]
    thin, thick = (round(points / 72 * dpi) for points in (0.6, 1.3))
    dark = page.crop((page.width // 3, 0, page.width // 2, page.height)).point(lambda grey: 0 if grey < 130 else 255)
    rows = [y for y in range(round(title_block_mm / 25.4 * dpi), page.height) if max(dark_row(dark, y)) == 0]
    middles = [y for y in rows if all(y + d in rows for d in range(-thin, thin + 1)) and thick > thin]
    assert middles
    return sum(middles) / len(middles) / dpi * 25.4


def dark_row(page: Image.Image, y: int) -> bytes:
    return page.crop((0, y, page.width, y + 1)).tobytes()


# Old parts and takedown


def test_the_asbestos_caution_stands_only_where_it_is_asked_for() -> None:
    assert old_parts.ASBESTOS in words(LAYOUTS["label"])
    assert "asbestos" not in words(old_parts.layout(replace(LABEL, may_hold_asbestos=False)))


def test_parts_beyond_what_the_label_holds_are_counted() -> None:
    printed = words(LONG["label"])
    assert printed.count("drag washer") + printed.count("bridge screw") == 19
    assert "and 11 more, on the proof sheet" in printed


def test_no_fewer_than_one_old_part_is_bagged() -> None:
    with pytest.raises(InputError, match="1 or more"):
        old_parts.OldPart("washer", 0)


def test_cautions_come_ahead_of_the_step_they_belong_to() -> None:
    printed = words(LAYOUTS["guide"])
    order = [
        "Eye protection on.",
        "Take the handle nut off",
        "Spring under load",
        "Lift off the star",
        "Note which way",
    ]
    assert [printed.index(said) for said in order] == sorted(printed.index(said) for said in order)


def test_the_time_of_a_takedown_is_given_only_when_every_step_has_one() -> None:
    assert "3 min in all" in words(LAYOUTS["guide"])
    untimed = replace(GUIDE, steps=(*GUIDE.steps, takedown.Step("Draw the last screw")))
    assert "in all" not in words(takedown.layout(untimed))


def test_a_date_is_written_so_that_nobody_reads_it_the_wrong_way_round() -> None:
    assert "3 Apr 2026" in words(bill.layout(replace(BILL, dated=date(2026, 4, 3))))


def test_a_sheet_of_the_pattern_book_names_no_owner_and_no_tag() -> None:
    printed = words(LAYOUTS["parts"])
    assert "Harrowgate 40" in printed and "HG40-11" in printed and "brake washer" in printed
    assert "owner" not in printed.lower() and "tag" not in printed.lower().split()
