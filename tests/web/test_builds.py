"""Builds on their pages: added, changed, named by a job; the same size with another drag is one, and not refused."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from levelwind.shop.models import Build, Job, Pattern
from levelwind.shop.patterns.selectors.layouts import pattern_layers
from levelwind.shop.patterns.services.builds import build_save
from tests.shop.takedown.pieces_jobs import a_job, a_pattern, take_apart
from tests.web.test_apart import HTMX, lines

pytestmark = pytest.mark.django_db


def test_the_same_size_with_another_drag_is_a_build(client):
    pattern = a_pattern()
    again = {"maker": "tarnbeck", "model": "Harrier", "size": "", "family_key": "star_drag"}
    answer = client.post(reverse("pattern_add"), again)
    add = reverse("build_add", args=[pattern.pk])
    assert answer.status_code == 422 and f'href="{add}"' in answer.content.decode()
    assert "take-apart plate with a single screw" in lines(client.get(add)).lower()
    wrong = client.post(add, {"name": "late", "year_from": "1970", "year_to": "1960"})
    assert wrong.status_code == 422 and "can be 1970 or later" in lines(wrong)
    answer = client.post(add, {"name": "late", "year_from": "1970", "built_as": ["bushings"]})
    build = Build.objects.get()
    assert answer["Location"] == reverse("build", args=[pattern.pk, build.pk])
    page = lines(client.get(answer["Location"]))
    assert "Head side spool bushing" in page
    assert "late 1970 to now" in lines(client.get(reverse("pattern", args=[pattern.pk])))
    out = reverse("build_place_act", args=[pattern.pk, build.pk, "worm"])
    assert client.post(out, {"act": "out"}).status_code == 302
    step = reverse("build_step", args=[pattern.pk, build.pk, "undo_bridge_screws"])
    form = client.get(step).context["page"].form.initial
    names = ("do", "tool", "minutes", "cautions", "frees", "after", "photo", "back")
    assert client.post(step, {**{name: form[name] for name in names}, "tool": "ratchet"}).status_code == 302
    build.refresh_from_db()
    assert build.says["places"]["drop"]["place"] == ["worm"]
    assert "This build has none." in lines(client.get(reverse("build", args=[pattern.pk, build.pk])))
    client.post(out, {"act": "in"})
    build.refresh_from_db()
    assert build.says["places"]["drop"]["place"] == []
    assert build.says["takedown"]["change"]["step"] == {"undo_bridge_screws": {"tool": "ratchet"}}
    assert Pattern.objects.get().says == {}
    client.post(reverse("pattern_built_as", args=[pattern.pk]), {"built_as": ["dog_under_bridge", "x"]})
    assert Pattern.objects.get().built_as == ["dog_under_bridge"]
    assert len(pattern_layers(Pattern.objects.get(), build)) == 3
    client.post(reverse("build_drop", args=[pattern.pk, build.pk]))
    assert not Build.objects.exists()


def test_a_job_names_its_build_and_its_serial_number_points_to_one(client):
    pattern = a_pattern()
    build_save(build=Build(pattern=pattern), name="early", serial_to="999")
    late = build_save(build=Build(pattern=pattern), name="late", serial_from="1000", built_as=["bushings"])
    job = a_job(pattern, reach=("handle",))
    Job.objects.update(serial="1471")
    take_apart(job)
    address = reverse("apart", args=[job.tag])
    page = client.get(address)
    assert "Its serial number 1471 lies in late." in lines(page) and page.context["page"].build_shown == late
    answer = client.post(address, {"act": "build", "build": late.pk}, headers=HTMX)
    assert "Build: late" in lines(answer) and Job.objects.get().build == late
    wrong = client.post(address, {"act": "build", "build": "999"}, headers=HTMX)
    assert wrong.status_code == 422 and "Choose a build from the list." in lines(wrong)


def test_the_book_is_kept_from_the_patterns_page(client):
    pattern, other = a_pattern(), a_pattern(model="Merlin")
    build = build_save(build=Build(pattern=pattern), name="early", built_as=["bushings"])
    page = reverse("pattern", args=[pattern.pk])
    for name in ("pattern_parts_list", "pattern_guide"):
        address = reverse(name, args=[pattern.pk])
        assert f'href="{address}"' in client.get(page).content.decode()
        answer = client.get(f"{address}?build={build.pk}")
        assert answer["Content-Type"] == "application/pdf" and answer.content.startswith(b"%PDF")
    out = client.get(reverse("pattern_file_out", args=[pattern.pk]))
    read = reverse("pattern_file_in")
    answer = client.post(read, {"file": SimpleUploadedFile("a.json", out.content)})
    assert answer.status_code == 422 and "in the book already" in lines(answer)
    fresh = out.content.replace(b'"Harrier"', b'"Osprey"')
    answer = client.post(read, {"file": SimpleUploadedFile("a.json", fresh)})
    assert answer["Location"] == reverse("pattern", args=[Pattern.objects.get(model="Osprey").pk])
    assert "Choose a file." in lines(client.post(read))
    client.post(reverse("pattern_copy", args=[pattern.pk]), {"maker": "Tarnbeck", "model": "Kestrel", "size": "3"})
    assert Pattern.objects.get(model="Kestrel").builds.count() == 1
    client.post(reverse("pattern_merge", args=[pattern.pk]), {"into": other.pk})
    assert f"Merged into the {other}" in lines(client.get(page))
    shown = lines(client.get(reverse("patterns")))
    assert "Harrier" not in shown and "Harrier" in lines(client.get(reverse("patterns") + "?retired=on"))
    client.post(reverse("pattern_retire", args=[pattern.pk]), {"retired": "no"})
    assert "Harrier" in lines(client.get(reverse("patterns")))
