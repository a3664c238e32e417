"""Names, ids and the order of parts."""

from __future__ import annotations

import itertools

import pytest
from support.takeoffs import RULES, Builder, found

from edgetime.takeoff import Meaning, take_off
from edgetime.takeoff.instructions import reads_as_note
from edgetime.takeoff.naming import in_rows, ordinal, unique_names
from edgetime.takeoff.trade_words import NOTE_WORDS, PART_WORDS, TRADE_WORDS


def test_rows_from_the_top_left_to_right():
    """Ids follow reading order, whatever the order of drawing and small offsets in a row."""
    b = Builder()
    for x, y in ((1200, 0), (0, 2000), (0, 10), (1200, 1990)):
        b.rectangle("EASED", x, y, 1000, 600)
    parts = take_off([b.drawing()], RULES).parts
    assert [p.part_id for p in parts] == ["p01", "p02", "p03", "p04"]
    assert [p.name for p in parts] == ["row 1, 1st", "row 1, 2nd", "row 2, 1st", "row 2, 2nd"]
    assert [tuple(p.outline.path.points[0]) for p in parts] == [
        (0, 2000),
        (1200, 1990),
        (0, 10),
        (1200, 0),
    ]


def test_ids_run_on_over_drawings_and_names_stay_unique():
    """Two drawings of one load do not share ids or names."""
    one = Builder().rectangle("EASED", 0, 0, 1000, 600)
    result = take_off([one.drawing(path="a.dxf"), one.drawing(path="b.dxf")], RULES)
    assert [(p.part_id, p.name, p.drawing) for p in result.parts] == [
        ("p01", "row 1, 1st", "a.dxf"),
        ("p02", "row 1, 1st (2)", "b.dxf"),
    ]


def test_block_then_text_then_position():
    """A block's name comes first, then PART: or a plain text inside, then the position."""
    b = Builder()
    b.rectangle("EASED", 0, 0, 1000, 600, insert=0, blocks=("ISLAND", "SHAPE"))
    b.text("ignored for a block", 100, 100)
    b.rectangle("EASED", 1500, 0, 1000, 600).text("Vanity left", 1600, 500)
    b.rectangle("EASED", 3000, 0, 1000, 600).text("note\nPART: Bench", 3100, 500)
    b.rectangle("EASED", 4500, 0, 1000, 600).text("1000 x 600", 4600, 300)
    b.rectangle("EASED", 6000, 0, 1000, 600, insert=1, blocks=("*U3",))
    names = [p.name for p in take_off([b.drawing()], RULES).parts]
    assert names == ["ISLAND", "Vanity left", "Bench", "row 1, 4th", "row 1, 5th"]


def test_one_block_with_several_parts_uses_the_inner_names():
    """A whole kitchen in one block names its parts by the blocks inside."""
    b = Builder()
    b.rectangle("EASED", 0, 0, 1000, 600, insert=0, blocks=("KITCHEN", "LEFT RUN"))
    b.rectangle("EASED", 1500, 0, 1000, 600, insert=0, blocks=("KITCHEN", "RIGHT RUN"))
    b.rectangle("EASED", 3000, 0, 1000, 600, insert=0, blocks=("KITCHEN",))
    names = [p.name for p in take_off([b.drawing()], RULES).parts]
    assert names == ["LEFT RUN", "RIGHT RUN", "row 1, 3rd"]


def test_ordinals():
    """English endings, the teens among them."""
    assert [ordinal(n) for n in (1, 2, 3, 4, 11, 12, 13, 21, 102, 111)] == [
        "1st",
        "2nd",
        "3rd",
        "4th",
        "11th",
        "12th",
        "13th",
        "21st",
        "102nd",
        "111th",
    ]


def test_suffixes_never_collide_with_a_name_that_has_one():
    """A part that is called like a suffixed name keeps its name."""
    assert unique_names(["A", "A", "A (2)", "A"]) == ["A", "A (3)", "A (2)", "A (4)"]


