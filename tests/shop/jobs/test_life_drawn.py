"""The page that draws the life of a job says what its table says."""

from pathlib import Path

from levelwind.shop.jobs.life import LIFE, NEXT_MOVE, drawing
from levelwind.shop.models import Stage

DRAWN = Path(__file__).parents[3] / "docs/decisions/life-of-a-job.md"


def test_the_page_is_drawn_from_the_table() -> None:
    assert "\n".join(drawing()) in DRAWN.read_text(encoding="utf-8")


def test_every_stage_stands_in_the_table() -> None:
    led_to = {act.to for act in LIFE.values()}
    assert set(NEXT_MOVE) == set(Stage) == led_to - {None}
