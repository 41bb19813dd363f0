"""What can be typed in the pattern book."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from levelwind.shop.models import Fit, Part, Pattern
from levelwind.shop.selectors.patterns import family_names
from levelwind.web.forms import SavingForm

FIRST_YEAR, LAST_YEAR = 1750, 2200


class PatternForm(SavingForm):
    class Meta:
        model = Pattern
        fields = ["maker", "model", "size", "year_from", "year_to", "gear_ratio", "spool_arbor_mm", "spool_flange_mm"]
        fields += ["spool_width_mm", "end_float_low_mm", "end_float_high_mm", "note"]
        labels = {
            "year_from": "made from",
            "year_to": "made until",
            "gear_ratio": "gear ratio, to 1",
            "end_float_low_mm": "end float at least, mm",
            "end_float_high_mm": "end float at most, mm",
        }
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}

    def clean_year_from(self) -> int | None:
        return self._year("year_from")

    def clean_year_to(self) -> int | None:
        return self._year("year_to")

    def clean_end_float_low_mm(self) -> float | None:
        return self._float("end_float_low_mm")

    def clean_end_float_high_mm(self) -> float | None:
        return self._float("end_float_high_mm")

    def clean(self) -> dict[str, Any]:
        """Pairs that must stand in order; both are refused, so that neither is saved without the other."""
        given = super().clean() or self.cleaned_data
        self._in_order("year_from", "year_to", "“Made until” was {high}; allowed is {low} or later.")
        self._in_order(
            "spool_arbor_mm", "spool_flange_mm", "The flange was {high} mm; allowed is over the arbor’s {low}."
        )
        self._in_order("end_float_low_mm", "end_float_high_mm", "The most was {high} mm; allowed is {low} or more.")
        return given

    def _in_order(self, low: str, high: str, words: str) -> None:
        small, large = self.cleaned_data.get(low), self.cleaned_data.get(high)
        strictly = low == "spool_arbor_mm"
        if small is not None and large is not None and (large < small or (strictly and large == small)):
            for name in (low, high):
                self.add_error(name, words.format(low=f"{small:g}", high=f"{large:g}"))

    def _year(self, name: str) -> int | None:
        year: int | None = self.cleaned_data[name]
        if year is not None and not FIRST_YEAR <= year <= LAST_YEAR:
            raise ValidationError(f"The year was {year}; allowed is {FIRST_YEAR} to {LAST_YEAR}.")
        return year

    def _float(self, name: str) -> float | None:
        value: float | None = self.cleaned_data[name]
        if value is not None and not 0 <= value <= 10:
            raise ValidationError(f"The end float was {value:g} mm; allowed is 0 to 10 mm.")
        return value


class NewPatternForm(forms.Form):
    maker = forms.CharField(max_length=60)
    model = forms.CharField(max_length=60)
    size = forms.CharField(max_length=30, required=False)
    family_key = forms.ChoiceField(choices=family_names, label="built like a")


class PlaceForm(forms.Form):
    """How one place of a pattern differs from its family's."""

    part_number = forms.CharField(max_length=40, required=False, label="part number")
    count = forms.IntegerField(min_value=1, max_value=200, required=False, label="how many")
    absent = forms.BooleanField(required=False, label="this pattern has none")


class PlaceFitForm(forms.Form):
    """A part of the shelf that serves the place, by its number."""

    part = forms.CharField(max_length=40, label="a part that fits, by its number")
    basis = forms.ChoiceField(choices=Fit.BASIS, initial="declared", label="because it is")
    said_by = forms.CharField(max_length=80, required=False, label="who says so")

    def clean_part(self) -> Part:
        number: Any = self.cleaned_data["part"].strip()
        part = Part.objects.filter(number__iexact=number).first()
        if part is None:
            raise ValidationError(f"There is no part {number} on the shelf. Add it there first, with none lying there.")
        return part
