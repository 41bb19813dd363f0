import hashlib
import os
import subprocess
import sys
from dataclasses import replace
from datetime import date

import pytest

from levelwind.documents import press, proof, tag
from levelwind.documents.letters import BOX
from levelwind.documents.picture import Picture
from tests.documents.paper import words
from tests.documents.sheets import COMPLAINT, HOSTILE, JOB, LAYOUTS, PROOF, TAG

ELSEWHERE = """
import hashlib
from levelwind.documents import press
from tests.documents.sheets import LAYOUTS
print(hashlib.sha256(press.pdf(LAYOUTS["proof"])).hexdigest())
"""


@pytest.mark.parametrize("name", LAYOUTS)
def test_the_same_sheet_gives_the_same_bytes(name: str) -> None:
    assert press.pdf(LAYOUTS[name]) == press.pdf(LAYOUTS[name])


def test_another_process_in_another_place_and_zone_gives_the_same_bytes() -> None:
    away = {**os.environ, "TZ": "Pacific/Auckland", "PYTHONHASHSEED": "7", "LC_ALL": "C"}
    seen = subprocess.run([sys.executable, "-c", ELSEWHERE], env=away, capture_output=True, text=True, check=True)
    assert seen.stdout.strip() == hashlib.sha256(press.pdf(LAYOUTS["proof"])).hexdigest()


def test_the_day_of_the_sheet_is_the_day_of_the_file() -> None:
    assert b"D:20260514120000Z" in press.pdf(LAYOUTS["bill"])
    assert b"D:20240229120000Z" in press.pdf(replace(LAYOUTS["bill"], dated=date(2024, 2, 29)))


def test_words_that_are_markup_elsewhere_are_only_words_here() -> None:
    printed = words(tag.layout(replace(TAG, complaint=HOSTILE)))
    assert HOSTILE in printed
    assert "root:" not in printed


def test_a_sheet_that_carries_everything_has_no_cautions() -> None:
    assert {name: press.cautions(forme) for name, forme in LAYOUTS.items()} == dict.fromkeys(LAYOUTS, ())


def test_letters_that_are_lost_are_named_to_the_person_and_shown_on_the_paper() -> None:
    forme = proof.layout(replace(PROOF, job=replace(JOB, owner="田中 Ito")))
    (caution,) = press.cautions(forme)
    assert "田中" in caution and "Ito" not in caution
    printed = words(forme)
    assert f"{BOX}{BOX} Ito" in printed
    assert f"{BOX} stands for a letter that is not in this type." in printed


def test_a_box_the_writer_typed_is_not_a_lost_letter() -> None:
    assert press.cautions(proof.layout(replace(PROOF, wrong=f"tick {BOX}"))) == ()


def test_a_picture_that_cannot_be_read_is_named_and_leaves_a_frame() -> None:
    broken = proof.PicturePair(Picture(b"no picture", "the worn washer"), None)
    forme = proof.layout(replace(PROOF, pictures=(broken,)))
    (caution,) = press.cautions(forme)
    assert "the worn washer" in caution
    assert "the picture could not be read" in words(forme)


def test_a_complaint_of_400_letters_stands_whole_on_the_slip() -> None:
    assert len(COMPLAINT) >= 400
    forme = tag.layout(replace(TAG, complaint=COMPLAINT))
    assert COMPLAINT in words(forme)
    assert press.cautions(forme) == ()


def test_words_that_do_not_fit_a_slip_are_said_to_be_cut_off() -> None:
    (caution,) = press.cautions(tag.layout(replace(TAG, complaint="\n".join("abcdefghijklmnopqrst"))))
    assert "cut off" in caution


def test_a_number_that_is_no_number_is_not_printed() -> None:
    with pytest.raises(ValueError, match="JSON"):
        press.pdf(replace(LAYOUTS["bill"], data={"total": float("nan")}))
