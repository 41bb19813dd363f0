"""Lists brought in: matched, looked at, written whole or not at all, known again, and taken back."""

import csv
import io
from datetime import date
from typing import Any

import pytest
from django.utils import timezone

from levelwind.core.errors import InputError, LevelwindError
from levelwind.recordings.limited import Stopped
from levelwind.shop.book.selectors.columns import KINDS
from levelwind.shop.book.selectors.import_made import hindrances
from levelwind.shop.book.selectors.imports import refused_sheet, stop_key
from levelwind.shop.book.selectors.lists import LEFT_OUT, list_sheets
from levelwind.shop.book.selectors.plans import Plan, plan_of, refused_of, table_of
from levelwind.shop.book.services import imports as services
from levelwind.shop.book.services.import_undo import import_take_back
from levelwind.shop.book.services.imports import (
    import_begin,
    import_drop,
    import_match,
    import_run,
    import_start,
    import_task,
    imports_sweep,
)
from levelwind.shop.book.sheets import workbook_write
from levelwind.shop.history import deeds_of
from levelwind.shop.models import (
    Fit,
    Import,
    Job,
    JobEvent,
    Owner,
    Parcel,
    Part,
    Pattern,
    PatternPlace,
    PlaceLimit,
    Replacement,
    Stage,
    StockEntry,
)
from levelwind.shop.parts.services.shelf import part_add, stock_counted
from levelwind.shop.patterns.services.limits import place_limit_set
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db


def begun(kind: str, text: str, **matched: Any) -> Import:
    one = import_begin(kind=kind, file_name="a list.csv", data=text.encode())
    if matched:
        columns = matched.pop("columns", one.matched["columns"])
        one = import_match(one=one, columns=columns, same=matched.pop("same", {}), **matched)
    return one


def brought(kind: str, text: str, **matched: Any) -> Import:
    one = begun(kind, text, **matched)
    import_start(one=one, by="tove")
    return Import.objects.get(pk=one.pk)


def fates(plan: Plan) -> list[str]:
    return [line.fate for line in plan.lines]


OWNERS = """Customer;E-Mail;Phone;Street;ZIP;City
Ansa Vell;ansa@example.com;+47 555 0117;Quay Road 7;4015;Saltwick
Bram Quillane;BRAM@example.com;;;;
;nobody@example.com;;;;
Ansa V.;ANSA@example.com;;;;
Vell, Ansa;;;Elsewhere 1;;
Tove;tove-at-home;;;;
"""


def test_owners_come_in_whole_and_each_refused_row_says_why() -> None:
    one = brought("owners", OWNERS)
    assert (one.state, one.counts["new"], one.counts["known"], one.counts["refused"]) == ("done", 2, 2, 2)
    ansa = Owner.objects.get(name="Ansa Vell")
    assert (ansa.email, ansa.address) == ("ansa@example.com", "Quay Road 7\n4015 Saltwick")
    sheet = refused_sheet(one)
    assert sheet and sheet.headings[-1] == "Why it was not taken"
    assert [row[-1] for row in sheet.rows] == ["name: nothing stands there", "email: Enter a valid email address."]  # type: ignore[index]
    mended = io.StringIO()
    writer = csv.writer(mended)
    writer.writerow(sheet.headings)
    writer.writerows([["Tove", "tove@example.com", *row[2:]] for row in list(sheet.rows)[1:]])
    again = brought("owners", mended.getvalue())
    assert again.counts["new"] == 1 and Owner.objects.filter(email="tove@example.com").exists()


