"""The bone box: donor reels, and the parts that come off them."""

from dataclasses import dataclass
from uuid import uuid4

from django import forms
from django.contrib import messages
from django.core.paginator import Page
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import BoneReel, Part, SeenBox
from levelwind.shop.money.seen_boxes import seen_box_of
from levelwind.shop.money.services.boxes import bone_box_add
from levelwind.shop.money.services.seen_boxes import bone_to_bench
from levelwind.shop.money.worth import BoneWorth, Came, bone_worth, came_of
from levelwind.shop.parts.selectors.bones import Salvage, bone_list, box_of, came_off, salvage
from levelwind.shop.parts.selectors.shelf import part_find, part_with_number
from levelwind.shop.parts.services.bones import bone_add, bone_delete, bone_strip
from levelwind.shop.parts.services.shelf import MOST_AT_ONCE
from levelwind.web.forms import MoneyField
from levelwind.web.pages import leaf, page, spoken
from levelwind.web.requests import LONGEST_KEY, Request, key_in, sent
from levelwind.web.saving import save_and_answer
from levelwind.web.shelf.forms import BoneForm, NewBoneForm

BONES_A_PAGE = 40


class BoxForm(forms.Form):
    """A box of dead reels, one a line."""

    text = forms.CharField(
        label="the reels, one a line", max_length=4000, widget=forms.Textarea(attrs={"rows": 5, "spellcheck": "false"})
    )
    paid_minor = MoneyField(label="what we paid for the box", required=False)
    spot = forms.CharField(max_length=40, required=False, label="where it lies")
    press = forms.CharField(max_length=32, required=False, widget=forms.HiddenInput)


@dataclass(frozen=True, slots=True)
class BonesContext:
    box: BoxForm
    bones: Page[BoneReel]
    words: str
    stripped: bool
    query: str
    new: NewBoneForm


@dataclass(frozen=True, slots=True)
class BoneContext:
    bone: BoneReel
    form: BoneForm
    box: tuple[int, int]
    salvage: tuple[Salvage, ...]
    came_off: tuple[tuple[Part, int], ...]
    worth: BoneWorth | None
    came: Came
    seen: SeenBox | None
    """The box it came in, as it was seen at a sale."""
    refusal: str
    typed: dict[str, str]


def bones_page(request: Request) -> HttpResponse:
    boxed = "text" in request.POST
    new = NewBoneForm(None if boxed else sent(request))
    box = BoxForm(request.POST if boxed else None, initial={"press": uuid4().hex})
    if boxed and box.is_valid():
        given = box.cleaned_data
        try:
            reels = bone_box_add(**{**given, "paid_minor": given["paid_minor"] or 0})
            messages.success(request, f"{len(reels)} reel{'' if len(reels) == 1 else 's'} put in the bone box.")
            return redirect("bones")
        except LevelwindError as refusal:
            box.add_error("text", spoken(refusal))
    if request.method == "POST" and new.is_valid():
        given = new.cleaned_data
        try:
            bone = bone_add(**{**given, "paid_minor": given["paid_minor"] or 0})
            return redirect("bone", bone.pk)
        except LevelwindError as refusal:
            new.add_error("reel", spoken(refusal))
    words, stripped = request.GET.get("q_bone", "").strip()[:80], "stripped" in request.GET
    query = request.GET.copy()
    query.pop("page", None)
    bones = leaf(bone_list(words=words, stripped=stripped), BONES_A_PAGE, request.GET.get("page"))
    context = BonesContext(box=box, bones=bones, words=words, stripped=stripped, query=query.urlencode(), new=new)
    return page(request, "shelf/bones.html", context, status=422 if new.errors or box.errors else 200)


def _draw(request: Request, bone: BoneReel, *, form: BoneForm | None = None, refusal: str = "") -> HttpResponse:
    context = BoneContext(
        bone=bone,
        form=form or BoneForm(instance=bone),
        box=box_of(bone),
        salvage=salvage(bone.pattern) if bone.stripped_on is None else (),
        came_off=came_off(bone),
        worth=bone_worth(bone) if bone.stripped_on is None and bone.mended_as is None else None,
        came=came_of(bone),
        seen=seen_box_of(bone),
        refusal=refusal,
        typed=request.POST.dict() if refusal else {},
    )
    return page(request, "shelf/bone.html", context, status=422 if refusal or form else 200)


def bone_page(request: Request, pk: int) -> HttpResponse:
    bone = get_object_or_404(BoneReel, pk=pk)
    if request.method != "POST":
        return _draw(request, bone)
    form = BoneForm(request.POST, instance=bone)
    answer = save_and_answer(request, form, then=request.path)
    bone.refresh_from_db()
    return answer or _draw(request, bone, form=form)


@require_POST
def delete_act(request: Request, pk: int) -> HttpResponse:
    bone = get_object_or_404(BoneReel, pk=pk)
    try:
        bone_delete(bone=bone)
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
        return redirect("bone", pk)
    messages.success(request, f"{bone.reel} is out of the bone box.")
    return redirect("bones")


@require_POST
def bench_act(request: Request, pk: int) -> HttpResponse:
    """It is booked in as the shop's own, to be mended and sold."""
    bone = get_object_or_404(BoneReel, pk=pk)
    try:
        return redirect("job", bone_to_bench(bone=bone, by=request.user.get_username()).tag)
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
        return redirect("bone", pk)


@require_POST
def strip_act(request: Request, pk: int) -> HttpResponse:
    """The counts beside the parts go to the shelf, second-hand."""
    bone = get_object_or_404(BoneReel, pk=pk)
    bare = "bare" in request.POST
    try:
        entries = bone_strip(bone=bone, parts=_counts(request), bare=bare, by=request.user.get_username())
    except LevelwindError as refusal:
        return _draw(request, bone, refusal=spoken(refusal))
    put = sum(entry.change for entry in entries)
    messages.success(request, f"{put} part{'' if put == 1 else 's'} put on the shelf, second-hand.")
    return redirect("bone", pk)


def _counts(request: Request) -> dict[Part, int]:
    """The counts typed beside the parts, and beside one more part named by its number."""
    counts = {}
    for name in request.POST:
        typed = request.POST.get(name, "")
        if name.startswith("part-") and typed.strip():
            key = name.removeprefix("part-")
            counts[_known(part_find(key_in(key)), key)] = _count(typed)
    number = request.POST.get("number", "").strip()
    if number:
        counts[_known(part_with_number(number), number)] = _count(request.POST.get("number_count") or "1")
    return counts


def _known(part: Part | None, named: str) -> Part:
    if part is None:
        raise LevelwindError(f"There is no part “{named[:40]}”: add it on the shelf first, with none lying there.")
    return part


def _count(typed: str) -> int:
    if not typed.strip().isdecimal() or len(typed) > LONGEST_KEY or int(typed) > MOST_AT_ONCE:
        raise LevelwindError(f"A count can be a whole number from 0 to {MOST_AT_ONCE}. It was “{typed[:20]}”.")
    return int(typed)
