"""Who may send a file: whoever is signed in, or has a code that is good. Asked before a byte of it is kept."""

from http.cookies import CookieError, SimpleCookie
from importlib import import_module

from django.conf import settings
from django.contrib.auth import SESSION_KEY
from django.db import DatabaseError, connection

from levelwind.web.jobs.photos.phone import read_token
from levelwind.web.readings.spot import spot_for


def may_send(path: str, cookies: str) -> bool:
    """By the address and the Cookie header of a request whose body is yet to come."""
    if not settings.NETWORK:
        return True
    try:
        return _known(path, cookies)
    except DatabaseError:  # a connection that has been idle for long may be gone: the next one asks anew
        connection.close()
        return False


def _known(path: str, cookies: str) -> bool:
    _, first, token, *_ = [*path.split("/"), "", ""]
    if first == "m":
        spot = spot_for(token)
        return spot is not None and not spot.job.is_over
    return read_token(token)[0] is not None if first == "p" else _signed_in(cookies)


def _signed_in(cookies: str) -> bool:
    try:
        kept = SimpleCookie(cookies).get(settings.SESSION_COOKIE_NAME)
    except CookieError:
        return False
    store = import_module(settings.SESSION_ENGINE).SessionStore(kept.value if kept else None)
    return bool(kept and store.get(SESSION_KEY))
