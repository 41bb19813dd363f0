"""Django, for the few commands that need the shop's book."""

import os

from levelwind.core.errors import LevelwindError


def set_up() -> None:
    """Raises LevelwindError, in a sentence, where the settings in the environment cannot be."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "levelwind.project.settings")
    import django
    from django.core.exceptions import ImproperlyConfigured

    try:
        django.setup()
    except ImproperlyConfigured as error:
        if "psycopg" in str(error):
            missing = (
                "PostgreSQL needs its driver: install levelwind with [postgres], or leave LEVELWIND_DATABASE away."
            )
            raise LevelwindError(missing) from None
        raise LevelwindError(str(error)) from None


def bring_up_to_date() -> None:
    """The book's tables as this version wants them. Raises LevelwindError where the database does not answer."""
    from django.core.management import call_command
    from django.db import OperationalError, connection

    try:
        connection.ensure_connection()
    except OperationalError as error:
        why = " ".join(str(error).split())[:200]
        raise LevelwindError(
            f"The database {_where()} does not answer ({why}). Is it running, and the address right?"
        ) from None
    call_command("migrate", verbosity=0, interactive=False)


def _where() -> str:
    """Without its password."""
    from django.db import connection

    known = connection.settings_dict
    return f"{known['NAME']} at {known['HOST']}" if known.get("HOST") else str(known["NAME"])
