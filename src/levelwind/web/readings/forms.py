"""What a person types, drops or films for a reading."""

from typing import Any

from django import forms

from levelwind.core.errors import InputError
from levelwind.core.spin.options import (
    FEWEST_BALLS,
    INSIDES,
    LEAST_BALL_MM,
    LEAST_PITCH_MM,
    MOST_BALL_MM,
    MOST_BALLS,
    MOST_MARKS,
    MOST_PITCH_MM,
    MOST_SLOWED,
)
from levelwind.shop.models import Pattern
from levelwind.shop.readings.selectors.options import options_joined
from levelwind.web.force_field import ForceField
from levelwind.web.forms import NumberField
from levelwind.web.readings.corrections import UNITS as SCALE_UNITS

UNITS = [("", "as the file says"), *SCALE_UNITS.items()]
TABLES = ".csv,.tsv,.txt,.xlsx"
RECORDINGS = f"video/*,audio/*,.mp4,.mov,.m4v,.webm,.wav,.m4a,.mp3,.ogg,.flac,{TABLES}"
NO_FILE = "No file came: choose one, then press the button."


class NumbersForm(forms.Form):
    breakaway_N = ForceField(label="breakaway, the peak as it lets go")
    running_N = ForceField(label="running, as it slips")


class WatchForm(forms.Form):
    spin_time_s = NumberField(label="seconds from flick to rest", min_value=0.01, max_value=600)


class EndFloatForm(forms.Form):
    end_float_mm = NumberField(label="end float of the spool, mm", min_value=0, max_value=20)


class TurnForm(forms.Form):
    """Two things that can be read at the bench, cleaned to the torque they make."""

    scale_N = ForceField(label="the scale as the handle turns")
    lever_mm = NumberField(label="from the knob to the handle’s axle, mm", min_value=5, max_value=300)

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        return {} if self.errors else {"torque_Nm": given["scale_N"] * given["lever_mm"] / 1000}


TYPED = {"pull": NumbersForm, "spin": WatchForm, "end_float": EndFloatForm, "turn": TurnForm}


class RecordingForm(forms.Form):
    """A file and what is known of it. An empty one, or one that is no recording, is kept: its reading says why."""

    recording = forms.FileField(
        label="the recording", allow_empty_file=True, error_messages={"required": NO_FILE, "missing": NO_FILE}
    )

    kind: str

    def said(self) -> dict[str, Any]:
        """By the names of the options class; what was left empty is left out."""
        raise NotImplementedError

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        for name, value in self.said().items():
            try:
                options_joined(self.kind, {}, {name: value})
            except InputError as refusal:
                field = next((each for each, words in INSIDES.items() if words == refusal.what), name)
                self.add_error(field if field in self.fields else None, f"{refusal}.")
        return given

    def _typed(self, *names: str) -> dict[str, Any]:
        given = {name: self.cleaned_data.get(name) for name in names}
        return {name: value for name, value in given.items() if value not in (None, "")}


def _number(low: float, high: float) -> forms.NumberInput:
    """What a browser may hold the person to; what counts, the options say."""
    return forms.NumberInput(attrs={"min": low, "max": high})


class SpinForm(RecordingForm):
    kind = "spin"
    marks = forms.IntegerField(label="marks or ticks a turn", widget=_number(1, MOST_MARKS), required=False)
    slowed = NumberField(label="times slower than life", widget=_number(1, MOST_SLOWED), required=False)
    balls = forms.IntegerField(label="balls", widget=_number(FEWEST_BALLS, MOST_BALLS), required=False)
    ball_mm = NumberField(label="a ball’s diameter, mm", widget=_number(LEAST_BALL_MM, MOST_BALL_MM), required=False)
    pitch_mm = NumberField(
        label="circle through the balls, mm", widget=_number(LEAST_PITCH_MM, MOST_PITCH_MM), required=False
    )

    @classmethod
    def known(cls, pattern: Pattern | None) -> dict[str, Any]:
        """The bearing the pattern book has, to begin with."""
        return {name: getattr(pattern, f"bearing_{name}") for name in INSIDES} if pattern else {}

    def said(self) -> dict[str, Any]:
        bearing = self._typed(*INSIDES)
        return self._typed("marks", "slowed") | ({"bearing": bearing} if bearing else {})


class PullForm(RecordingForm):
    kind = "pull"
    unit = forms.CharField(widget=forms.Select(choices=UNITS), label="its unit of force", required=False)
    capacity_N = ForceField(label="the most the scale can read", anything=True, required=False)

    def said(self) -> dict[str, Any]:
        return self._typed("unit", "capacity_N")
