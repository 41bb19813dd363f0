from django.apps import AppConfig


class WebConfig(AppConfig):
    name = "levelwind.web"
    verbose_name = "Pages"
