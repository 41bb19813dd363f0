"""levelwind open: start the app on this machine."""

import argparse
import os
import signal
import socket
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from django.contrib.auth.models import User

PASSWORD_TRIES = 3
"""Times a first password may be typed. Our choice."""


def add(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("open", help="open the app on this machine")
    parser.add_argument(
        "--port", type=_port, default=8017, help="where it listens (default 8017; 0 for any that is free)"
    )
    parser.add_argument("--demo", action="store_true", help="fill an empty book with the invented demonstration shop")
    parser.add_argument(
        "--network",
        metavar="ADDRESS",
        type=_address,
        default="",
        help="serve the workshop network at this machine's ADDRESS; everyone must then sign in",
    )
    parser.set_defaults(run=run)


PROXY_SAYS = {"x-forwarded-for", "x-forwarded-proto"}
"""What is believed of a proxy with TLS: who asks, and that it came encrypted. From anybody else both are dropped."""
MOST_PORT = 65_535
"""The highest port there is: RFC 9293 gives it 16 bits (from memory)."""


def _port(typed: str) -> int:
    if not typed.isdecimal() or int(typed) > MOST_PORT:
        raise argparse.ArgumentTypeError(f"port was {typed}; allowed is 1 to {MOST_PORT}, or 0 for any that is free")
    return int(typed)


ANY = ("0.0.0.0", "::", "[::]", "*")


def _address(typed: str) -> str:
    """The name under which phones come in: "every address" is none that a code on the screen could hold."""
    if typed in ANY:
        own = own_address()
        such = f"{own}, which this machine has on its network" if own else "this machine's own on its network"
        raise argparse.ArgumentTypeError(f"network was {typed}, which is every address; allowed is one: {such}")
    return typed


def own_address() -> str:
    """This machine's address on its network, empty where it has none. Nothing is sent.

    A datagram's socket is only pointed at an address that documentation keeps free (RFC 5737), so that the system says
    by which of its own it would go there.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        try:
            way.connect(("192.0.2.1", 9))
        except OSError:
            return ""
        return str(way.getsockname()[0])


def run(args: argparse.Namespace) -> int:
    if args.network:
        os.environ["LEVELWIND_NETWORK"] = args.network
    if args.demo:
        from platformdirs import user_data_path

        os.environ.setdefault("LEVELWIND_DATA", str(user_data_path("levelwind") / "demo"))
    from levelwind.cli.django_setup import bring_up_to_date, set_up

    set_up()
    from django.conf import settings

    from levelwind.cli.latch import the_only_one
    from levelwind.recordings.limited import keep_readers_ready
    from levelwind.shop.disk import told_in_words

    keep_readers_ready()
    with the_only_one():
        with told_in_words(settings.DATA):
            for_this_account_alone(settings.DATA)
            bring_up_to_date()
            if args.demo:
                _fill_with_demo()
            if settings.NETWORK:
                _somebody_can_sign_in()
            _clock_is_asked_about()
        return _serve(args.network or "127.0.0.1", args.port)


def for_this_account_alone(data: Path) -> None:
    """Close to other accounts of the machine what an earlier version left open.

    Windows has no such bits: there a person's own folder is closed to the others by the system.
    """
    if not hasattr(os, "getuid"):
        return
    for path, mode in ((data, 0o700), *((path, 0o600) for path in data.iterdir() if path.is_file())):
        if path.stat().st_mode & 0o077 and path.stat().st_uid == os.getuid():
            path.chmod(mode)


def _clock_is_asked_about() -> None:
    """A clock behind the book would number jobs and bills by another year; pages ask too, where nobody is here."""
    from levelwind.shop.people.clock import clock_behind, clock_is_right, clock_said

    last = clock_behind()
    if last is None:
        return
    print(clock_said(last), file=sys.stderr)
    if sys.stdin.isatty() and input("Is the clock right all the same? (y/N) ").strip().lower() in ("y", "yes"):
        clock_is_right()


def _fill_with_demo() -> None:
    from levelwind.shop.models import Owner

    if not Owner.objects.exists():
        print("Filling the book with the invented demonstration shop …", file=sys.stderr, flush=True)
        from levelwind.demo.seed import seed

        seed()


def _somebody_can_sign_in() -> None:
    """The first time on the network, ask for a name and a password: without one nobody could come in.

    Raises LevelwindError where nobody is there to type them, or three passwords were too weak.
    """
    import getpass

    from django.contrib.auth import get_user_model

    from levelwind.core.errors import LevelwindError

    users = get_user_model().objects
    if users.exists():
        return
    print("Before the workshop network can come in, make the first name and password.", file=sys.stderr)
    try:
        name = input("Name: ").strip() or getpass.getuser()
        users.create_superuser(username=name, password=_password(getpass.getpass, users.model(username=name)))
    except EOFError:
        unseen = "Nobody is there to type the first name and password. Run it once in a terminal."
        raise LevelwindError(unseen) from None


def _password(ask: Callable[[str], str], person: "User") -> str:
    from django.contrib.auth.password_validation import validate_password
    from django.core.exceptions import ValidationError

    from levelwind.core.errors import LevelwindError

    for _ in range(PASSWORD_TRIES):
        password = ask("Password (12 letters or more): ")
        try:
            validate_password(password, person)
        except ValidationError as refusal:
            print(" ".join(refusal.messages), file=sys.stderr)
        else:
            return password
    raise LevelwindError("No password was good enough. Run it again and choose one of 12 letters or more.")


def _serve(host: str, port: int) -> int:
    from django.conf import settings
    from django.core.wsgi import get_wsgi_application
    from django.urls import get_resolver
    from waitress import create_server

    from levelwind.cli.uploads import SparingChannel, clear_uploads
    from levelwind.core.errors import InputError
    from levelwind.shop.book.services.imports import imports_sweep
    from levelwind.shop.book.services.schedule import copy_sweep
    from levelwind.shop.book.services.versions import refuse_an_outgrown_book
    from levelwind.shop.letters.mail import letters_sweep
    from levelwind.shop.queue import Workers
    from levelwind.shop.readings.services.work import readings_sweep, work_resume

    app = get_wsgi_application()
    get_resolver().url_patterns  # noqa: B018  every page is loaded now, so that the first one opened is as quick as the next
    proxy = {"trusted_proxy": settings.PROXY_AT, "trusted_proxy_headers": PROXY_SAYS} if settings.PROXY else {}
    try:
        server = create_server(
            app, host=host, port=port, threads=6, max_request_body_size=settings.LARGEST_UPLOAD_BYTES, **proxy
        )
    except OSError as refusal:
        raise InputError("port", port, f"one that is free on {host} ({refusal.strerror})") from None
    server.channel_class = SparingChannel
    clear_uploads(settings.FILE_UPLOAD_TEMP_DIR)
    work_resume()
    workers = Workers([readings_sweep, letters_sweep, imports_sweep, copy_sweep], refuse_an_outgrown_book)
    print(f"Levelwind is open at http://{host}:{server.effective_port}/  (Ctrl-C closes it)", flush=True)
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # closed by the system as by Ctrl-C
    try:
        server.run()
    finally:
        workers.close()
    return 0
