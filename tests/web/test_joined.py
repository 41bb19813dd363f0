"""One style sheet and one script for every page, asked for once."""

import gzip
import re
from pathlib import Path

from django.contrib.auth import get_user_model
from django.contrib.staticfiles import finders
from django.test import Client
from pytest_django import Settings

from levelwind.web import joined

MOST_PACKED_BYTES = 60_000
"""Of sheet, script and library over the network: with letters (36 kB) and a page of 150 kB, packed, under 150 kB."""


def test_sheet_and_script_come_to_the_door_and_are_kept_as_long_as_they_stay_the_same(
    client: Client, db: None, settings: Settings
) -> None:
    get_user_model().objects.create_user("orla", password="a long word of passage")
    settings.NETWORK = "192.0.2.7"
    page = client.get("/sign-in/").content.decode()
    sheets = re.findall(r'<link rel="stylesheet" href="([^"]+)"', page)
    scripts = re.findall(r'<script src="([^"]+)"', page)
    assert (len(sheets), len(scripts)) == (1, 2)
    library = Path(str(finders.find(f"django_htmx/{scripts[0].rpartition('/')[2]}")))
    packed = len(gzip.compress(library.read_bytes()))
    for address, kind in ((sheets[0], "text/css"), (scripts[1], "text/javascript")):
        answer = client.get(address)
        body = gzip.decompress(answer.content) if answer.headers.get("Content-Encoding") else answer.content
        assert answer.headers["Content-Type"].startswith(kind) and "immutable" in answer.headers["Cache-Control"]
        packed += len(gzip.compress(body))
        older = client.get(re.sub(r"/look/\w+/", "/look/0123456789ab/", address))
        assert older.status_code == 200 and older.headers["Cache-Control"] == "no-cache"
    assert packed < MOST_PACKED_BYTES
    assert client.get("/look/0123456789ab/levelwind.exe").status_code == 404


def test_each_look_a_page_asks_for_is_a_sheet_of_the_joined_one_and_no_sheet_calls_another() -> None:
    sheet, script = joined.joined("css"), joined.joined("js")
    looks = set(re.findall(r':where\(\[data-look~="(\w+)"\]\)', sheet))
    asked = {
        look
        for template in (Path(joined.__file__).parent / "templates").rglob("*.html")
        for names in re.findall(r"{% block look %}([\w ]+){% endblock %}", template.read_text())
        for look in names.split()
    }
    assert asked | {"phone"} == looks
    assert "@import" not in sheet and "import {" not in script and "export " not in script
    assert sheet.count("{") == sheet.count("}")
