"""The book in PostgreSQL: its migrations, its triggers and the tests chosen here, on a server of their own."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.postgres_server import NoServerError, postgres_server

ROOT = Path(__file__).parents[1]
CHOSEN = [
    "tests/shop/parts/test_ledger.py",
    "tests/shop/book/test_lists_in.py::test_the_shelf_comes_in_with_its_counts_and_goes_again_as_long_as_nothing_hangs_on_it",
    "tests/shop/book/test_on_a_server.py",
    "tests/shop/parts/test_shelf.py::test_views_and_search",
    "tests/shop/parts/test_shelf_once.py",
    "tests/shop/money/test_once_is_once.py",
    "tests/shop/takedown/test_pieces_two_people.py",
    "tests/shop/jobs/test_booking.py::test_many_who_book_in_at_once_get_different_numbers",
    "tests/shop/finding/test_finding.py",
    "tests/shop/test_sums.py",
    "tests/shop/letters/test_letters.py::test_a_letter_is_kept_as_written_once_and_its_going_moves_the_job",
    "tests/shop/letters/test_mail.py::test_what_a_killed_worker_had_is_taken_up_by_another_and_seen",
    "tests/shop/readings/test_reading_work.py::test_what_a_killed_worker_had_is_taken_up_by_another_until_it_is_plain_that_the_file_ends_them",
    "tests/shop/readings/test_reading_work.py::test_two_are_read_at_a_time_and_the_third_waits",
    "tests/shop/jobs/test_drafts.py::test_a_letter_that_no_book_can_hold_is_left_out",
    "tests/web/test_fits.py::test_the_shops_own_washers_are_looked_for_by_their_sizes",
]
"""Where the two databases differ: locks, constraints under several at once, triggers, tasks, full text."""


def test_the_chosen_tests_hold_on_postgresql() -> None:
    try:
        with postgres_server() as address:
            command = [sys.executable, "-m", "pytest", "-q", "-n", "0", *CHOSEN]
            here = os.environ | {"LEVELWIND_DATABASE": address}
            ended = subprocess.run(command, env=here, cwd=ROOT, capture_output=True, text=True, check=False)
    except NoServerError as why:
        pytest.skip(str(why))
    assert ended.returncode == 0, ended.stdout + ended.stderr
