"""What can be typed in the pattern book."""

from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from levelwind.core.errors import InputError
from levelwind.core.fits import length
from levelwind.core.spin.options import (
    FEWEST_BALLS,
    LEAST_BALL_MM,
    LEAST_PITCH_MM,
    MOST_BALL_MM,
    MOST_BALLS,
    MOST_MARKS,
    MOST_PITCH_MM,
    PITCH_OVER_BALL,
)
from levelwind.core.writing import written
from levelwind.reference.builds import shipped_builds
from levelwind.shop.models import Build, Fit, Part, Pattern
from levelwind.shop.parts.selectors.shelf import part_with_number
from levelwind.shop.patterns.selectors.patterns import family_names
from levelwind.shop.patterns.selectors.picking import Offered
from levelwind.web.forms import NumberField, SavingForm
from levelwind.web.pages import spoken
from levelwind.web.pattern_pick import PatternField, pattern_offer

ALLOWED = {
    "year_from": ("year", 1750, 2200, ""),
    "year_to": ("year", 1750, 2200, ""),
    "end_float_low_mm": ("end float", 0, 10, "mm"),
    "end_float_high_mm": ("end float", 0, 10, "mm"),
    "turn_most_Nm": ("handle torque", 0.001, 20, "N m"),
    "ticks_a_turn": ("count of clicks", 1, MOST_MARKS, ""),
    "bearing_balls": ("count of balls", FEWEST_BALLS, MOST_BALLS, ""),
    "bearing_ball_mm": ("ball diameter", LEAST_BALL_MM, MOST_BALL_MM, "mm"),
    "bearing_pitch_mm": ("pitch diameter", LEAST_PITCH_MM, MOST_PITCH_MM, "mm"),
}
"""What each number is, and the least and the most of it a reel can have: judgements, no source."""


@dataclass(frozen=True, slots=True)
class Within:
    """Refuses a number outside its range, in a sentence."""

    what: str
    low: float
    high: float
    unit: str

    def __call__(self, value: float) -> None:
        if not self.low <= value <= self.high:
            unit = f" {self.unit}" if self.unit else ""
            allowed = f"{written(self.low)} to {written(self.high)}{unit}"
            raise ValidationError(f"The {self.what} can be {allowed}. It was {written(value)}{unit}.")


DECIMALS = (
    *("gear_ratio", "spool_arbor_mm", "spool_flange_mm", "spool_width_mm"),
    *("end_float_low_mm", "end_float_high_mm", "turn_most_Nm", "bearing_ball_mm", "bearing_pitch_mm"),
)


class PatternForm(SavingForm):
    like = PatternField(required=False, label="as this pattern, except")

    class Meta:
        model = Pattern
        fields = ["maker", "model", "size", "year_from", "year_to", "gear_ratio", "spool_arbor_mm", "spool_flange_mm"]
        fields += ["spool_width_mm", "end_float_low_mm", "end_float_high_mm", "turn_most_Nm", "ticks_a_turn"]
        fields += ["bearing_balls", "bearing_ball_mm", "bearing_pitch_mm", "note", "like"]
        labels = {
            "year_from": "made from",
            "year_to": "made until",
            "gear_ratio": "gear ratio, to 1",
            "end_float_low_mm": "end float at least, mm",
            "end_float_high_mm": "end float at most, mm",
            "turn_most_Nm": "handle torque at most, N m",
            "ticks_a_turn": "clicks in one turn of the spool",
            "bearing_balls": "spool bearing, how many balls",
            "bearing_ball_mm": "diameter of a ball, mm",
            "bearing_pitch_mm": "pitch diameter, mm",
        }
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}
        field_classes = dict.fromkeys(DECIMALS, NumberField)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        pattern_offer(
            self, "like", Offered(self.instance.family, (self.instance.pk or 0,), retired_too=True), none="not said"
        )
        for name, (what, low, high, unit) in ALLOWED.items():
            self.fields[name].validators.append(Within(what, low, high, unit))

    def clean(self) -> dict[str, Any]:
        """Pairs that must stand in order; both are refused, so that neither is saved without the other."""
        given = super().clean() or self.cleaned_data
        self._in_order("year_from", "year_to", "“Made until” can be {low} or later. It was {high}.")
        self._in_order(
            "spool_arbor_mm",
            "spool_flange_mm",
            "The flange can be over the arbor’s {low} mm. It was {high}.",
        )
        self._in_order("end_float_low_mm", "end_float_high_mm", "The most can be {low} mm or more. It was {high} mm.")
        self._in_order(
            "bearing_ball_mm",
            "bearing_pitch_mm",
            "The pitch diameter can be over 1.2 times the ball’s {low} mm. It was {high} mm.",
            times=PITCH_OVER_BALL,
        )
        return given

    def _in_order(self, low: str, high: str, words: str, times: float = 1.0) -> None:
        small, large = self.cleaned_data.get(low), self.cleaned_data.get(high)
        strictly = low in ("spool_arbor_mm", "bearing_ball_mm")
        if small is not None and large is not None and (large < small * times or (strictly and large == small * times)):
            for name in (low, high):
                self.add_error(name, words.format(low=written(small), high=written(large)))