def test_who_is_in_the_book_is_known_by_mail_telephone_or_name_and_left_or_filled_in() -> None:
    mail = Owner.objects.create(name="Ansa Vell", email="ansa@example.com")
    call = Owner.objects.create(name="Bram", phone="0047 555 0117")
    gone = Owner.objects.create(name="B. Quillane", email="b@example.com", merged_into=call)
    Owner.objects.create(name="Tove"), Owner.objects.create(name="Tove")
    text = (
        "name,email,phone,note\nA. Vell,ANSA@example.com,555 0199,calls\nBram Q,,+47 5550117,\n"
        "Quillane,b@example.com,,x\n"
        "tove,,,\nTove,t@example.com,,\nansa vell,other@example.com,,\nX,ansa@example.com,+47 555 0117,\n"
    )
    plan = plan_of(begun("owners", text))
    known = [(line.known, line.by) for line in plan.lines[:3]]
    assert known == [(mail.pk, "e-mail"), (call.pk, "telephone"), (call.pk, "e-mail")]
    assert fates(plan)[3:] == ["refused", "refused", "new", "refused"]
    assert "2 owners are called tove" in plan.lines[3].why[0] and "they are two in the book" in plan.lines[6].why[0]
    one = brought("owners", text, known="fill")
    mail.refresh_from_db(), gone.refresh_from_db()
    assert (mail.name, mail.phone, mail.note, gone.note) == ("Ansa Vell", "555 0199", "calls", "")
    Owner.objects.filter(pk=mail.pk).update(note="calls often")
    import_take_back(one=one)
    mail.refresh_from_db()
    assert (mail.phone, mail.note) == ("", "calls often") and not Owner.objects.filter(
        email="other@example.com"
    ).exists()


def test_pressed_twice_it_comes_once_and_taken_back_twice_it_goes_once() -> None:
    one = begun("owners", OWNERS)
    for _ in range(2):
        import_start(one=one)
    assert Owner.objects.count() == 2
    one.refresh_from_db()
    assert import_run(one.pk) == "nothing to do"
    for _ in range(2):
        import_take_back(one=one, by="tove")
    one.refresh_from_db()
    assert (one.state, Owner.objects.count(), "Taken back" in one.said) == ("open", 0, True)
    import_start(one=one)
    assert Owner.objects.count() == 2


SHELF = """Part No.\tDescription\tType\tQty\tUsed\tCost\tPrice\tDimensions
Q-1\tdrag washer\tFriction washer\t12\t2\t$1,50\t3,80\touter diameter 28.5; thickness 1,2
Q-2\t=1+1\tdrag bits\t0\t\t\t1.250,00\t
q-1\tdrag washer\t\t3\t\t\t\t
Q-3\tcogwheel\t\t-4\t\t\t\t
Q-4\tcog\t\t1\t\t€ 3\t\tgirth 3
"""


def test_the_shelf_comes_in_with_its_counts_and_goes_again_as_long_as_nothing_hangs_on_it() -> None:
    one = brought("shelf", SHELF)
    assert (one.counts["new"], one.counts["known"], one.counts["refused"]) == (2, 1, 2)
    part, other = Part.objects.get(number="Q-1"), Part.objects.get(number="Q-2")
    assert (part.kind, part.cost_minor, part.price_minor, part.sizes_mm["thickness"]) == (
        "friction_washer",
        150,
        380,
        1.2,
    )
    assert (other.name, other.price_minor, other.note) == ("=1+1", 125000, "Kind: drag bits")
    assert sorted(StockEntry.objects.filter(part=part).values_list("used", "change")) == [(False, 12), (True, 2)]
    why = [row[-1] for row in refused_sheet(one).rows]  # type: ignore[index, union-attr]
    assert "how many, new was “-4”" in why[0] and "not in “€”" in why[1] and "girth 3" in why[1]
    stock_counted(part=part, count=11)
    with pytest.raises(LevelwindError, match="1 stock entry that came since hang on parts of this list"):
        import_take_back(one=one)
    assert Part.objects.count() == 2 and StockEntry.objects.count() == 3
    fresh = brought("shelf", "number,name,qty\nZ-1,pin,4\n")
    Part.objects.filter(number="Z-1").update(spot="drawer 3")
    assert hindrances(fresh) == ("1 parts were changed since: Z-1 pin",)
    Part.objects.filter(number="Z-1").update(spot="")
    import_take_back(one=fresh)
    assert not Part.objects.filter(number="Z-1").exists() and StockEntry.objects.count() == 3


