"""A pattern's own pictures: numbers put on by finger, on the papers, and out to a file and in again."""

import io
import json
import re
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from levelwind.shop.book.services.pattern_files import pattern_file_with_pictures, pattern_read
from levelwind.shop.jobs.services.photos import photo_add
from levelwind.shop.models import Build, Job, Pattern, PatternPicture
from levelwind.shop.papers.selectors.pattern_sheets import parts_list_sheet, pattern_guide
from levelwind.shop.patterns.selectors.layouts import under
from levelwind.shop.patterns.selectors.pictures import place_numbers
from levelwind.shop.patterns.services.builds import build_save
from levelwind.shop.patterns.services.keeping import pattern_copy
from levelwind.shop.patterns.services.layouts import layout_change, one_more, place_of_its_own
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.apart import takedown_last_undone, takedown_step_done
from tests.shop.takedown.pieces_jobs import a_job, a_pattern
from tests.web.test_apart import lines

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def aside(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


def a_photo(colour="red"):
    buffer = io.BytesIO()
    Image.new("RGB", (200, 100), colour).save(buffer, "JPEG")
    return SimpleUploadedFile("laid-out.jpg", buffer.getvalue())


def on_paper(pattern):
    return [[mark.text for mark in shown.marks] for shown in parts_list_sheet(pattern).pictures]


def test_numbers_are_put_on_by_finger_taken_away_and_printed(client):
    pattern = a_pattern()
    step = "lift_drag_washers"
    photo_add(file=a_photo("blue"), job=a_job(pattern, reach=("pinion",)), moment="step", step=step)
    add = reverse("pattern_picture_add", args=[pattern.pk])
    assert "No picture came" in lines(client.post(add, {}))
    page = client.post(add, {"picture": a_photo()})["Location"]

    def put(across, down, place=""):
        return client.post(page, {"act": "put", "across": across, "down": down, "place": place})

    put("10", "20")
    put("50", "50")
    put("90", "80", "pinion")
    numbers = [row["place"] for row in PatternPicture.objects.get().numbers]
    first, second = (place.key for place in client.get(page).context["page"].places[:2])
    assert numbers == [first, second, "pinion"]
    put("91", "79")
    assert "pinion" not in str(PatternPicture.objects.get().numbers), "a tap on a number takes it away"
    put("30", "30", second)
    assert [row["across"] for row in PatternPicture.objects.get().numbers] == [0.1, 0.3], "chosen again, it moves"
    for bad, words in (("120", "was 120 %"), ("", "It was “”")):
        answer = put(bad, "10")
        assert answer.status_code == 422 and words in lines(answer)
    client.post(page, {"away": first})
    client.post(page, {"act": "caption", "caption": "Laid out on the bench"})
    assert "Laid out on the bench" in lines(client.get(reverse("pattern", args=[pattern.pk])))
    offered = client.get(reverse("pattern_picture_offer", args=[pattern.pk]), {"step": step}).context["page"].photos
    client.post(add, {"step": step, "photo": offered[0].pk})
    assert client.get(reverse("pattern_step", args=[pattern.pk, step])).context["page"].pictures[0].width == 200
    assert on_paper(pattern) == [["2"]] and on_paper(pattern_copy(pattern=pattern, maker="A", model="B")) == [["2"]]
    listed = [place for _, places in parts_list_sheet(pattern).assemblies for place in places]
    assert listed[1].on_picture == "2"
    assert [step.picture is not None for step in pattern_guide(pattern).steps].count(True) == 1
    for paper in ("pattern_parts_list", "pattern_guide"):
        assert client.get(reverse(paper, args=[pattern.pk])).content[:5] == b"%PDF-"
    client.post(page, {"act": "remove"})
    assert not Pattern.objects.get(pk=pattern.pk).pictures.filter(step="").exists()
    client.post(reverse("photo_remove", args=[offered[0].pk]))
    kept = pattern.pictures.get()
    assert kept.picture.open().read(), "the job's photo is gone, the pattern shows it still"


def test_a_build_s_own_places_are_numbered_by_finger_and_printed_for_it_alone(client):
    """Its numbers follow the pattern's; what it does not show is not touched by a tap; out in a file and in again."""
    pattern = a_pattern()
    build = build_save(build=Build(pattern=pattern), name="late")
    block = place_of_its_own(name="click block", kind="lever", count=1, group="drag", taken=set())
    layout_change(one=build, change=lambda says: one_more(under(build), says, block, "lift_drag_washers"))
    other = build_save(build=Build(pattern=pattern), name="early")
    page = client.post(reverse("pattern_picture_add", args=[pattern.pk]), {"picture": a_photo()})["Location"]
    assert "As build late" in client.get(page).content.decode()
    spot = {"act": "put", "across": "50", "down": "50"}
    put = client.post(f"{page}?build={build.pk}", {**spot, "place": "own_click_block"})
    assert put["Location"] == f"{page}?build={build.pk}"
    assert client.post(page, {**spot, "place": "own_click_block", "down": "10"}).status_code == 422
    client.post(page, {**spot, "place": "pinion"})
    assert [row["place"] for row in PatternPicture.objects.get().numbers] == ["own_click_block", "pinion"]
    build.refresh_from_db()
    late, early = (
        [mark.text for shown in parts_list_sheet(pattern, one).pictures for mark in shown.marks]
        for one in (build, other)
    )
    numbers = place_numbers(pattern, build)
    assert late == [str(numbers["pinion"]), str(numbers["own_click_block"])] and early == late[:1]
    whole = pattern_file_with_pictures(pattern)
    Pattern.objects.filter(pk=pattern.pk).update(model="Elsewhere")
    assert pattern_read(content=whole)[0].pictures.get().numbers == PatternPicture.objects.first().numbers


def test_a_pattern_goes_out_with_its_pictures_and_in_again_and_a_hostile_zip_is_refused(client):
    pattern = a_pattern()
    page = client.post(reverse("pattern_picture_add", args=[pattern.pk]), {"picture": a_photo()})["Location"]
    client.post(page, {"act": "put", "across": "25", "down": "75", "place": "pinion"})
    out = reverse("pattern_file_out", args=[pattern.pk])
    assert "pictures" not in json.loads(client.get(out).content)
    packed = client.get(out, {"photos": "yes"}).content
    assert packed == pattern_file_with_pictures(pattern)
    read_in = reverse("pattern_file_in")

    def told(**more):
        with zipfile.ZipFile(io.BytesIO(packed)) as whole:
            files = {name: whole.read(name) for name in whole.namelist()}
        told = json.loads(files["pattern.json"])
        told |= {"model": "Elsewhere", **more}
        return {**files, "pattern.json": json.dumps(told).encode()}

    def sent(files, **kind):
        buffer = io.BytesIO()
        with zipfile.ZipFile(buffer, "w", **kind) as made:
            for name, content in files.items():
                made.writestr(name, content)
        return client.post(read_in, {"file": SimpleUploadedFile("p.zip", buffer.getvalue())})

    (row,) = json.loads(told()["pattern.json"])["pictures"]
    number = {"place": "pinion", "across": 2, "down": 0}
    for files, words in (
        ({**told(), "../up.jpg": b""}, "../up.jpg"),
        ({"pictures/1.jpg": b"x"}, "one pattern.json with"),
        ({**told(), "pictures/1.jpg": b"no picture"}, "a photo saved as JPEG"),
        ({**told(), "pictures/2.jpg": bytes(41_000_000)}, "zip, unpacked can be up to 40 MB. It was over 40 MB."),
        ({**told(), **{f"pictures/{n}.jpg": b"x" for n in range(1, 43)}}, "in the zip can be up to 40. It was 42."),
        (told(pictures=[{**row, "file": "pictures/7.jpg"}]), "one that lies in the zip"),
        (told(pictures=[{**row, "numbers": [number]}]), "across of pinion can be from 0 to 1. It was 2."),
        (told(pictures=[{**row, "caption": 3}]), "up to 120 letters"),
    ):
        answer = sent(files, compression=zipfile.ZIP_DEFLATED)
        assert answer.status_code == 422 and words in lines(answer), words
    broken = client.post(read_in, {"file": SimpleUploadedFile("p.zip", packed[:-200])})
    assert broken.status_code == 422 and "a damaged zip" in lines(broken)
    assert Pattern.objects.count() == 1
    assert sent(told(pictures=[{**row, "numbers": [*row["numbers"], {**number, "across": 0, "place": "own_x"}]}])).url
    twin = Pattern.objects.get(model="Elsewhere").pictures.get()
    assert twin.numbers == pattern.pictures.get().numbers and twin.width == 200


def test_a_guide_to_hand_on_tells_the_way_and_nothing_of_the_owner(client):
    pattern = a_pattern()
    job = a_job(pattern, reach=("pinion",))
    Job.objects.filter(pk=job.pk).update(serial="SER-771", complaint="my late uncle's", reel="Uncle's reel")
    step = job_work(job).plan.steps[0].key
    photo_add(file=a_photo("blue"), job=job, moment="step", step=step, caption="Mr Quillfeather's washers")
    assert client.get(reverse("guide_paper", args=[job.tag])).content[:5] == b"%PDF-"
    alone = client.get(reverse("guide_alone", args=[job.tag]))
    assert alone["Content-Disposition"] == f'attachment; filename="guide-{job.tag}.html"'
    page = alone.content.decode()
    assert str(pattern) in page and "To reach: pinion" in page and page.count("<li>") == len(job_work(job).plan.steps)
    assert page.count('src="data:image/svg+xml;base64,') == 1
    for told in (job.owner.name, job.tag, "SER-771", "uncle", "Quillfeather"):
        assert told.lower() not in page.lower(), told
    assert not re.search(r"(src|href)=\"(?!data:)|url\(|@import", page), "it needs nothing beside it"
    whole = client.get(reverse("pattern_guide_alone", args=[pattern.pk])).content.decode()
    assert "To reach: the whole reel" in whole
    Job.objects.filter(pk=job.pk).update(pattern=None)
    assert "Choose its pattern first" in lines(client.get(reverse("guide_alone", args=[job.tag])))


def test_at_the_bench_a_step_shows_its_pattern_s_picture_until_the_reel_has_one_of_its_own(client):
    pattern = a_pattern()
    job = a_job(pattern, reach=("pinion",))
    page, step = reverse("apart", args=[job.tag]), job_work(job).plan.steps[0].key
    add = reverse("pattern_picture_add", args=[pattern.pk])
    assert "another reel of this pattern" not in client.get(page).content.decode()
    for colour in ("red", "green"):
        client.post(add, {"picture": a_photo(colour), "step": step})
    newest = PatternPicture.objects.order_by("pk").last()
    shown = client.get(page).content.decode()
    assert newest.thumbnail.name in shown and shown.count("another reel of this pattern") == 1
    assert PatternPicture.objects.order_by("pk").first().thumbnail.name not in shown
    takedown_step_done(job=job, step=step)
    back = reverse("together", args=[job.tag])
    assert newest.thumbnail.name in client.get(back).content.decode(), "nor on the way back"
    takedown_last_undone(job=job)
    photo_add(file=a_photo("blue"), job=job, moment="step", step=step)
    for address in (page, back):
        assert "another reel of this pattern" not in client.get(address).content.decode()
