"""The proof sheet that went home with a reel, as it was: what is read again since changes no paper that was sent."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from levelwind.core.codec import as_stored, from_stored
from levelwind.documents.proof import ProofSheet
from levelwind.shop.models import Job, Photo, Sending, Stage
from levelwind.shop.papers.selectors.sheets import PhotoPair, photo_pairs, picture_pairs, proof_sheet


def proof_kept(job: Job) -> dict[str, Any]:
    """Today's sheet as it is kept: all but the pictures, which the book has."""
    pairs = [[photo.pk if photo else None for photo in pair] for pair in photo_pairs(job)]
    return {"sheet": as_stored(replace(proof_sheet(job), pictures=())), "photos": pairs}


def proof_of(job: Job) -> ProofSheet:
    """As it was sent, of a reel that is home; else as the book has it today."""
    sent = Sending.objects.filter(job=job).values_list("proof", flat=True).first() if job.stage == Stage.HOME else None
    if not sent:
        return proof_sheet(job)
    sheet = from_stored(ProofSheet, sent["sheet"], f"the proof sheet kept of {job.tag}")
    return replace(sheet, pictures=picture_pairs(_photos(sent["photos"])))


def _photos(kept: Sequence[Sequence[int | None]]) -> list[PhotoPair]:
    there = Photo.objects.in_bulk([pk for pair in kept for pk in pair if pk])
    return [(there.get(before or 0), there.get(after or 0)) for before, after in kept]
