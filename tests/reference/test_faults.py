"""The families' hunches: whole, tied to real places and cautions, judged and marked so; and hostile files refused."""

import re
from dataclasses import replace

import pytest

from levelwind.core.errors import InputError
from levelwind.core.hunches import Costs, Finding, Net, next_looks, pointed_to, posterior
from levelwind.reference.cautions import cautions
from levelwind.reference.families import families, family
from levelwind.reference.faults import LARGEST, families_with_hunches, load_net, read_net
from tests.full_size import cases
from tests.reference.kin import written_as

BOTH = ("star_drag", "fixed_spool")

nets = pytest.mark.parametrize("net", [load_net(key) for key in families_with_hunches()], ids=lambda net: net.family)


def test_every_family_has_its_hunches() -> None:
    assert set(families_with_hunches()) == set(families()) >= set(BOTH)


@nets
def test_renewals_name_real_places(net: Net) -> None:
    places = {place.key for place in family(net.family).places}
    for fault in net.faults:
        assert fault.places, f"{fault.key} names no place to renew or clean"
        assert set(fault.places) <= places, f"{fault.key} names {set(fault.places) - places}"


@nets
def test_cautions_are_those_of_the_table(net: Net) -> None:
    assert {look.caution for look in net.looks if look.caution} <= set(cautions())


@nets
def test_every_probability_is_marked_a_judgement_or_common_practice(net: Net) -> None:
    assert {row.source for row in (*net.faults, *net.findings)} == {"judgement", "common practice, no source"}
    assert all(fault.counted is None for fault in net.faults)


@nets
def test_every_fault_can_be_shown_by_a_look_and_every_look_shows_something(net: Net) -> None:
    shown = {key for finding in net.findings if finding.look for key, link in finding.links.items() if link >= 0.5}
    assert {fault.key for fault in net.faults} == shown
    assert all(net.shown_by(look.key) for look in net.looks)
    assert all(finding.links for finding in net.findings)


@nets
def test_the_owner_s_words_have_patterns_and_only_they(net: Net) -> None:
    assert net.said
    assert all(bool(finding.says) == (finding.look is None) for finding in net.findings)


@nets
def test_it_is_full_sized_and_speaks_plainly(net: Net) -> None:
    assert len(net.faults) >= 20 and len(net.findings) >= 35 and len(net.looks) >= 15
    texts = [fault.name for fault in net.faults] + [finding.name for finding in net.findings]
    assert len(set(texts)) == len(texts)
    assert all(look.do.endswith(".") and len(look.do) < 160 for look in net.looks)
    assert all(fault.mend and fault.minutes and fault.parts.low <= fault.parts.value for fault in net.faults)


def said_by_itself(net: Net) -> list[Finding]:
    """The findings of a family that are not, word for word, those of the family it is written as."""
    like = written_as(net.family)
    return [finding for finding in net.findings if not like or finding not in load_net(like).findings]


@pytest.mark.sampled
@nets
def test_each_telling_sight_raises_what_it_points_to(net: Net) -> None:
    for finding in said_by_itself(net)[:: cases(4, 1)]:
        strongest = max(finding.links, key=lambda key: finding.links[key])
        assert posterior(net, {finding.key: True}).of(strongest).probability > net.fault(strongest).prior
        assert posterior(net, {finding.key: False}).of(strongest).probability < net.fault(strongest).prior


@nets
def test_twenty_sights_at_once_are_still_answered_exactly(net: Net) -> None:
    """The same answer with the faults and findings the other way round: another order, another table, same sums."""
    seen = {finding.key: index % 2 == 0 for index, finding in enumerate(net.findings[:40])}
    turned = replace(net, faults=net.faults[::-1], findings=net.findings[::-1])
    there, back = posterior(net, seen), posterior(turned, seen)
    for fault in net.faults:
        assert there.of(fault.key).probability == pytest.approx(back.of(fault.key).probability, rel=1e-9)


COMPLAINTS = [
    ("star_drag", "The drag slips on a good fish", {"said_drag_slips"}),
    ("star_drag", "Drag doesn't hold, clicker dead", {"said_drag_slips", "said_clicker"}),
    ("star_drag", "it grinds", {"said_grinds"}),
    ("star_drag", "handle turns backwards!", {"said_turns_back"}),
    ("star_drag", "Won't cast far anymore", {"said_short_cast"}),
    ("star_drag", "The clicker doesn't work", {"said_clicker"}),
    ("star_drag", "the level wind sticks and it's hard to turn", {"said_level_wind", "said_stiff"}),
    ("star_drag", "My grandfather's. Just a service please.", {"said_salt"}),
    ("star_drag", "Please clean and oil, nothing wrong with it", set()),
    ("star_drag", "the drag is perfect", set()),
    ("star_drag", "doesn't stay in gear", {"said_out_of_gear"}),
    ("fixed_spool", "bail doesn't close", {"said_bail"}),
    ("fixed_spool", "The bail spring is broken and the handle is loose", {"said_bail", "said_handle_loose"}),
    ("fixed_spool", "line twists badly", {"said_line_twist"}),
    ("fixed_spool", "anti-reverse gone", {"said_turns_back"}),
    ("fixed_spool", "Drag sticks, then jerks", {"said_drag_jerks"}),
    ("fixed_spool", "dropped in the surf, now it's gritty", {"said_salt", "said_grinds"}),
    ("fixed_spool", "knocking noise when winding", {"said_knocks"}),
]


