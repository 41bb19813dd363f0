"""What can be typed of a pattern's places and steps."""

from collections.abc import Collection
from typing import Any

from django import forms

from levelwind.core.takedown import Step
from levelwind.core.takedown.model import MOST_MINUTES
from levelwind.reference.cautions import cautions
from levelwind.reference.families import CLEANINGS, DIMENSIONS, HAZARDS, KINDS, RENEWALS, Family, FamilyPlace
from levelwind.web.forms import NumberField

IN_WORDS = [(kind, kind.replace("_", " ")) for kind in KINDS]
HAZARD_WORDS = {"none": "none", "spring": "a spring under load", "clip": "a clip that flies", "sharp": "a sharp edge"}


class TicksField(forms.MultipleChoiceField):
    """Any of a list, each with its box."""

    widget = forms.CheckboxSelectMultiple

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(required=False, **kwargs)


class WhatForm(forms.Form):
    """What a place is. Its key is given once and stays, whatever it comes to be called."""

    name = forms.CharField(max_length=120, label="what it is called")
    kind = forms.ChoiceField(choices=IN_WORDS)
    group = forms.ChoiceField(label="worked on with")
    count = forms.IntegerField(min_value=1, max_value=200, label="how many")
    hazard = forms.ChoiceField(choices=[(key, HAZARD_WORDS[key]) for key in HAZARDS], label="danger as it comes out")
    renew = forms.ChoiceField(choices=[(word, word) for word in RENEWALS], label="renewed")
    cleaning = forms.ChoiceField(choices=[(word, word) for word in CLEANINGS], label="cleaned by")
    measure = TicksField(choices=[(word, word) for word in DIMENSIONS], label="in doubt, measure")
    look_alikes = TicksField(label="can be mistaken for")

    def __init__(self, *args: Any, kin: Family, place: FamilyPlace | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: Any = self.fields
        fields["group"].choices = [(group.key, group.name) for group in kin.assemblies]
        fields["look_alikes"].choices = [(other.key, other.name) for other in kin.places if other != place]
        if place is not None:
            self.initial = {name: getattr(place, name) for name in self.fields if hasattr(place, name)}
            self.initial["cleaning"] = place.clean
            self.initial["look_alikes"] = [other.key for other in kin.places if other.key in place.look_alikes]

    def said(self) -> dict[str, Any]:
        """What was typed, in a place's own words."""
        return {**self.cleaned_data, "clean": self.cleaned_data["cleaning"]}


class NewPlaceForm(WhatForm):
    """A place of the pattern's own, and the step it comes off in: one that is there, or one of its own behind it."""

    field_order = ["name", "kind", "count", "group", "step", "do", "tool", "minutes"]
    step = forms.ChoiceField(label="comes off with, or behind, the step")
    do = forms.CharField(max_length=400, required=False, label="what is done, if it is a step of its own")
    tool = forms.CharField(max_length=120, required=False)
    minutes = NumberField(min_value=0, max_value=MOST_MINUTES, required=False)

    def __init__(self, *args: Any, kin: Family, **kwargs: Any) -> None:
        super().__init__(*args, kin=kin, **kwargs)
        fields: Any = self.fields
        fields["step"].choices = [(step.key, step.do) for step in kin.rules.steps]
        self.initial = {"count": 1, "hazard": "none", "renew": "rarely", "cleaning": "solvent wipe", "minutes": 0.3}


class StepForm(forms.Form):
    """One step of the takedown. What is enough either way is ticked way by way; one way more can always be ticked."""

    do = forms.CharField(max_length=400, widget=forms.Textarea(attrs={"rows": 2}), label="what is done")
    tool = forms.CharField(max_length=120, required=False)
    minutes = NumberField(min_value=0, max_value=MOST_MINUTES, label="minutes, if nothing sticks")
    cautions = TicksField(label="cautions ahead of it")
    frees = TicksField(label="what comes off")
    after = TicksField(label="what must be off before it")
    photo = forms.CharField(max_length=200, required=False, label="what a photo should show")
    back = forms.CharField(max_length=300, required=False, label="a word for the way back")
    gates_out = TicksField(label="questions to take out")
    gate_ask = forms.CharField(max_length=300, required=False, label="one more question of the rebuild")
    gate_why = forms.CharField(max_length=300, required=False, label="why it is asked")
    gate_ahead = forms.BooleanField(required=False, label="asked before the step, not after it")

    def __init__(self, *args: Any, kin: Family, step: Step | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: Any = self.fields
        places = [(place.key, place.name) for place in kin.places]
        fields["cautions"].choices = [(key, caution.headline) for key, caution in cautions().items()]
        fields["frees"].choices = _chosen_first(places, step.frees if step else ())
        fields["after"].choices = _chosen_first(places, step.after if step else ())
        either = [sorted(way) for way in step.after_any] if step else []
        for number in range(max(2, len(either) + 1)):
            words = "either these are enough" if not number else "or these are enough"
            fields[f"way_{number}"] = TicksField(
                label=words,
                choices=_chosen_first(places, either[number] if number < len(either) else ()),
                initial=either[number] if number < len(either) else [],
            )
        fields["gates_out"].choices = [(gate.key, gate.ask) for gate in step.gates] if step else []
        if step is not None:
            self.initial = {name: getattr(step, name) for name in self.fields if hasattr(step, name)}
            self.initial |= {name: list(getattr(step, name)) for name in ("cautions", "frees", "after")}

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        if given.get("gate_ask") and not given.get("gate_why"):
            self.add_error("gate_why", "Enter why it is asked: a question without a reason is ticked without reading.")
        given["after_any"] = [given[name] for name in given if name.startswith("way_") and given[name]]
        if len(given["after_any"]) == 1:
            self.add_error("way_0", "One way alone is no choice: tick it under “what must be off before it”.")
        return given

    def ways(self) -> list[forms.BoundField]:
        """One list to tick for each way that is enough by itself."""
        return [field for field in self if field.name.startswith("way_")]


def _chosen_first(places: list[tuple[str, str]], chosen: Collection[str]) -> list[tuple[str, str]]:
    return sorted(places, key=lambda place: place[0] not in chosen)
