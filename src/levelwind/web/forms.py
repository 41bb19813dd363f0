"""Forms that save as you go: every field is compared with what it was when its page was drawn."""

from collections.abc import Mapping
from copy import copy
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.forms.models import construct_instance

from levelwind.core.columns.cells import typed_number
from levelwind.core.errors import InputError
from levelwind.core.writing import written
from levelwind.shop.editing import fields_save
from levelwind.shop.people.selectors import shop_get


def saved_meanwhile(theirs: str) -> str:
    """The one sentence that says somebody else's change came between; ``theirs`` is what stands in the book now."""
    return (
        f"Somebody saved {theirs} here while this page was open. Yours is still in the box and not saved: "
        "save again to put yours in its place, or load the page again to take theirs."
    )


class MoneyField(forms.CharField):
    """A sum as a person writes it ("12.50", "$1,250"), cleaned to whole minor units. Never negative."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "class": "number"}))
        super().__init__(**kwargs)

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, int):
            return value
        decimals = shop_get().currency_decimals
        return written(Decimal(value).scaleb(-decimals), f".{decimals}f")

    def clean(self, value: Any) -> Any:
        text = str(super().clean(value)).replace(shop_get().currency_symbol, "").strip()
        if not text:
            return None
        decimals = shop_get().currency_decimals
        try:
            minor = typed_number(text, grouped=True).scaleb(decimals)
        except InputError:
            raise ValidationError(
                f"The sum can be a number such as {written('12.50', '')}. It was “{value}”."
            ) from None
        if minor < 0 or minor > 10**12:
            raise ValidationError(f"The sum can be 0 or more. It was {value}.")
        if minor != minor.to_integral_value():
            raise ValidationError(f"The sum can have {decimals} decimal places. It was {value}.")
        return int(minor)


class _TypedNumber(forms.Field):
    """A number as the shop writes it, read with a point or a comma. What is no number is for the field to refuse."""

    def prepare_value(self, value: Any) -> Any:
        return written(value, "") if isinstance(value, float | Decimal) else value

    def to_python(self, value: Any) -> Any:
        if not isinstance(value, str) or not value.strip():
            return super().to_python(value)
        try:
            value = str(typed_number(value))
        except InputError as refusal:
            if "," in value or "." in value:
                raise ValidationError(f"Enter a number: {refusal.allowed}.") from None
        return super().to_python(value)


class NumberField(_TypedNumber, forms.FloatField):
    """Cleaned to a float."""


class DecimalField(_TypedNumber, forms.DecimalField):
    """Cleaned to a Decimal."""


class SavingForm(forms.ModelForm):  # type: ignore[type-arg]
    """A form over one saved row. ``save_as_you_go`` writes what changed and is valid, and keeps the rest as typed."""

    def _post_clean(self) -> None:
        """Judge each field by its model, on a copy: the row itself changes only as far as the service writes it.

        Constraints over several fields are judged by the service, on what will stand in the book, not on the page.
        """
        trial = copy(self.instance)
        construct_instance(self, trial, self.fields)
        try:
            trial.clean_fields(exclude=self._get_validation_exclusions())  # type: ignore[attr-defined]
        except ValidationError as refusal:
            self._update_errors(refusal)  # type: ignore[attr-defined]

    def was_name(self, name: str) -> str:
        return f"was-{self.add_prefix(name)}"

    def as_text(self, name: str, value: Any) -> str:
        """A field's value as its page sends it back."""
        field = self.fields[name]
        if isinstance(field.widget, forms.CheckboxInput):
            return "on" if value else ""
        shown = field.widget.format_value(field.prepare_value(value))
        if isinstance(shown, list | tuple):
            shown = ",".join(str(item) for item in shown)
        return "" if shown is None else str(shown).replace("\r\n", "\n")

    def was_text(self, name: str) -> str:
        """What the book holds now: drawn beside the field, and compared with when it comes back."""
        return self.as_text(name, self.get_initial_for_field(self.fields[name], name))

    def save_as_you_go(self) -> bool:
        """Write the changed, valid fields; True when nothing stands in the way of any."""
        self.full_clean()
        was: dict[str, Any] = {}
        now: dict[str, Any] = {}
        for name in self.cleaned_data:
            if isinstance(self.fields[name], forms.FileField) or self.was_name(name) not in self.data:
                continue
            was_text = self.data[self.was_name(name)].replace("\r\n", "\n")
            if self.as_text(name, self[name].data) != was_text:
                now[name], was[name] = self.cleaned_data[name], self._cleaned_was(name, was_text)
        if self.non_field_errors():
            return False
        for name, value in self.moved_along(now).items():
            now[name], was[name] = value, getattr(self.instance, name)
        try:
            saved = fields_save(instance=self.instance, was=was, now=now)
        except ValidationError as refusal:
            self._update_errors(refusal)  # type: ignore[attr-defined]
            return False
        self.initial.update({name: self._from_instance(name) for name in now})
        self.say_clashes(saved.clashes)
        return not self.errors

    def moved_along(self, now: Mapping[str, Any]) -> Mapping[str, Any]:
        """Fields that must follow those just typed, such as a highest sum that a likely one has overtaken."""
        return {}

    def _cleaned_was(self, name: str, text: str) -> Any:
        """What the page was drawn from: the stored value itself while it still reads the same, for text rounds."""
        stored = getattr(self.instance, name)
        if self.as_text(name, self._from_instance(name)) == text:
            return stored
        try:
            return self.fields[name].clean(text)
        except ValidationError:
            return None

    def _from_instance(self, name: str) -> Any:
        value = getattr(self.instance, name)
        return value.pk if isinstance(value, models.Model) else value

    def say_clashes(self, clashes: Mapping[str, Any]) -> None:
        for name, theirs in clashes.items():
            shown = self.as_text(name, theirs.pk if isinstance(theirs, models.Model) else theirs) or "nothing"
            self.add_error(name, saved_meanwhile(f"“{shown}”"))
