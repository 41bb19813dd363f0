"""`levelwind reread`: the book's recordings that an earlier law read, read again by today's; never unasked."""

import argparse
import json
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from levelwind.shop.models import Reading


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = subparsers.add_parser(
        "reread",
        help="read the book's recordings again by today's law",
        description="Recordings that an earlier law read are listed; those of the jobs named, or all of them, are read "
        "again by today's. What was said before is kept beside it, and papers already sent stay as they were sent.",
    )
    parser.add_argument("tags", metavar="TAG", nargs="*", help="jobs whose recordings are read again")
    parser.add_argument("--all", action="store_true", help="read those of every job again")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from levelwind.cli.django_setup import bring_up_to_date, set_up

    set_up()
    from levelwind.shop.readings.selectors.stored import LAWS, all_read_by_an_earlier_law
    from levelwind.shop.readings.services.readings import reading_read_again_if_it_can

    bring_up_to_date()
    _check_tags(args.tags)
    told, asked = [], args.all or args.tags
    for reading in all_read_by_an_earlier_law(args.tags):
        again = reading_read_again_if_it_can(reading=reading) if asked else None
        told.append(_told(reading, again))
        if not args.json:
            print(_line(told[-1]), flush=True)
    if args.json:
        print(json.dumps({"kind": "reread", "status": "ok", "laws": LAWS, "readings": told}))
    elif not told:
        print("Every recording was read by today's law.")
    elif not asked:
        print("Nothing was read again: name jobs by their tags, or say --all.")
    return 0


def _check_tags(tags: list[str]) -> None:
    from levelwind.core.errors import InputError
    from levelwind.shop.models import Job

    there = set(Job.objects.filter(tag__in=tags).values_list("tag", flat=True))
    for tag in tags:
        if tag not in there:
            raise InputError("a job's tag", repr(tag), "one that the book has")


def _told(reading: "Reading", again: "Reading | None") -> dict[str, object]:
    from levelwind.shop.readings.selectors.stored import law_of

    return {
        "tag": reading.job.tag,
        "reading": str(reading),
        "file": reading.file_name,
        "law": law_of(reading),
        "read_by": law_of(again) if again else None,
        "refused": again.refused if again else "",
    }


def _line(told: dict[str, object]) -> str:
    what = f"{told['tag']}: {told['reading']}, {told['file']}, read by law {told['law']}"
    if told["read_by"] is None:
        return what
    return f"{what}, read again by law {told['read_by']}" + (f": {told['refused']}" if told["refused"] else "")