def test_a_tall_part_takes_in_what_stands_beside_it():
    """Parts whose middle is above the tallest one's lower edge share its row."""
    assert in_rows([(0, 0, 500, 2000), (600, 100, 900, 400), (600, 1500, 900, 1900)]) == [[0, 2, 1]]


@pytest.mark.parametrize(
    "note",
    [
        "POLISH FRONT",
        "Front edge polished",
        "half bullnose all round",
        "eased 3 sides",
        "30mm granite",
        "R20",
        "\u00d8 35",
        "2 cutouts",
        "Sichtkante poliert",
        "chant poli",
        "canto pulido",
        "bocel frente",
        "battuta 20",
        "3 Aussparungen",
        "undermount",
        "bordo lucido",
        "scale 1:10",
    ],
)
def test_work_notes_are_no_names(note):
    """What says how a part is worked, measured or what it is made of does not name it."""
    b = Builder().rectangle("EASED", 0, 0, 1000, 600)
    b.text(note, 100, 500, height=50).text("Kitchen island", 100, 100, height=20)
    result = take_off([b.drawing()], RULES, profiles=("eased", "half-bullnose"))
    assert [p.name for p in result.parts] == ["Kitchen island"]
    assert found(result) == {}


def test_words_of_the_trade_are_listed_once():
    """Every word of work in the table of layer names makes a note; no other list repeats one."""
    words = [
        (row.means, w) for row in TRADE_WORDS for ws in row.words.values() for w in ws.split("|")
    ]
    part = {w for ws in PART_WORDS.values() for w in ws.split("|")}
    own = {w for ws in NOTE_WORDS.values() for w in ws.split("|")}
    assert part <= {w for _, w in words}
    assert own.isdisjoint(w for _, w in words)
    work = {w for means, w in words if means in {Meaning.EDGE, Meaning.SEAM, Meaning.RECESS}}
    assert [w for w in sorted((work - part) | own) if not reads_as_note(f"2 {w} A", None)] == []


@pytest.mark.parametrize(
    "name",
    ["Backsplash", "Bar front", "Edgeware Rd", "Sink run", "Wall cap", "Back bar", "Waterfall leg"],
)
def test_names_that_sound_like_work_are_names(name):
    """Words of the kitchen are no notes."""
    b = Builder().rectangle("EASED", 0, 0, 1000, 600).text(name, 100, 500)
    assert [p.name for p in take_off([b.drawing()], RULES).parts] == [name]


def test_largest_text_then_first_in_reading_order():
    """The largest of several texts names the part, of equal ones the first; a note says so."""
    texts = [("Vanity", 100, 100, 40.0), ("Job 4711 Smith", 100, 500, 20.0), ("B2", 500, 100, 39.0)]
    for order in itertools.permutations(texts):
        b = Builder().rectangle("EASED", 0, 0, 1000, 600)
        for text, x, y, height in order:
            b.text(text, x, y, height=height)
        result = take_off([b.drawing()], RULES)
        assert [p.name for p in result.parts] == ["Vanity"]
        (finding,) = result.findings
        assert finding.code == "part-name-chosen"
        assert "'B2' or 'Job 4711 Smith'" in finding.message


def test_text_in_an_opening_names_the_opening():
    """The word in a sink is no name of the part around it."""
    b = Builder().rectangle("EASED", 0, 0, 1000, 600).rectangle("SINK", 200, 100, 400, 400)
    b.text("Undercounter bowl", 300, 300, height=80).text("Run A", 700, 300, height=20)
    result = take_off([b.drawing()], RULES)
    assert [p.name for p in result.parts] == ["Run A"]
    assert found(result) == {}


def test_block_names_a_part_without_a_choice():
    """Where a block gives the name, the texts in it are none of its names."""
    b = Builder().rectangle("EASED", 0, 0, 1000, 600, insert=0, blocks=("ISLAND",))
    b.text("Left", 100, 500).text("Right", 700, 500)
    result = take_off([b.drawing()], RULES)
    assert [p.name for p in result.parts] == ["ISLAND"]
    assert found(result) == {}