def test_a_part_of_the_book_keeps_what_it_has_and_is_counted_only_where_nobody_ever_counted() -> None:
    counted, never = part_add(number="Q-1", name="washer", count=5), part_add(number="Q-2", name="pin", spot="drawer 1")
    Part.objects.create(number="Q-1B", name="washer", merged_into=counted)
    text = "number,name,qty,location,price\nQ-1,other,9,,2.00\nQ-2,pin,7,bin,\nQ-1b,washer,2,bin,\n"
    one = brought("shelf", text, known="fill")
    assert deeds_of("part", counted.pk)[0].text == "Filled in from the list a list.csv: where it lies."
    counted.refresh_from_db(), never.refresh_from_db()
    assert (counted.name, counted.spot, counted.price_minor, never.spot) == ("washer", "bin", 200, "drawer 1")
    assert [entry.change for entry in StockEntry.objects.order_by("pk")] == [5, 7]
    stock_counted(part=never, count=6)
    with pytest.raises(LevelwindError, match="stand over counts of this list"):
        import_take_back(one=one)


FITS = """Maker,Model,Size,Family,Position,Part number,OEM number,Part name
Tarn & Wey,Skerry,50,,Drag washer 1,Q-1,TW-7,leather washer
Tarn & Wey,Skerry,50,,gear sleeve,,TW-9,
Tarn & Wey,Skerry,50,,flux pin,Q-2,,
Tarn & Wey,Ness,40,star drag,pinion,Q-3,,pinion
Tarn & Wey,Fulmar,40,windmill,pinion,Q-3,,pinion
Tarn & Wey,Skerry,50,,Drag washer 1,q-1,TW-7,
"""


def test_a_parts_list_says_what_sits_and_serves_where() -> None:
    pattern = a_pattern()
    first = next(place for place in _places(pattern) if "washer" in place.name)
    text = FITS.replace("Drag washer 1", first.name).replace("gear sleeve", _places(pattern)[-1].name)
    one = brought("fits", text)
    assert (one.counts["new"], one.counts["known"], one.counts["refused"]) == (3, 1, 2)
    fit = Fit.objects.get(pattern=pattern)
    assert (fit.place, fit.part.number, fit.part.name, fit.sure) == (first.key, "Q-1", "leather washer", 0.9)
    assert set(PatternPlace.objects.filter(pattern=pattern).values_list("part_number", flat=True)) == {"TW-7", "TW-9"}
    assert Pattern.objects.get(model="Ness").family == "star_drag"
    why = [str(row[-1]) for row in refused_sheet(one).rows]  # type: ignore[index, union-attr]
    assert "no place called “flux pin”" in why[0] and "“windmill” is no family" in why[1]
    import_take_back(one=one)
    assert not Fit.objects.exists() and not Part.objects.exists() and Pattern.objects.get() == pattern
    assert not PatternPlace.objects.exists()


def _places(pattern: Pattern) -> Any:
    from levelwind.shop.patterns.selectors.layouts import pattern_places

    return pattern_places(pattern)


JOBS = """Ticket,Customer,Email,Reel,Serial,Problem,Date in,Date out,Status,Total
R-17,Ansa Vell,ansa@example.com,Skerry 50,S1,slips,03/04/2019,13/04/2019,Done,85.00
R-18,Ansa Vell,ansa@example.com,Skerry 50,S2,rough,03/04/2019,,declined,
R/19,Bram,,Ness 40,,,05/04/2019,04/04/2019,,
R-20,Bram,,Ness 40,,,05/04/2019,,in progress,
R-21,Bram,,Ness 40,,,05/04/2019,06/04/2019,,
26-0001,Bram,,Ness 40,,,07/04/2019,08/04/2019,,
"""


def test_past_jobs_come_in_as_ended_with_their_owners_and_what_the_old_book_said() -> None:
    a_job("26-0001", owner=Owner.objects.create(name="Corvin"))
    one = brought("jobs", JOBS)
    assert (one.counts["new"], one.counts["refused"]) == (4, 2)
    job = Job.objects.get(tag="R-17")
    assert (job.owner.email, job.stage, job.serial, job.complaint) == ("ansa@example.com", Stage.HOME, "S1", "slips")
    assert timezone.localdate(job.booked_in_at) == date(2019, 4, 3) and timezone.localdate(job.stage_since) == date(
        2019, 4, 13
    )
    assert "Charged then: $85.00." in JobEvent.objects.get(job=job).text
    assert Job.objects.get(tag="R-18").stage == Stage.SENT_BACK
    renumbered = Job.objects.get(tag="19-0001")
    assert "Its number then: 26-0001." in JobEvent.objects.get(job=renumbered).text
    again = plan_of(begun("jobs", JOBS))
    assert fates(again) == ["known", "known", "refused", "refused", "known", "known"]
    import_take_back(one=one)
    assert [job.tag for job in Job.objects.all()] == ["26-0001"]
    assert not Owner.objects.filter(name="Bram").exists() and Parcel.objects.count() == 1


