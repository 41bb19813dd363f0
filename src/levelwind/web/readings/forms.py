"""What a person types or drops for a reading."""

from django import forms

from levelwind.web.force_field import ForceField

UNITS = [("auto", "as the file says"), ("N", "N"), ("kgf", "kg"), ("lbf", "lb"), ("ozf", "oz")]


class PullForm(forms.Form):
    breakaway_N = ForceField(label="breakaway, the peak as it lets go")
    running_N = ForceField(label="running, as it slips")


class SpinForm(forms.Form):
    spin_time_s = forms.FloatField(label="seconds from flick to rest", min_value=0.01, max_value=600)


class EndFloatForm(forms.Form):
    end_float_mm = forms.FloatField(label="end float of the spool, mm", min_value=0, max_value=20)


class TurnForm(forms.Form):
    torque_Nm = forms.FloatField(label="torque to turn the handle, N m", min_value=0.001, max_value=20)


class LogForm(forms.Form):
    log = forms.FileField(
        label="the scale's log",
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.tsv,.txt,.xlsx"}),
        max_length=200,
    )
    unit = forms.ChoiceField(choices=UNITS, label="its unit of force", initial="auto", required=False)


TYPED = {"pull": PullForm, "spin": SpinForm, "end_float": EndFloatForm, "turn": TurnForm}
