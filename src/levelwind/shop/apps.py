from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_migrate


class ShopConfig(AppConfig):
    name = "levelwind.shop"
    verbose_name = "The shop's book"

    def ready(self) -> None:
        from levelwind.shop.finding.kept import findings_keep, findings_let_go
        from levelwind.shop.history import listen
        from levelwind.shop.sums import sums_keep, sums_let_go

        pre_migrate.connect(findings_let_go, sender=self)
        post_migrate.connect(findings_keep, sender=self)
        pre_migrate.connect(sums_let_go, sender=self)
        post_migrate.connect(sums_keep, sender=self)
        listen()
