from django import forms
from django.apps import AppConfig
from django.core import validators

REQUIRED = "Fill this in."
NOT_IN_LIST = "“%(value)s” is not in this list: choose one that is."
AT_LEAST = "This can be %(limit_value)s or more."
AT_MOST = "This can be %(limit_value)s at most."
TOO_LONG = "This can have %(limit_value)d letters at most. It has %(show_value)d."


class WebConfig(AppConfig):
    name = "levelwind.web"
    verbose_name = "Pages"

    def ready(self) -> None:
        """What a field says where no form has words of its own: Django's sentences speak to who writes the program."""
        forms.Field.default_error_messages = forms.Field.default_error_messages | {"required": REQUIRED}
        for choice in (forms.ChoiceField, forms.ModelChoiceField):
            choice.default_error_messages = choice.default_error_messages | {"invalid_choice": NOT_IN_LIST}
        validators.MinValueValidator.message = AT_LEAST
        validators.MaxValueValidator.message = AT_MOST
        validators.MaxLengthValidator.message = TOO_LONG
