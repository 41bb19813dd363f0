"""Django, for the few commands that need the shop's book."""

import os


def set_up() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "levelwind.project.settings")
    import django

    django.setup()


def bring_up_to_date() -> None:
    """The book's tables as this version wants them."""
    from django.core.management import call_command

    call_command("migrate", verbosity=0, interactive=False)
