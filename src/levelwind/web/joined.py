"""The one style sheet and the one script of every page: the sheets and scripts of the areas, one after the other.

A phone on a bad network asks once for each; their address changes with what is in them, so it asks never again.
"""

from functools import cache
from hashlib import sha256
from importlib.resources import files

from django.http import Http404, HttpRequest, HttpResponse
from django.templatetags.static import static
from django.urls import path, reverse

KINDS = {"css": "text/css", "js": "text/javascript"}
FIRST = {"css": ("levelwind.css", "upload.css", "photos.css"), "js": ("upload.js",)}
"""What holds for every page. Another sheet holds where a page's ``data-look`` names it; a script keeps its names."""
FOR_EVER = "public, max-age=31536000, immutable"


def style_sheet(texts: dict[str, str]) -> str:
    """Letters are asked for where they lie, the sheet lies elsewhere. ``:where`` leaves each rule its weight."""
    every = "\n".join(texts.pop(name) for name in FIRST["css"]).replace('url("type/', f'url("{static("type/")}')
    looks = (f':where([data-look~="{name.removesuffix(".css")}"]) {{\n{text}\n}}' for name, text in texts.items())
    return "\n".join([every, *looks])


def script(texts: dict[str, str]) -> str:
    every = "\n".join(texts.pop(name) for name in FIRST["js"])
    return "\n".join(['"use strict";', every, *(f"(() => {{\n{text}\n}})();" for text in texts.values())])


@cache
def joined(kind: str) -> str:
    lie = [entry for entry in (files("levelwind.web") / "static").iterdir() if entry.name.endswith(f".{kind}")]
    texts = {entry.name: entry.read_text(encoding="utf-8") for entry in sorted(lie, key=lambda entry: entry.name)}
    return style_sheet(texts) if kind == "css" else script(texts)


@cache
def address(kind: str) -> str:
    return reverse("joined", args=[sha256(joined(kind).encode()).hexdigest()[:12], kind])


def joined_file(request: HttpRequest, version: str, kind: str) -> HttpResponse:
    """Without signing in: the door itself is drawn with it. An address of before an upgrade is answered, not kept."""
    if kind not in KINDS:
        raise Http404
    answer = HttpResponse(joined(kind), content_type=f"{KINDS[kind]}; charset=utf-8")
    answer["Cache-Control"] = FOR_EVER if request.path == address(kind) else "no-cache"
    return answer


urlpatterns = [path("look/<str:version>/levelwind.<str:kind>", joined_file, name="joined")]