def test_a_day_that_can_be_two_is_asked_before_anything_comes() -> None:
    one = begun("jobs", "owner,reel,date in\nAnsa,Skerry,3/4/2019\n")
    plan = plan_of(one)
    assert [(doubt.about, doubt.shown) for doubt in plan.doubts] == [("order", "3/4/2019")]
    with pytest.raises(LevelwindError, match="Choose first how this list writes"):
        import_start(one=one)
    import_match(one=one, columns=one.matched["columns"], same={}, order="month")
    import_start(one=one)
    assert timezone.localdate(Job.objects.get().booked_in_at) == date(2019, 3, 4)


def test_the_next_list_of_the_same_headings_is_matched_as_the_last_was() -> None:
    one = begun("owners", "Who,Wire\nAnsa,555\n")
    assert "name" not in one.matched["columns"]
    import_match(one=one, columns={"name": 0, "note": 1}, same={"country": "Norway"}, known="fill")
    import_drop(one=one)
    assert not Import.objects.get().rows
    again = begun("owners", "Wire,Who\n556,Bram\n")
    assert again.matched["columns"] == {"name": 1, "note": 0} and again.matched["same"] == {"country": "Norway"}
    assert plan_of(again).lines[0].values["note"] == "556" and plan_of(again).matched.known == "fill"


