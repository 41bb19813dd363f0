"""levelwind backup: copy the running shop into a folder."""

import argparse
import json
from pathlib import Path


def add(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("backup", help="copy the running shop into a folder")
    parser.add_argument("folder", metavar="DIR", type=Path, help="where the backup's own new folder goes")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from levelwind.cli.django_setup import make_sure_it_answers, set_up

    set_up()
    make_sure_it_answers()
    from levelwind.shop.book.services.backups import backup_make
    from levelwind.shop.book.services.proving import backup_prove

    proof = backup_prove(folder=backup_make(into=args.folder))
    if args.json:
        print(json.dumps({"status": "ok", "folder": str(proof.folder), "jobs": proof.jobs, "files": proof.files}))
    else:
        print(f"Backed up and proved: {proof.jobs} jobs, {proof.files} files, {proof.size_bytes / 1e6:.1f} MB")
        print(f"in {proof.folder}")
    return 0
