"""What can be typed on the shelf's pages."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from levelwind.core.errors import LevelwindError
from levelwind.core.supply.stock import MOST_UNITS
from levelwind.reference.families import KINDS
from levelwind.shop.models import BoneReel, Fit, Part, Pattern
from levelwind.shop.models.patterns import family_choices
from levelwind.shop.parts.selectors.shelf import part_with_number
from levelwind.shop.parts.selectors.sizes import sizes_read, sizes_written
from levelwind.shop.parts.selectors.standins import SHEET
from levelwind.shop.parts.services.shelf import MOST_AT_ONCE
from levelwind.shop.patterns.selectors.layouts import pattern_places
from levelwind.web.forms import MoneyField, NumberField, SavingForm
from levelwind.web.pattern_pick import PatternField, pattern_offer

WAYS = [
    ("bought", "bought, put on the shelf"),
    ("counted", "stock count: how many lie there"),
    ("donor", "off a donor reel, second-hand"),
    ("thrown", "thrown away"),
    ("returned", "sent back to the supplier"),
]


def kind_choices() -> list[tuple[str, str]]:
    return [("", "not said"), *((kind, kind.replace("_", " ")) for kind in KINDS), (SHEET, "sheet to cut from")]


class SizesField(forms.CharField):
    """Caliper readings as a person writes them, one on a line: "outer diameter 28.5", in millimetres."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(widget=forms.Textarea(attrs={"rows": 3, "spellcheck": "false"}), required=False, **kwargs)

    def prepare_value(self, value: Any) -> Any:
        return sizes_written(value) if isinstance(value, dict) else value

    def clean(self, value: Any) -> Any:
        try:
            return sizes_read(str(super().clean(value)))
        except LevelwindError as refusal:
            raise ValidationError(f"{refusal}.") from None


class PartForm(SavingForm):
    kind = forms.ChoiceField(choices=kind_choices, required=False)
    cost_minor = MoneyField(label="what it costs us", required=False)
    price_minor = MoneyField(label="what we charge", required=False)
    sizes_mm = SizesField(label="sizes, mm", help_text="One on a line, such as: outer diameter 28.5")

    class Meta:
        model = Part
        fields = ["number", "name", "kind", "maker", "material", "sizes_mm", "spot", "keep_at_least"]
        fields += ["supplier", "days_to_come", "pack", "last_buy_years", "a_reel", "measure", "holds", "cut_off"]
        fields += ["cost_minor", "price_minor", "note"]
        labels = {
            "days_to_come": "days an order takes",
            "keep_at_least": "keep at least",
            "last_buy_years": "goes out of production: must last years",
        }
        field_classes = dict.fromkeys(("last_buy_years", "a_reel", "cut_off"), NumberField)
        widgets = {"note": forms.Textarea(attrs={"rows": 2})}

    def clean_cost_minor(self) -> int:
        return self.cleaned_data["cost_minor"] or 0

    def clean_price_minor(self) -> int:
        return self.cleaned_data["price_minor"] or 0


class NewPartForm(forms.Form):
    number = forms.CharField(max_length=40, label="part number")
    name = forms.CharField(max_length=120, label="what it is")
    kind = forms.ChoiceField(choices=kind_choices, required=False)
    spot = forms.CharField(max_length=40, required=False, label="where it lies")
    count = forms.IntegerField(min_value=0, max_value=MOST_AT_ONCE, initial=0, label="how many lie there")
    price_minor = MoneyField(label="what we charge", required=False)


class EntryForm(forms.Form):
    why = forms.ChoiceField(choices=WAYS, label="what happened")
    count = forms.IntegerField(min_value=0, max_value=MOST_AT_ONCE, label="how many")
    used = forms.BooleanField(required=False, label="second-hand")
    unit_cost_minor = MoneyField(label="what each cost", required=False, help_text="For parts bought.")
    note = forms.CharField(max_length=200, required=False)


class OrderForm(forms.Form):
    count = forms.IntegerField(min_value=1, max_value=MOST_AT_ONCE, initial=1, label="how many")
    supplier = forms.CharField(max_length=80, required=False)
    expected_on = forms.DateField(
        required=False, label="expected on", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )


class UseForm(forms.Form):
    """How much of a consumable a reel uses up; without an amount, nothing is said any more."""

    family = forms.ChoiceField(required=False, label="a reel of which kind")
    amount = NumberField(min_value=0, max_value=100_000, required=False, label="how much of it")
    prefix = "use"

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["family"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", "any reel"), *family_choices()]


class OfferForm(forms.Form):
    """Another supplier that has the part."""

    supplier = forms.CharField(max_length=80, label="who has it too")
    cost_minor = MoneyField(label="what it costs there")
    pack = forms.IntegerField(min_value=1, max_value=MOST_UNITS, required=False, label="sold in packs of")
    prefix = "offer"


class FitForm(forms.Form):
    """A part's fit in a place of one pattern; without a pattern there is no place to choose."""

    place = forms.ChoiceField(label="in which place")
    basis = forms.ChoiceField(choices=Fit.BASIS, initial="declared", label="because it is")
    said_by = forms.CharField(max_length=80, required=False, label="who says so")
    sure = forms.IntegerField(min_value=0, max_value=100, required=False, label="how sure, percent")
    serves = forms.ChoiceField(
        choices=[("yes", "it fits"), ("no", "it does not fit")], required=False, label="what is said"
    )

    def __init__(self, *args: Any, pattern: Pattern | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.pattern = pattern
        places = pattern_places(pattern) if pattern else ()
        field = self.fields["place"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(place.key, f"{place.name} ({place.assembly.lower()})") for place in places]


class ReplacesForm(forms.Form):
    """The part that this one is used instead of, by its number."""

    instead_of = forms.CharField(max_length=40, label="used instead of, by its number")
    said_by = forms.CharField(max_length=80, required=False, label="who says so")

    def clean_instead_of(self) -> Part:
        number = self.cleaned_data["instead_of"].strip()
        part = part_with_number(number)
        if part is None:
            raise ValidationError(f"There is no part {number} on the shelf. Add it first, with none lying there.")
        return part


class BoneForm(SavingForm):
    pattern = PatternField(required=False)
    paid_minor = MoneyField(label="what we paid", required=False)
    whole_minor = MoneyField(label="what it would bring mended, sold whole", required=False)
    shut_minor = MoneyField(label="what somebody gives for it as it is", required=False)

    class Meta:
        model = BoneReel
        fields = ["reel", "pattern", "spot", "paid_minor", "whole_minor", "shut_minor", "condition"]
        widgets = {"condition": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        pattern_offer(self, "pattern", none="not said")

    def clean_paid_minor(self) -> int:
        return self.cleaned_data["paid_minor"] or 0


class NewBoneForm(forms.Form):
    reel = forms.CharField(max_length=120, required=False, label="what reel it is")
    pattern = PatternField(required=False)
    condition = forms.CharField(
        required=False, label="how it is", widget=forms.Textarea(attrs={"rows": 2}), max_length=2000
    )
    spot = forms.CharField(max_length=40, required=False, label="where it lies")
    paid_minor = MoneyField(label="what we paid", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        pattern_offer(self, "pattern", none="not said")
