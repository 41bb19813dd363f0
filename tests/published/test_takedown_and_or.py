"""Least work under AND/OR rules against examples and a reference library.

Scheduling examples (chains, least total weighted completion) do not fit here: they weigh when each job ends, and a
takedown weighs only the work.
"""

import random
from math import fsum

import networkx as nx
import pytest

from levelwind.core.takedown import Place, Rules, Step, full, reach
from tests.core.takedown.reels import reel, step

TEXTBOOK_EXACT = 1e-12
"""The examples are sums of whole numbers: no rounding is owed."""


def test_four_part_product_of_the_and_or_form():
    """ABCD -> ABC|D 3, AB|CD 5; ABC -> AB|C 2, A|BC 4; AB -> 1; CD -> 1; BC -> 2: cheapest full takedown 6.

    Source: made in the form of L. S. Homem de Mello and A. C. Sanderson, "AND/OR graph representation of assembly
    plans", IEEE Trans. Robotics and Automation 6 (1990); no published optimum found. Basis: derived.
    """
    rules = reel(
        step("ABC D", 3),
        step("AB CD", 5),
        step("AB C", 2, "ABC", key="ABC_to_AB_C"),
        step("A BC", 4, "ABC", key="ABC_to_A_BC"),
        step("A B", 1, "AB", key="AB_to_A_B"),
        step("C D", 1, "CD", key="CD_to_C_D"),
        step("B C", 2, "BC", key="BC_to_B_C"),
    )
    way = reach(rules, ["A", "B", "C", "D"])
    assert way.minutes == pytest.approx(6, abs=TEXTBOOK_EXACT)
    assert [s.key for s in way.steps] == ["free_ABC_D", "ABC_to_AB_C", "AB_to_A_B"]


def test_one_hard_piece_or_two_easier_ones_together():
    """Node A by way of B (5 and an arc of 1: 6) or of C and D together (3 + 4 and two arcs of 1: 9).

    Source: E. Rich and K. Knight, Artificial Intelligence, 2nd ed. (1991), section 3.4, figure (a) on why A* will not
    do for AND-OR graphs; figures read in lecture notes after the book, the book's page from memory.
    """
    a_by = {"B": step("A", 1, "B", key="A_by_B"), "CD": step("A", 2, "C D", key="A_by_C_and_D")}
    leaves = (step("B", 5), step("C", 3), step("D", 4))
    assert reach(reel(*leaves, *a_by.values()), ["A"]).minutes == pytest.approx(6, abs=TEXTBOOK_EXACT)
    assert reach(reel(*leaves, a_by["CD"]), ["A"]).minutes == pytest.approx(9, abs=TEXTBOOK_EXACT)


@pytest.mark.parametrize("seed", range(20))
def test_without_either_way_rules_it_is_the_set_of_ancestors(seed):
    """Reference library: networkx (ancestors and topological order of a directed acyclic graph), 70 steps."""
    dice = random.Random(seed)
    graph = nx.DiGraph((early, late) for late in range(70) for early in dice.sample(range(late), min(late, 2)))
    places = tuple(Place(key=str(n), name=str(n), group=str(n % 5)) for n in range(70))
    steps = tuple(
        Step(
            key=str(n),
            do="Do it.",
            frees=(str(n),),
            minutes=dice.randint(1, 30) / 10,
            after=frozenset(map(str, graph.predecessors(n))),
        )
        for n in dice.sample(range(70), 70)
    )
    rules = Rules(places, steps)
    wanted = dice.sample(range(70), 2)
    way = reach(rules, [str(n) for n in wanted])
    needed = set(wanted).union(*(nx.ancestors(graph, n) for n in wanted))
    assert {int(s.key) for s in way.steps} == needed
    assert way.minutes == pytest.approx(fsum(s.minutes for s in steps if int(s.key) in needed), rel=1e-12)
    turn = {int(s.key): number for number, s in enumerate(full(rules).steps)}
    assert all(turn[early] < turn[late] for early, late in graph.edges)
