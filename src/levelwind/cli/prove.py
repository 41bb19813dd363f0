"""levelwind prove: look through a backup as if restoring it, or through the shop as it stands."""

import argparse
import json
from pathlib import Path


def add(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("prove", help="prove a backup, or the shop as it stands")
    parser.add_argument(
        "folder", metavar="DIR", type=Path, nargs="?", help="a backup, or a folder of them; without it the shop"
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from levelwind.cli.django_setup import set_up

    set_up()
    answer, sentence = _backup(args.folder) if args.folder else _shop()
    print(json.dumps({"status": "ok", **answer}) if args.json else sentence)
    return 0


def _backup(folder: Path) -> tuple[dict[str, object], str]:
    from levelwind.shop.book.services.proving import backup_prove

    proof = backup_prove(folder=folder)
    return (
        {"made_at": proof.made_at, "jobs": proof.jobs, "files": proof.files},
        f"The backup of {proof.made_at} is whole: {proof.jobs} jobs, {proof.files} files, every one as it was written.",
    )


def _shop() -> tuple[dict[str, object], str]:
    from levelwind.shop.book.services.proving import shop_prove

    proof = shop_prove()
    return (
        {"jobs": proof.jobs, "files": proof.files, "compared": proof.compared},
        f"The shop is whole: {proof.jobs} jobs, and all {proof.files} files they name are there. "
        f"The book keeps the sum of {proof.compared}, and these are as they were written.",
    )
