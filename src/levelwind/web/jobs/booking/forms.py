"""The fields of a booking: a reel, its parcel and its owner; over saved rows, and over a draft."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.models import construct_instance

from levelwind.shop.jobs.selectors.drafts import draft_reels, field_name
from levelwind.shop.jobs.selectors.lines import by_tippet
from levelwind.shop.models import Draft, Job, Owner, Parcel, Pattern
from levelwind.shop.patterns.selectors.picking import Picking, picking
from levelwind.shop.people.selectors import shop_get
from levelwind.web.force_field import ForceField
from levelwind.web.forms import MoneyField, NumberField, SavingForm
from levelwind.web.pattern_pick import PatternField, words_name
from levelwind.web.requests import key_in

LONGEST_TEXT = 4000


def words(rows: int = 2) -> forms.Textarea:
    return forms.Textarea(attrs={"rows": rows, "maxlength": LONGEST_TEXT})


def text_field(label: str, rows: int = 2) -> forms.CharField:
    return forms.CharField(label=label, required=False, max_length=LONGEST_TEXT, widget=words(rows))


class ReelForm(SavingForm):
    """A reel as it came in."""

    pattern = PatternField(label="pattern", required=False)
    complaint = text_field("complaint, in the owner's words", 3)
    came_with = text_field("what came with it")
    looked_like = text_field("how it looked")
    declared_minor = MoneyField(label="value declared", required=False)
    bought_minor = MoneyField(label="what the shop paid for it", required=False)
    asks_minor = MoneyField(label="what it is to be sold for", required=False)
    line_strength_N = ForceField(label="line strength", required=False)
    tippet_strength_N = ForceField(label="tippet strength", required=False)
    line_diameter_mm = NumberField(
        label="line diameter, mm",
        required=False,
        min_value=0.02,
        max_value=5,
        widget=forms.NumberInput(attrs={"class": "number", "step": "any"}),
    )

    class Meta:
        model = Job
        fields = ["reel", "pattern", "serial", "complaint", "came_with", "looked_like", "leave", "leave_note"]
        fields += [
            "leave",
            "leave_note",
            "water",
            "hours_a_year",
            "declared_minor",
            "bought_minor",
            "asks_minor",
            "line_name",
            "line_strength_N",
            "tippet_strength_N",
            "line_diameter_mm",
        ]

    pattern_refusal = ""
    """Why the pattern cannot be another one now, where the reel's pieces are laid out under it."""

    def clean_pattern(self) -> Pattern | None:
        if self.pattern_refusal:
            raise ValidationError(self.pattern_refusal)
        chosen: Pattern | None = self.cleaned_data["pattern"]
        return chosen

    def __init__(self, *args: Any, patterns: Picking, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        pattern: Any = self.fields["pattern"]
        pattern.offer(patterns, none="not picked yet", by_maker=True)
        self.fields["line_strength_N"].label = f"line strength, {shop_get().force_unit}"
        self.fields["tippet_strength_N"].label = f"tippet strength, {shop_get().force_unit}"
        if not (self.instance.pattern and by_tippet(self.instance.pattern)):
            del self.fields["tippet_strength_N"]
        if not self.instance.pk:
            # asked once it is here: a booking of forty reels holds as many fields as a form can carry
            del self.fields["water"], self.fields["hours_a_year"]
        if not (self.instance.owner_id and self.instance.is_own):
            del self.fields["bought_minor"], self.fields["asks_minor"]
        self.fields["declared_minor"].label = f"value declared, {shop_get().currency_symbol}"


class ParcelForm(SavingForm):
    """How the reel came."""

    note = text_field("note on the parcel")

    class Meta:
        model = Parcel
        fields = ["came_by", "carrier", "tracking", "note"]
        labels = {"came_by": "came by", "tracking": "tracking number"}


class NewOwnerForm(SavingForm):
    """Whose reels these are, where they are not yet in the book."""

    address = text_field("address", 3)

    class Meta:
        model = Owner
        fields = ["name", "email", "phone", "address"]
        labels = {"name": "owner's name", "email": "e-mail"}
        widgets = {"name": forms.TextInput(attrs={"autocomplete": "off"})}


class AsTyped(SavingForm):
    """Makes a form keep its fields in a draft: every text as typed, right or wrong, none of them a must yet."""

    def __init__(self, texts: Mapping[str, Any], typed: Mapping[str, str], **kwargs: Any) -> None:
        self.texts = texts
        super().__init__({**texts, **typed}, **kwargs)
        for field in self.fields.values():
            field.required = False

    def add_prefix(self, field_name: str) -> str:
        return f"{self.prefix}_{field_name}"

    def was_text(self, name: str) -> str:
        return str(self.texts.get(self.add_prefix(name), ""))

    def _post_clean(self) -> None:
        """The row as it would be; it is checked as a whole when it is booked in."""
        self.instance = construct_instance(self, self.instance)


class ReelDraft(AsTyped, ReelForm):
    """A reel of a draft."""

    AT_A_GLANCE = ("reel", "pattern", "serial", "complaint")
    """What a reel of many is told by; the rest is folded away while nothing stands there."""

    @property
    def asked_for(self) -> bool:
        """Words were sent to find its pattern by."""
        return bool(self.data.get(words_name(self.add_prefix("pattern"))))

    @property
    def more(self) -> bool:
        """Something stands in a field that would be folded away, or is refused there."""
        rest = [name for name in self.fields if name not in self.AT_A_GLANCE]
        return any(self.was_text(name) or name in self.errors for name in rest)


class ParcelDraft(AsTyped, ParcelForm):
    """The parcel of a draft."""


class OwnerDraft(AsTyped, NewOwnerForm):
    """The new owner of a draft."""


@dataclass(frozen=True, slots=True)
class DraftForms:
    """All forms of one draft; ``reels`` by their keys there."""

    owner: OwnerDraft
    parcel: ParcelDraft
    reels: dict[int, ReelDraft]

    def __iter__(self) -> Iterator[Any]:
        yield from (self.owner, self.parcel, *self.reels.values())

    def names(self) -> list[str]:
        return [form.add_prefix(name) for form in self for name in form.fields]


def draft_forms(draft: Draft, typed: Mapping[str, str] | None = None) -> DraftForms:
    """The draft's forms; ``typed`` holds texts that stand in a field although the draft holds another."""
    typed = typed or {}
    texts = {**draft.data, **typed}
    patterns = picking(picked=[key_in(str(texts.get(field_name(reel.key, "pattern")))) for reel in draft_reels(draft)])
    reels = {
        reel.key: ReelDraft(draft.data, typed, prefix=field_name(reel.key, "")[:-1], patterns=patterns)
        for reel in draft_reels(draft)
    }
    parcel = ParcelDraft(draft.data, typed, prefix="parcel")
    return DraftForms(OwnerDraft(draft.data, typed, prefix="owner"), parcel, reels)
