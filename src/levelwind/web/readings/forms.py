"""What a person types, drops or films for a reading."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from levelwind.recordings.spin_file import MOST_MARKS, MOST_SLOWED
from levelwind.shop.models import Pattern
from levelwind.web.force_field import ForceField
from levelwind.web.readings.corrections import UNITS as SCALE_UNITS

UNITS = [("", "as the file says"), *SCALE_UNITS.items()]
TABLES = ".csv,.tsv,.txt,.xlsx"
RECORDINGS = f"video/*,audio/*,.mp4,.mov,.m4v,.webm,.wav,.m4a,.mp3,.ogg,.flac,{TABLES}"
NO_FILE = "No file came: choose one, then press the button."


class NumbersForm(forms.Form):
    breakaway_N = ForceField(label="breakaway, the peak as it lets go")
    running_N = ForceField(label="running, as it slips")


class WatchForm(forms.Form):
    spin_time_s = forms.FloatField(label="seconds from flick to rest", min_value=0.01, max_value=600)


class EndFloatForm(forms.Form):
    end_float_mm = forms.FloatField(label="end float of the spool, mm", min_value=0, max_value=20)


class TurnForm(forms.Form):
    """Two things that can be read at the bench, cleaned to the torque they make."""

    scale_N = ForceField(label="the scale as the handle turns")
    lever_mm = forms.FloatField(label="from the knob to the handle’s axle, mm", min_value=5, max_value=300)

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        return {} if self.errors else {"torque_Nm": given["scale_N"] * given["lever_mm"] / 1000}


TYPED = {"pull": NumbersForm, "spin": WatchForm, "end_float": EndFloatForm, "turn": TurnForm}


class RecordingForm(forms.Form):
    """A file and what is known of it. An empty one, or one that is no recording, is kept: its reading says why."""

    recording = forms.FileField(
        label="the recording", allow_empty_file=True, error_messages={"required": NO_FILE, "missing": NO_FILE}
    )

    def told(self) -> dict[str, Any]:
        """What the person said, by the keys of ``Reading.told``; what was left empty is left out."""
        raise NotImplementedError


class SpinForm(RecordingForm):
    marks = forms.IntegerField(label="marks or ticks a turn", min_value=1, max_value=MOST_MARKS, required=False)
    slowed = forms.FloatField(label="times slower than life", min_value=1, max_value=MOST_SLOWED, required=False)
    balls = forms.IntegerField(label="balls", min_value=3, max_value=60, required=False)
    ball_mm = forms.FloatField(label="a ball’s diameter, mm", min_value=0.1, max_value=50, required=False)
    pitch_mm = forms.FloatField(label="circle through the balls, mm", min_value=0.5, max_value=500, required=False)

    @classmethod
    def known(cls, pattern: Pattern | None) -> dict[str, Any]:
        """The bearing the pattern book has, to begin with."""
        if pattern is None:
            return {}
        return {name: getattr(pattern, f"bearing_{name}") for name in ("balls", "ball_mm", "pitch_mm")}

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        bearing = [given.get(name) for name in ("balls", "ball_mm", "pitch_mm")]
        if any(bearing) and not all(bearing) and not self.errors:
            raise ValidationError("The bearing needs all three: how many balls, a ball’s diameter and the circle.")
        if all(bearing) and given["ball_mm"] >= given["pitch_mm"]:
            small, large = given["ball_mm"], given["pitch_mm"]
            self.add_error("ball_mm", f"The ball was {small:g} mm; allowed is less than the circle’s {large:g} mm.")
        return given

    def told(self) -> dict[str, Any]:
        given = self.cleaned_data
        said = {name: given[name] for name in ("marks", "slowed") if given[name]}
        bearing = {name: given[name] for name in ("balls", "ball_mm", "pitch_mm") if given[name]}
        return said | ({"bearing": bearing} if bearing else {})


class PullForm(RecordingForm):
    unit = forms.ChoiceField(choices=UNITS, label="its unit of force", required=False)
    capacity_N = ForceField(label="the most the scale can read", required=False)

    def told(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in ("unit", "capacity_N") if self.cleaned_data[name]}
