"""A force as a person types it, in the shop's unit or with its own; kept in newtons."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from levelwind.core.columns.cells import typed_number
from levelwind.core.errors import InputError
from levelwind.core.pull.options import LEAST_SCALE_N, MOST_SCALE_N
from levelwind.core.quantities import FORCE_UNITS, NEWTONS_PER, convert
from levelwind.core.writing import written
from levelwind.shop.people.selectors import shop_get


class ForceField(forms.CharField):
    """Cleaned to newtons; None where nothing was typed. ``anything``: how much is for others to judge."""

    def __init__(self, *, anything: bool = False, **kwargs: Any) -> None:
        self.anything = anything
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "class": "number"}))
        super().__init__(**kwargs)

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, float):
            return value
        return written(value / NEWTONS_PER[shop_get().force_unit], ".4g")

    def clean(self, value: Any) -> Any:
        text = str(super().clean(value)).strip()
        if not text:
            return None
        unit = shop_get().force_unit
        read = re.fullmatch(r"(-?[\d.,]{1,13})\s*([a-z]*)", text.lower())
        such = f"a number such as {written(12.5)} or {written(12.5)} {unit}"
        if read is None or (read[2] and read[2] not in FORCE_UNITS):
            raise ValidationError(f"The force can be {such}. It was “{text}”.")
        try:
            number = float(typed_number(read[1]))
        except InputError as refusal:
            raise ValidationError(f"The force can be {such}: {refusal.allowed}. It was “{text}”.") from None
        newtons = convert(number, NEWTONS_PER, FORCE_UNITS.get(read[2], unit))
        if not self.anything and not LEAST_SCALE_N <= newtons <= MOST_SCALE_N:
            most = f"{MOST_SCALE_N / NEWTONS_PER[unit]:.0f} {unit}"
            raise ValidationError(f"The force can be more than 0 and at most {most}. It was {text}.")
        return newtons
