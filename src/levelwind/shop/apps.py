from django.apps import AppConfig


class ShopConfig(AppConfig):
    name = "levelwind.shop"
    verbose_name = "The shop's book"