class BuildForm(forms.Form):
    """What is known of one build of a pattern."""

    name = forms.CharField(max_length=60, label="what it is called")
    year_from = forms.IntegerField(min_value=1750, max_value=2200, required=False, label="made from")
    year_to = forms.IntegerField(min_value=1750, max_value=2200, required=False, label="made until")
    serial_from = forms.CharField(max_length=60, required=False, label="serial number from")
    serial_to = forms.CharField(max_length=60, required=False, label="serial number to")
    gear_ratio = NumberField(min_value=0.5, max_value=12, required=False, label="gear ratio, to 1, if another")
    built_as = forms.MultipleChoiceField(required=False, widget=forms.CheckboxSelectMultiple, label="built with")
    note = forms.CharField(max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, build: Build, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: Any = self.fields
        fields["built_as"].choices = [(b.key, b.name) for b in shipped_builds(build.pattern.family).values()]
        self.initial = {name: getattr(build, name) for name in fields}


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
    otherwise = forms.BooleanField(required=False)

    def __init__(self, *args: Any, pattern: Pattern, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if pattern.like is None:
            del self.fields["otherwise"]
        else:
            self.fields["otherwise"].label = f"another than in the {pattern.like}"


class LengthField(forms.CharField):
    """A length as it is thought of: 2.3, 9/32, .112; in mm once read."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(required=False, max_length=40, **kwargs)

    def prepare_value(self, value: Any) -> Any:
        return written(value) if isinstance(value, float) else value

    def clean(self, value: Any) -> Any:
        typed = super().clean(value)
        try:
            return length(typed, "size").value_mm if typed.strip() else None
        except InputError as error:
            raise ValidationError(spoken(error)) from error


class LimitForm(forms.Form):
    """How far one dimension of a piece may be worn."""

    new_mm = LengthField(label="as new")
    least_mm = LengthField(label="renew under")
    most_mm = LengthField(label="renew over")
    source = forms.CharField(max_length=120, required=False, label="whose limit it is")


class PlaceFitForm(forms.Form):
    """A part of the shelf that serves the place, by its number."""

    part = forms.CharField(max_length=40, label="a part that fits, by its number")
    basis = forms.ChoiceField(choices=Fit.BASIS, initial="declared", label="because it is")
    said_by = forms.CharField(max_length=80, required=False, label="who says so")

    def clean_part(self) -> Part:
        number: Any = self.cleaned_data["part"].strip()
        part = part_with_number(number)
        if part is None:
            raise ValidationError(f"There is no part {number} on the shelf. Add it there first, with none lying there.")
        return part


class MergeForm(forms.Form):
    """The pattern that another one is the same as."""

    into = PatternField(label="the other one", error_messages={"required": "Choose the pattern from the list."})

    def __init__(self, *args: Any, pattern: Pattern, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        pattern_offer(self, "into", Offered(pattern.family, (pattern.pk,)), none="Choose one")


def merge_form(pattern: Pattern) -> MergeForm | None:
    """None where there is no other one of its family, or it is retired."""
    others = Offered(pattern.family, (pattern.pk,)).rows
    return MergeForm(pattern=pattern) if not pattern.retired_on and others.exists() else None