def test_stopped_broken_or_overtaken_nothing_of_it_is_in_the_book(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(services, "AT_ONCE", 1)
    monkeypatch.setattr(services, "TELL_S", 0.0)
    queued: list[int] = []
    monkeypatch.setattr(type(import_task), "enqueue", lambda self, pk: queued.append(pk))
    one = begun("owners", OWNERS)
    import_start(one=one)
    heard: list[object] = []
    plan_of(one, tell=lambda part, doing: heard.append((part, doing)))
    assert heard == [(0.0, "looking at row 0 of 6")]
    assert queued == [one.pk] and not Owner.objects.exists()
    services.import_stop(one=one)
    assert import_run(one.pk).startswith("Stopped") and not Owner.objects.exists()
    one.refresh_from_db()
    assert (one.state, one.said) == ("open", "Stopped: nothing of it is in the book.")

    import_start(one=one)
    monkeypatch.setattr(services, "rows_write", lambda *given: (Owner.objects.create(name="half"), 1 / 0))
    assert "itself failed" in import_run(one.pk) and not Owner.objects.exists()

    import_start(one=one)
    services.cache.clear()
    Import.objects.update(started_at=timezone.now() - 2 * services.SILENT)
    imports_sweep()
    one.refresh_from_db()
    assert (one.state, "broken off" in one.said) == ("open", True)
    with pytest.raises(InputError):
        import_begin(kind="spells", file_name="x", data=b"a")
    assert stop_key(1) != stop_key(2) and issubclass(Stopped, LevelwindError)


LIMITS = """Maker,Model,Size,Family,Place,Dimension,As new,Wear limit,Max,Source
Tarn & Wey,Skerry,50,,dog,Thickness,"2,5","2,3 mm",,maker’s sheet
Tarn & Wey,Skerry,50,,dog,thickness,"2,5","2,2",,
Tarn & Wey,Skerry,50,,dog,girth,,2,,
Tarn & Wey,Skerry,50,,dog,thickness,,2 in,,
Tarn & Wey,Ness,40,star drag,dog,thickness,2,"2,4",,
Tarn & Wey,Ness,40,star drag,dog,thickness,"2,6","2,4",,
"""
LIEU = """Part,Instead of,Said by,How sure
Q-2,Q-1,the maker,80 %
q-2,q-1,,
Q-1,Q-1,,
Q-1,Q-9,,
"""


def test_limits_of_wear_and_replacements_come_in_and_go_again() -> None:
    pattern, parts = a_pattern(), [part_add(number=number, name="washer") for number in ("Q-1", "Q-2")]
    limits, replacements = brought("limits", LIMITS), brought("replacements", LIEU)
    assert (limits.counts["new"], limits.counts["known"], limits.counts["refused"]) == (2, 1, 3)
    row = PlaceLimit.objects.get(pattern=pattern)
    assert (row.place, row.new_mm, row.least_mm, row.most_mm, row.source) == ("dog", 2.5, 2.3, None, "maker’s sheet")
    assert PlaceLimit.objects.get(pattern__model="Ness").least_mm == 2.4
    why = [str(line[-1]) for line in refused_sheet(limits).rows]  # type: ignore[index, union-attr]
    assert "size was “girth”; allowed is inner diameter, thickness" in why[0]
    assert "“2 in”" in why[1] and "rising" in why[2]
    assert (replacements.counts["new"], replacements.counts["known"], replacements.counts["refused"]) == (1, 1, 2)
    said = Replacement.objects.get()
    assert ([said.instead_of, said.part], said.said_by, said.sure) == (parts, "the maker", 0.8)
    why = [str(line[-1]) for line in refused_sheet(replacements).rows]  # type: ignore[index, union-attr]
    assert why[0] == "a part cannot replace itself" and "no part “Q-9” on the shelf" in why[1]
    filled = brought("limits", LIMITS.replace(",maker’s sheet", "3,"), known="fill")
    row.refresh_from_db()
    assert (row.most_mm, filled.counts["filled"]) == (3.0, 1)
    for one in (filled, limits, replacements):
        import_take_back(one=one)
    assert not PlaceLimit.objects.exists() and not Replacement.objects.exists() and Pattern.objects.count() == 1


def filled_book() -> None:
    pattern = a_pattern()
    brought("owners", OWNERS)
    brought("shelf", SHELF)
    text = FITS.replace("Drag washer 1", "pinion").replace("gear sleeve", "main gear")
    brought("fits", text + "Tarn & Wey,Skerry,50,,pinion,Q-2,,\n")
    brought("jobs", JOBS)
    brought("replacements", LIEU)
    place_limit_set(pattern=pattern, place="dog", dimension="thickness", new_mm=2.5, least_mm=2.31)
    kept = {"pack": 5, "last_buy_years": 2.5, "a_reel": 0.02, "cut_off": 0.125}
    Part.objects.filter(number="Q-1").update(**kept)
    Owner.objects.create(name="=cmd()", note="-5\n'quoted'", phone="+49 30 1")


def as_listed() -> dict[str, list[list[str]]]:
    return {sheet.name: [[str(cell) for cell in row] for row in sheet.rows] for sheet in list_sheets()}


@pytest.mark.parametrize("kind", ["zip", "xlsx"])
def test_what_the_export_writes_is_read_back_into_an_empty_book(kind: str, client: Any) -> None:
    filled_book()
    was = as_listed()
    out = b"".join(client.get(f"/counter/book/all.{kind}"))
    for model in (JobEvent, Job, Parcel, Fit, PatternPlace, Pattern):
        model.objects.all().delete()
    StockEntry._base_manager.all().delete()
    for rows in (Part, Owner):
        rows.objects.all().delete()
    assert all(was.values()) and not any(as_listed().values())
    for key in KINDS:
        one = import_begin(kind=key, file_name=f"all.{kind}", data=out)
        shown = {field.key for field in KINDS[key].fields} - set(LEFT_OUT[key])
        assert shown <= one.matched["columns"].keys()
        plan = plan_of(one)
        assert not plan.counts["refused"], refused_of(plan, table_of(one))
        import_start(one=one)
    now = as_listed()
    for name in was:
        charged = -1 if name == "past jobs" else None  # what was charged then is told in the job's history
        assert [row[:charged] for row in now[name]] == [row[:charged] for row in was[name]]


def test_a_workbook_of_days_and_sums_is_read_without_a_question() -> None:
    from levelwind.shop.book.sheets import Sheet

    held = io.BytesIO()
    rows = [["Ansa", "Skerry", date(2019, 4, 3), 1234.5]]
    workbook_write([Sheet("Sheet1", ("Owner", "Reel", "Received", "Total"), rows)], held)
    one = import_begin(kind="jobs", file_name="old.xlsx", data=held.getvalue())
    import_start(one=one)
    assert "Charged then: $1,234.50." in JobEvent.objects.get().text
