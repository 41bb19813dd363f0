"""Chains of statements: one way only, weaker than what they rest on, held to a shortest-path search by another hand."""

from math import exp, log

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from levelwind.core.errors import InputError
from levelwind.core.fits.chains import LINK_SHARE, SWAP_SHARE, Alike, Book, Instead, Serves, denied, inferred

HERE, THERE, FAR = (1, "cap"), (2, "cap"), (3, "cap")


def _parts(book: Book, slot: tuple[int, str] = HERE) -> dict[int, float]:
    return {chain.part: round(chain.sure, 6) for chain in inferred(book, slot)}


def test_what_replaces_a_part_serves_where_it_does_and_not_the_other_way() -> None:
    book = Book.of([Serves(1, HERE, 0.9)], [], [Instead(2, of=1, sure=0.8), Instead(1, of=3, sure=1.0)])
    assert _parts(book) == {2: round(0.9 * 0.8 * LINK_SHARE, 6)}


def test_a_slot_alike_lends_its_fits_one_way_only() -> None:
    book = Book.of([Serves(1, THERE, 0.9), Serves(2, HERE, 0.9)], [Alike(HERE, THERE, 0.95, "same number")], [])
    assert _parts(book) == {1: round(0.95 * 0.9 * LINK_SHARE, 6)}
    assert _parts(book, THERE) == {}


def test_two_parts_of_one_place_are_a_guess_for_another_and_only_once() -> None:
    said = [Serves(1, HERE, 1.0), Serves(1, THERE, 1.0), Serves(2, THERE, 1.0), Serves(2, FAR, 1.0), Serves(3, FAR, 1)]
    (chain,) = inferred(Book.of(said, [], []), HERE)
    assert (chain.part, chain.swaps) == (2, True)
    assert chain.sure == pytest.approx(SWAP_SHARE * LINK_SHARE**2)


def test_two_parts_that_share_many_places_are_held_against_each_other_once() -> None:
    """By the place that tells most; and left out where no such guess is asked for."""
    said = [Serves(part, (n, "cap"), 1.0 - n / 100) for part in (1, 2) for n in range(2, 50)]
    book = Book.of([Serves(1, HERE, 1.0), *said], [], [Instead(3, of=1, sure=0.1)])
    (swap,) = book.swaps(1)
    assert swap[2] == 2 and swap[1] == pytest.approx(SWAP_SHARE * LINK_SHARE * 0.98**2)
    assert [chain.part for chain in inferred(book, HERE)] == [2, 3]
    assert [chain.part for chain in inferred(book, HERE, swaps=False)] == [3]


def test_what_is_denied_is_no_link_and_is_told_also_of_a_slot_alike() -> None:
    said = [Serves(1, HERE, 0.9), Serves(1, HERE, 0.7, serves=False), Serves(5, THERE, 0.8, serves=False)]
    book = Book.of(said, [Alike(HERE, THERE, 0.9)], [Instead(2, of=1, sure=1.0)])
    assert _parts(book) == {}
    assert [(chain.part, round(chain.sure, 3)) for chain in denied(book, HERE)] == [(1, 0.7), (5, 0.648)]


@pytest.mark.parametrize("sure", [-0.1, 1.1, float("nan")])
def test_no_statement_is_more_than_sure(sure: float) -> None:
    for said in (lambda: Serves(1, HERE, sure), lambda: Alike(HERE, THERE, sure), lambda: Instead(1, 2, sure)):
        with pytest.raises(InputError, match="how sure"):
            said()


some = st.floats(0.05, 1.0)
statements = st.tuples(
    st.dictionaries(st.tuples(st.integers(1, 5), st.integers(1, 3)), some, max_size=6),
    st.dictionaries(st.tuples(st.integers(1, 3), st.integers(1, 3)), some, max_size=3),
    st.dictionaries(st.tuples(st.integers(1, 5), st.integers(1, 5)), some, max_size=4),
)


@given(statements)
@settings(max_examples=60)
def test_chains_are_the_best_paths_and_weaker_than_each_of_their_links(said: tuple[dict, dict, dict]) -> None:  # type: ignore[type-arg]
    """networkx finds the same without swaps, with -log as length; a chain may have four links at most."""
    serves, alike, instead = said
    slots = {n: (n, "cap") for n in (1, 2, 3)}
    book = Book.of(
        [Serves(part, slots[slot], sure) for (part, slot), sure in serves.items()],
        [Alike(slots[a], slots[b], sure) for (a, b), sure in alike.items() if a != b],
        [Instead(part, of, sure) for (part, of), sure in instead.items() if part != of],
    )
    graph = nx.DiGraph()
    graph.add_nodes_from(slots.values())
    edges = [(slots[slot], part, sure) for (part, slot), sure in serves.items()]
    edges += [(slots[a], slots[b], sure) for (a, b), sure in alike.items() if a != b]
    edges += [(of, part, sure) for (part, of), sure in instead.items() if part != of]
    graph.add_weighted_edges_from((a, b, -log(sure * LINK_SHARE)) for a, b, sure in edges)
    told = {part for part, slot in serves if slot == 1}
    lengths, paths = nx.single_source_dijkstra(graph, slots[1])
    for chain in inferred(book, slots[1]):
        assert chain.part not in told and 2 <= len(chain.links) <= 4
        assert all(chain.sure < link.sure for link in chain.links)
        if not chain.swaps and len(paths[chain.part]) - 1 <= 4:
            assert chain.sure == pytest.approx(exp(-lengths[chain.part]) / LINK_SHARE)
    short = {p for p in paths if isinstance(p, int) and 2 <= len(paths[p]) - 1 <= 4} - told
    assert short <= {chain.part for chain in inferred(book, slots[1])}