@pytest.mark.parametrize(("key", "complaint", "expected"), COMPLAINTS)
def test_an_owner_s_words_point_where_the_trade_would(key: str, complaint: str, expected: set[str]) -> None:
    assert {pointed.finding.key for pointed in pointed_to(load_net(key), complaint)} == expected


NEW_FAMILY = """
family = "click_and_pawl"
name = "click and pawl"
opening_minutes = 2

[[fault]]
key = "pawl_worn"
name = "worn pawl"
prior = 0.3
mend = "Renew the pawl"
minutes = 3
parts = { low = 2, likely = 4, high = 9 }
places = ["pawl"]
source = "judgement"

[[look]]
key = "pawl"
do = "Look at the pawl."
minutes = 2
needs_open = true

[[look.finding]]
key = "pawl_blunt"
name = "the pawl is blunt"
leak = 0.02
links = { pawl_worn = 0.9 }
source = "judgement"

[[said]]
key = "said_quiet"
name = "the owner says it is quiet"
says = ["quiet", "not click"]
leak = 0.02
links = { pawl_worn = 0.6 }
source = "judgement"
"""


def test_another_family_follows_as_data_without_code() -> None:
    net = read_net(NEW_FAMILY.encode(), "hunches.toml")
    seen = {pointed.finding.key: True for pointed in pointed_to(net, "It doesn't click any more")}
    assert seen == {"said_quiet": True}
    assert next_looks(net, seen, Costs(0.8, 60))[0].minutes == 4


@pytest.mark.parametrize(
    ("was", "becomes", "refusal"),
    [
        ("prior = 0.3", "prior = 1.3", "prior of pawl_worn was 1.3"),
        ("prior = 0.3", "prior = nan", "prior"),
        ("prior = 0.3", 'prior = "often"', "a number"),
        ("prior = 0.3", "prior = true", "a number"),
        ("prior = 0.3", "", "prior was absent"),
        ("prior = 0.3", "prior = 0.3\nodds = 2", "odds"),
        ("low = 2", "low = 20", "interval"),
        ("low = 2", "low = -2", "price of parts"),
        ("low = 2,", "", "low was absent"),
        ("likely = 4", "likely = 4, rough = 1", "rough"),
        ("links = { pawl_worn = 0.9 }", "links = { spring = 0.9 }", "fault linked to pawl_blunt"),
        ("links = { pawl_worn = 0.9 }", "links = { pawl_worn = -0.9 }", "link from pawl_worn"),
        ("links = { pawl_worn = 0.9 }", "links = 0.9", "a table"),
        ("leak = 0.02", "leak = 1.0", "leak of pawl_blunt"),
        ("needs_open = true", 'needs_open = "yes"', "true or false"),
        ("needs_open = true", 'caution = "dragons"', "caution"),
        ("minutes = 2\nneeds", "minutes = 0\nneeds", "minutes of the look pawl"),
        ('key = "pawl_worn"', 'key = "pawl worn"', "letters, digits"),
        ('key = "said_quiet"', 'key = "pawl_worn"', "no other fault"),
        ('says = ["quiet", "not click"]', "says = 3", "a list of texts"),
        ('family = "click_and_pawl"', "", "family was absent"),
        ("[[said]]", "[[heard]]", "heard"),
        ("[[fault]]", "[[fault", "TOML"),
    ],
)
def test_a_file_that_makes_no_sense_is_refused_by_row(was: str, becomes: str, refusal: str) -> None:
    assert was in NEW_FAMILY
    with pytest.raises(InputError, match=re.escape(refusal)):
        read_net(NEW_FAMILY.replace(was, becomes, 1).encode(), "hunches.toml")


NO_FILES = [b"\xff\xfe\x00", b"\x00", b"", b"[" * 3000, b"a = " + b"[" * 5000]


@pytest.mark.parametrize("content", NO_FILES)
def test_what_is_no_hunches_file_is_refused(content: bytes) -> None:
    with pytest.raises(InputError):
        read_net(content, "hunches.toml")


def test_a_file_too_large_is_refused_before_it_is_read() -> None:
    padded = NEW_FAMILY.encode() + b"#" * LARGEST
    with pytest.raises(InputError, match=f"up to {LARGEST} bytes"):
        read_net(padded, "hunches.toml")


@pytest.mark.parametrize("key", ["", "no_such", "../star_drag", "star_drag/", "."])
def test_a_family_that_is_not_there_is_refused(key: str) -> None:
    with pytest.raises(InputError, match=", ".join(families())):
        load_net(key)
