"""The forms of the counter."""

import re
from decimal import Decimal
from typing import Any

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError

from levelwind.core.errors import InputError
from levelwind.core.writing import written
from levelwind.documents.money import Currency
from levelwind.shop.models import Owner, Shop
from levelwind.shop.people.selectors import owner_namesakes
from levelwind.web.force_field import ForceField
from levelwind.web.forms import DecimalField, MoneyField, SavingForm
from levelwind.web.pages import spoken

LONGEST_TEXT = 4000
MOST_PERCENT = 100
RATE = re.compile(r"(?P<name>.{1,40}?)\s+(?P<percent>\d{1,3}([.,]\d{1,2})?)\s*%?")
"""A name, and a percent with two figures after the point at most, as the book holds."""


def text_field(label: str, note: str = "", rows: int = 3) -> forms.CharField:
    widget = forms.Textarea(attrs={"rows": rows})
    return forms.CharField(label=label, help_text=note, required=False, max_length=LONGEST_TEXT, widget=widget)


class OwnerForm(SavingForm):
    address = text_field("address")
    note = text_field("note", "Read at the counter, never printed.")

    class Meta:
        model = Owner
        fields = ["name", "email", "phone", "address", "note"]
        labels = {"email": "e-mail"}


class NewOwnerForm(forms.ModelForm):  # type: ignore[type-arg]
    """An owner's name is enough to begin with."""

    class Meta:
        model = Owner
        fields = ["name"]
        labels = {"name": "name of the new owner"}
        widgets = {"name": forms.TextInput(attrs={"autocomplete": "off"})}

    def clean_name(self) -> Any:
        name = self.cleaned_data["name"]
        if owner_namesakes(name):
            raise ValidationError("An owner of this name is in the book. If these are two, add what tells them apart.")
        return name


class RatesField(forms.CharField):
    """Rates of tax as a person writes them, one a line; cleaned to pairs of name and percent."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(widget=forms.Textarea(attrs={"rows": 2}), max_length=400, **kwargs)

    def prepare_value(self, value: Any) -> Any:
        return (
            "\n".join(f"{name} {written(percent, '')}" for name, percent in value) if isinstance(value, list) else value
        )

    def clean(self, value: Any) -> list[list[str]]:
        rates = []
        for line in filter(str.strip, str(super().clean(value) or "").splitlines()):
            found = RATE.fullmatch(line.strip())
            percent = found["percent"].replace(",", ".") if found else "0"
            if found is None or not 0 < Decimal(percent) <= MOST_PERCENT:
                such = f"Reduced {written(2.5)}"
                raise ValidationError(f"A rate is a name and a percent, as in {such}. It was “{line.strip()}”.")
            rates.append([found["name"], percent])
        return rates


class FirstShopForm(SavingForm):
    """What a new shop says of itself before its first reel: the rest has sound defaults and waits on its own page."""

    address = text_field("address", "As it stands on your papers.")
    hour_minor = MoneyField(label="an hour of work")
    tax_percent = DecimalField(label="tax, percent", min_value=0, max_value=100, max_digits=5, decimal_places=2)

    class Meta:
        model = Shop
        fields = ["name", "address", "phone", "email", "paper", "hour_minor", "currency_code", "currency_symbol"]
        fields += ["tax_label", "tax_percent", "tax_included", "force_unit", "numbers_written", "days_written"]
        labels = {
            "name": "name of the shop",
            "email": "e-mail",
            "tax_label": "name of the tax",
            "tax_included": "prices include the tax",
            "currency_code": "currency",
            "currency_symbol": "its sign",
            "currency_decimals": "decimal places",
            "force_unit": "forces in",
        }
        help_texts = {
            "guarantee_days": "From the day it goes home; none with 0. A comeback within them is not charged.",
            "currency_code": "Three letters, such as USD.",
            "currency_decimals": "Set this before the first price: sums already in the book keep their smallest coins.",
        }
        error_messages = {"name": {"required": "Enter the name of the shop: every paper begins with it."}}

    def clean_currency_code(self) -> str:
        return _currency(str(self.cleaned_data["currency_code"]).upper(), 2).code


class ShopForm(FirstShopForm):
    guarantee = text_field("guarantee", "Printed on the bill. The local rules decide, whatever is printed.")
    how_to_pay = text_field("how to pay", "Printed on the bill.")
    no_fee_minor = MoneyField(
        label="for the looking, after a no", help_text="Billed where the owner says no. Printed on the price."
    )
    no_post_minor = MoneyField(label="for the way back, after a no", help_text="Of what came by post.")
    other_rates = RatesField(
        label="other rates of tax",
        help_text="One a line, its name and its percent: Reduced tax 2.5. A line of a bill can have one of them.",
        required=False,
    )
    scale_most_N = ForceField(
        label="the most the hanging scale can read",
        help_text="In the shop’s unit, or with its own: 50 kg, 110 lb. A pull that comes near it may be cut off there.",
        required=False,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not settings.PUBLIC:
            self.fields["owner_links"].disabled = True
            self.fields[
                "owner_links"
            ].help_text = (
                "Needs a public address behind your own proxy with TLS. Without one a letter has a line to answer by."
            )

    class Meta(FirstShopForm.Meta):
        fields = [
            *FirstShopForm.Meta.fields,
            "tax_number",
            "other_rates",
            "currency_decimals",
            "ask_again_days",
            "service_months",
            "service_months_salt",
            "service_hours",
            "owner_links",
        ]
        fields += ["no_fee_minor", "no_post_minor", "scale_most_N", "guarantee", "guarantee_days", "how_to_pay"]

    def clean_currency_decimals(self) -> int:
        return _currency("XXX", int(self.cleaned_data["currency_decimals"])).decimals


def _currency(code: str, decimals: int) -> Currency:
    try:
        return Currency(code, "", decimals)
    except InputError as refusal:
        raise ValidationError(spoken(refusal)) from None
