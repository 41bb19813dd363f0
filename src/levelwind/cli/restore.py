"""levelwind restore: bring a shop back from a backup."""

import argparse
import json
from pathlib import Path


def add(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("restore", help="bring a shop back from a backup")
    parser.add_argument("folder", metavar="DIR", type=Path, help="a backup, or a folder of backups: then the newest")
    parser.add_argument(
        "--all-but-damaged",
        action="store_true",
        help="leave pictures and recordings out that the backup has damaged or lost, and name them",
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from levelwind.cli.django_setup import bring_up_to_date, set_up

    set_up()
    from levelwind.cli.latch import the_only_one
    from levelwind.shop.book.services.backups import backup_restore
    from levelwind.shop.book.services.proving import backup_damaged

    with the_only_one():
        damaged = sorted(backup_damaged(folder=args.folder)) if args.all_but_damaged else []
        aside = backup_restore(folder=args.folder, without=damaged)
        bring_up_to_date()
    if args.json:
        left_out = {"left_out": damaged} if args.all_but_damaged else {}
        print(json.dumps({"status": "ok", "kept_aside": aside, **left_out}))
    else:
        for name in damaged:
            print(f"Left out, damaged or lost in the backup: {name}")
        print(f"Restored. What was there before is kept in {aside}")
    return 0
