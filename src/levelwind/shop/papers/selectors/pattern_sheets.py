"""Papers of the pattern book: its parts list and its takedown guide. Nothing of an owner stands on them."""

from django.utils import timezone

from levelwind.core.takedown import Step, full, tray_cells
from levelwind.documents import parts_list
from levelwind.documents import takedown as guide
from levelwind.documents.letterhead import JobHead, pattern_head
from levelwind.documents.picture import Picture
from levelwind.reference.cautions import named
from levelwind.shop.models import Build, Pattern, PatternPicture, Shop
from levelwind.shop.papers.selectors.takedown_guide import caution_in_words
from levelwind.shop.patterns.selectors.layouts import Layout, PlaceInPattern, pattern_layout
from levelwind.shop.patterns.selectors.pictures import exploded, on_paper, place_numbers, step_on_paper, step_pictures
from levelwind.shop.people.selectors import letterhead, shop_get


def parts_list_sheet(pattern: Pattern, build: Build | None = None) -> parts_list.PartsList:
    """Every place of the pattern, or of one build of it."""
    shop, layout = shop_get(), pattern_layout(pattern, build)
    names = dict.fromkeys(place.assembly for place in layout.places)
    pictures = _laid_out(pattern, build)
    numbers = place_numbers(pattern, build) if pictures else {}
    return parts_list.PartsList(
        shop=letterhead(shop),
        pattern=_head(pattern, build, shop),
        dated=timezone.localdate(),
        pictures=pictures,
        assemblies=tuple(
            (
                name,
                tuple(
                    _listed(layout, place, numbers.get(place.key)) for place in layout.places if place.assembly == name
                ),
            )
            for name in names
        ),
    )


def pattern_guide(pattern: Pattern, build: Build | None = None) -> guide.TakedownGuide:
    """The whole reel apart, in the least work, each step with its tray cell."""
    shop, layout = shop_get(), pattern_layout(pattern, build)
    way = full(layout.rules)
    cells, pictures = tray_cells(layout.rules, way.steps), step_pictures(pattern)
    return guide.TakedownGuide(
        shop=letterhead(shop),
        job=_head(pattern, build, shop),
        dated=timezone.localdate(),
        steps=tuple(
            _step(step, sorted({cells[place] for place in step.frees}), pictures.get(step.key, []))
            for step in way.steps
        ),
        reach="the whole reel",
        pictures=_laid_out(pattern, build),
    )


def _laid_out(pattern: Pattern, build: Build | None) -> tuple[Picture, ...]:
    return tuple(picture for shown in exploded(pattern, build) if (picture := on_paper(shown)))


def _head(pattern: Pattern, build: Build | None, shop: Shop) -> JobHead:
    return pattern_head(f"{pattern}, {build}" if build else str(pattern), shop.invented)


def _listed(layout: Layout, place: PlaceInPattern, number: int | None) -> parts_list.ListedPlace:
    return parts_list.ListedPlace(
        name=place.name,
        number=place.part_number,
        count=place.count,
        renew=place.renew,
        on_picture="" if number is None else str(number),
        alike=layout.rules.names(place.look_alikes),
    )


def _step(step: Step, cells: list[int], pictures: list[PatternPicture]) -> guide.Step:
    return guide.Step(
        what=step.do,
        tool=step.tool,
        cell=f"{cells[0]} to {cells[-1]}" if len(cells) > 1 else f"{cells[0]}",
        cautions=tuple(caution_in_words(caution) for caution in named(step.cautions)),
        note=f"Photo: {step.photo}" if step.photo else "",
        minutes=step.minutes,
        picture=step_on_paper(pictures),
    )
