"""levelwind check: prove a backup by looking through it as if restoring it."""

import argparse
import json
from pathlib import Path
from tempfile import TemporaryDirectory


def add(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("check", help="prove a backup by restoring it aside")
    parser.add_argument("folder", metavar="DIR", type=Path, nargs="?", help="a backup; without it one is made")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from levelwind.cli.django_setup import set_up

    set_up()
    from levelwind.shop.book.services.backups import backup_make, backup_prove

    with TemporaryDirectory(prefix="levelwind-check-") as aside:
        proof = backup_prove(folder=args.folder or backup_make(into=Path(aside)))
    if args.json:
        print(json.dumps({"status": "ok", "made_at": proof.made_at, "jobs": proof.jobs, "files": proof.files}))
    else:
        what = f"The backup of {proof.made_at}" if args.folder else "The shop"
        print(f"{what} is whole: {proof.jobs} jobs, {proof.files} files, every one as it was written.")
    return 0
