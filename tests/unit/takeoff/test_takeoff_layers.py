"""What layers mean: the table of layers, the unknown outline told first, words in names."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.pen import Pen
from support.takeoffs import RULES, Builder, found

from edgetime.drawing import read_drawing
from edgetime.drawing.drawing import LayerState
from edgetime.findings import Severity
from edgetime.records import as_json
from edgetime.report.layers import LAYERS
from edgetime.takeoff import LayerRule, LayerRules, Meaning, take_off
from edgetime.takeoff.layer_names import read_name, short_for
from edgetime.takeoff.proposals import propose
from edgetime.takeoff.trade_words import TRADE_WORDS
from edgetime.tooling.layers import meaning_text

W, D = 2400.0, 620.0


def test_the_table_says_what_each_layer_means():
    """Meaning, profile and rule of every layer, and those that no rule knows."""
    b = Builder().rectangle("OUTLINE", 0, 0, W, D).line("EASED", (0, 0), (W, 0))
    b.line("NEW", (0, -50), (100, -50)).line("WALL", (0, D), (W, D))
    b.layers["WALL"] = LayerState.OFF
    b.curves[-1].visible = False
    rules = LayerRules(
        (LayerRule("OUT*", Meaning.OUTLINE, source="own.toml:3"), *RULES.rules), "bevel"
    )
    (drawing,) = take_off([b.drawing()], rules).drawings
    rows = [
        (u.layer, u.length_mm, u.curves, u.means, u.profile, u.rule and u.rule.match, u.state)
        for u in drawing.layers
    ]
    assert rows == [
        ("EASED", W, 1, "edge", "eased", "EASED", "shown"),
        ("NEW", 100.0, 1, "unknown", None, None, "shown"),
        ("OUTLINE", 2 * (W + D), 1, "outline", "bevel", "OUT*", "shown"),
        ("WALL", W, 1, "unfinished", None, "WALL", "off"),
    ]
    assert drawing.layers[2].rule.source == "own.toml:3"


def test_the_unknown_outline_is_told_first_and_alone():
    """Sound overlays and openings are not blamed for the outline's unknown layer."""
    b = Builder().rectangle("GRENZE", 0, 0, W, D)
    b.line("EASED", (0, 0), (W, 0)).line("WALL", (0, D), (W, D))
    b.rectangle("CUTOUT", 800, 100, 500, 400)
    result = take_off([b.drawing()], RULES, layers_command="edgetime layers kitchen.dxf --write")
    assert found(result) == {"layer-unmatched": 1, "no-parts": 1}
    first = result.findings[0]
    assert (first.code, first.severity, first.where.layer) == (
        "layer-unmatched",
        Severity.ERROR,
        "GRENZE",
    )
    assert "1 part; 3 findings that follow" in first.message
    assert first.remedy == (
        "For this run only, add --layer GRENZE=outline. To write rules permanently: "
        "edgetime layers kitchen.dxf --write"
    )


def test_a_true_open_chain_beside_an_unknown_outline_is_still_told():
    """Only what the missing rule causes is left out."""
    b = Builder().rectangle("GRENZE", 0, 0, W, D).line("EASED", (0, 0), (W, 0))
    b.chain("OUTLINE", [(0, 1000), (W, 1000), (W, 1600)])
    result = take_off([b.drawing()], RULES)
    assert found(result) == {"layer-unmatched": 1, "no-parts": 1, "open-chain": 1}


def test_an_unknown_layer_of_notes_stays_a_warning():
    """A layer that is no outline is blamed for nothing, and nothing is left out."""
    b = Builder().chain("OUTLINE", [(0, 0), (W, 0), (W, D)]).line("X", (0, -50), (100, -50))
    result = take_off([b.drawing()], RULES)
    assert found(result) == {"layer-unmatched": 1, "no-parts": 1, "open-chain": 1}
    assert result.findings[0].severity is Severity.WARNING


@settings(max_examples=40, deadline=None)
@given(
    st.sets(st.sampled_from([0, 1, 2, 3]), min_size=1),
    st.booleans(),
    st.permutations(range(6)),
)
def test_whatever_lies_over_an_unknown_outline_is_not_blamed(sides, opening, order):
    """Any overlays and openings, in any order of entities: the outline's layer is the cause."""
    b = Builder()
    corners = [(0.0, 0.0), (W, 0.0), (W, D), (0.0, D)]
    drawn = [lambda k=k: b.line("EASED", corners[k], corners[(k + 1) % 4]) for k in sorted(sides)]
    drawn.append(lambda: b.rectangle("GRENZE", 0, 0, W, D))
    if opening:
        drawn.append(lambda: b.rectangle("SINK", 800, 100, 500, 400))
    for k in order:
        if k < len(drawn):
            drawn[k]()
    result = take_off([b.drawing()], RULES)
    codes = found(result)
    # All four sides closed by overlays are a part by themselves: then only the layer is unknown.
    assert set(codes) <= {"layer-unmatched", "no-parts"}
    assert codes["layer-unmatched"] == 1


def test_a_bound_reference_is_known_by_its_own_layer_names():
    """What is before $0$ names the drawing it came from; a rule for the whole name wins."""
    rules = LayerRules(
        (LayerRule("A$0$*", Meaning.IGNORE), LayerRule("OUTLINE", Meaning.OUTLINE)),
    )
    assert rules.rule_for("A$0$OUTLINE").means is Meaning.IGNORE
    assert rules.rule_for("B$0$outline").means is Meaning.OUTLINE
    assert rules.rule_for("B$0$C$1$OUTLINE").means is Meaning.OUTLINE
    assert rules.rule_for("B|OUTLINE").means is Meaning.OUTLINE
    assert rules.rule_for("B$0$OTHER") is None
    assert rules.rule_for("OUTLINE$0$") is None


def test_a_circle_of_bit_size_on_the_outline_layer_is_a_hole():
    """Everything on one layer: 35 mm is bored, 60 mm is an opening."""
    b = Builder().rectangle("OUTLINE", 0, 0, W, D)
    b.circle("OUTLINE", 500, 300, 35).circle("OUTLINE", 900, 300, 60)
    (part,) = take_off([b.drawing()], RULES, core_diameters_mm=(35.0,)).parts
    assert [h.diameter_mm for h in part.holes] == [35.0]
    assert [c.diameter_mm for c in part.cutouts] == [60.0]
    (alone,) = take_off([b.drawing()], RULES).parts
    assert (len(alone.holes), len(alone.cutouts)) == (0, 2)


@pytest.mark.parametrize(
    ("name", "means"),
    [
        ("AUSSENKONTUR", "outline"),
        ("Außenkontur", "outline"),
        ("AUSSCHNITT SPUELE", "cutout"),
        ("Spülenausschnitt", "cutout"),
        ("SPULE", "cutout"),
        ("WANDSEITE", "unfinished"),
        ("Bemaßung", "ignore"),
        ("COTES", "ignore"),
        ("CÔTÉ MUR", "unfinished"),
        ("FORO RUBINETTO", "hole"),
        ("2-CUT-OUT", "cutout"),
        ("1-OUT", "outline"),
        ("HobRebate", "recess"),
        ("SINK TEXT", "ignore"),
        ("HALF-BULL NOSE", "edge"),
        ("Sichtkante", "edge"),
        ("XREF$0$NAHT", "seam"),
        ("HOBS", "cutout"),
        ("TOPS", "outline"),
    ],
)
def test_words_in_a_name(name, means):
    """The strongest word of a name, by hand."""
    assert str(read_name(name)[0].means) == means


_ON_THE_TABLE = {
    "keep-out": "CLAMPS STOPS SPANNER ANSCHLAG BRIDES BUTÉE MORDAZAS MORSETTI RISCONTRO",
    "cup": "CUPS PODS SAUGER VENTOUSES VENTOSAS VENTOSE",
}


@pytest.mark.parametrize("means", _ON_THE_TABLE)
def test_clamps_and_cups_are_known_in_five_languages(means):
    """They bound no stone: the part under them has no opening and no neighbour by them."""
    for name in _ON_THE_TABLE[means].split():
        b = Builder().rectangle("A", 0, 0, W, D).circle(name, 500, 300, 35)
        b.rectangle(name, -40, 100, 80, 80).circle("TAP", 900, 300, 35)
        rows = propose([b.drawing()], LayerRules(()), core_diameters_mm=(35.0,))
        said = {p.layer: p for p in rows}
        assert (str(said["A"].rule.means), said["A"].reason) == ("outline", "1 closed outline")
        assert (str(said[name].rule.means), said[name].closed) == (means, 2)
        assert "unsure" not in {str(p.confidence) for p in rows}


@pytest.mark.parametrize("name", ["CLAMP", "CUPS"])
def test_a_clamp_without_a_closed_line_is_unsure(name):
    """Only closed lines bound what stands on the table."""
    b = Builder().rectangle("A", 0, 0, W, D).line(name, (0, -50), (100, -50))
    _, clamp = propose([b.drawing()], LayerRules(()))
    assert str(clamp.confidence) == "unsure"


@pytest.mark.parametrize(
    ("name", "full"),
    [("FREG", "fregadero"), ("ACOT", "acotacion"), ("GRZ", "grezzo"), ("A-FAUC", "faucet"),
     ("Kochf", "kochfeld"), ("PLSH", "polish")],
)  # fmt: skip
def test_abbreviations(name, full):
    """The beginning of a word, or its consonants."""
    assert full in {hint.full for hint in short_for(name)}


@pytest.mark.parametrize("name", ["0", "Layer1", "12", "A-FL", "XYZ", "CUTOUT", "LINE"])
def test_what_abbreviates_nothing(name):
    """Numbers, whole words, two letters."""
    assert short_for(name) == ()


def test_an_abbreviation_counts_only_where_the_drawing_fits():
    """CNT may be a contour or a centre line; nothing drawn as an outline is taken for another."""
    b = Builder().rectangle("LUC", 0, 0, W, D).line("CST_GRZ", (0, D), (W, D))
    b.line("CST_LUC", (0, 0), (W, 0)).rectangle("LAV", 800, 100, 500, 400)
    said = {p.layer: (meaning_text(p.rule), str(p.confidence))
            for p in propose([b.drawing()], LayerRules(()))}  # fmt: skip
    assert said == {
        "LUC": ("outline", "likely"),
        "CST_GRZ": ("unfinished", "unsure"),
        "CST_LUC": ("edge:flat-polish", "unsure"),
        "LAV": ("cutout:flat-polish", "unsure"),
    }


def test_an_opening_over_the_edge_is_no_part():
    """A sink that runs over the front is a cutout, and the smaller of the two."""
    b = Builder().rectangle("A", 0, 0, W, D).rectangle("B", 800, -50, 500, 400)
    one, two = propose([b.drawing()], LayerRules(()))
    assert [meaning_text(p.rule) for p in (one, two)] == ["outline", "cutout"]
    assert "over the edge of an outline" in two.reason
    assert str(two.confidence) == "unsure"


@pytest.mark.parametrize("name", ["SOCKETS", "OUTLET", "OPENINGS", "CUTOUT", "Ausschnitt"])
def test_circles_of_a_core_bit_are_drilled_whatever_the_opening_is_called(name):
    """A 35 mm circle is a hole to the core bit there is; one of 120 mm is cut out."""
    for diameter, means in ((35.0, "hole"), (120.0, "cutout")):
        b = Builder().rectangle("A", 0, 0, W, D).circle(name, 500, 300, diameter)
        rows = propose([b.drawing()], LayerRules(()), core_diameters_mm=(35.0,))
        said = {p.layer: meaning_text(p.rule) for p in rows}
        assert said[name] == means


def test_walls_of_a_building_are_no_edges():
    """Lines that touch no part cannot be its wall edges."""
    b = Builder().rectangle("A", 0, 0, W, D).line("A-WALL", (-100, 900), (2800, 900))
    _, wall = propose([b.drawing()], LayerRules(()))
    assert (str(wall.rule.means), str(wall.confidence)) == ("ignore", "unsure")


@pytest.mark.parametrize("name", ["0", "Layer1", "PARTITION", "SHOPS", "TOPVIEW", "A-FLOR", "12"])
def test_names_that_say_nothing(name):
    """Words inside other words do not count."""
    assert read_name(name) == ()


_WORDS = sorted({(k, w) for k, row in enumerate(TRADE_WORDS) for ws in row.words.values()
                 for w in ws.split("|")})  # fmt: skip


@given(st.sampled_from(_WORDS), st.sampled_from(["{}", "1-{}", "{}_2", "X$0${}", "{} 03"]),
       st.sampled_from([str.upper, str.title, str.lower]))  # fmt: skip
def test_every_word_is_found_however_it_is_written(entry, form, case):
    """Each word of the table speaks for its row, in any case, with numbers around it."""
    row, word = entry
    rows = [hint.row for hint in read_name(form.format(case(word)))]
    assert TRADE_WORDS[row] in rows


def test_proposals_do_not_depend_on_entity_order():
    """The same drawing, drawn in the opposite order."""

    def kitchen(builder, steps):
        for step in steps:
            step(builder)
        return builder.drawing()

    steps = [
        lambda b: b.rectangle("A", 0, 0, W, D),
        lambda b: b.rectangle("B", 800, 100, 500, 400),
        lambda b: b.circle("C", 400, 300, 35),
        lambda b: b.line("D", (0, 0), (W, 0)),
        lambda b: b.rectangle("E", 0, 0, W, D),
    ]
    one = propose([kitchen(Builder(), steps)], LayerRules(()), core_diameters_mm=(35.0,))
    two = propose([kitchen(Builder(), steps[::-1])], LayerRules(()), core_diameters_mm=(35.0,))
    assert [(p.layer, p.rule, p.reason) for p in one] == [(p.layer, p.rule, p.reason) for p in two]
    assert [str(p.rule.means) for p in one] == ["outline", "cutout", "hole", "edge", "edge"]


def test_csv_and_json_of_the_layers_have_the_same_keys():
    """The columns of the table are the keys of the document, but for the drawing."""
    b = Builder().rectangle("OUTLINE", 0, 0, W, D).line("NEW", (0, -50), (100, -50))
    (drawing,) = take_off([b.drawing()], RULES).drawings
    rows = [("kitchen.dxf", use) for use in drawing.layers]
    for made, use in zip(LAYERS.records(rows), drawing.layers, strict=True):
        assert made == {"drawing": "kitchen.dxf", **as_json(use)}


def _one_part(**more):
    return Builder().rectangle("OUTLINE", 0, 0, W, D).line("PROJ$0$EASED", (0, 0), (W, 0), **more)


def with_option(match, *, source="--layer"):
    """Return the rules with one more in front."""
    rule = LayerRule(match, Meaning.EDGE, profile="eased", source=source)
    return LayerRules((rule, *RULES.rules), file="layers.toml")


@pytest.mark.parametrize("match", ["OUTLNE", "EAST*", "0"])
def test_a_rule_of_an_option_that_matches_nothing_is_said(match):
    """With the layers there are; a rule of a file may match nothing, for it serves all drawings."""
    result = take_off([_one_part().drawing()], with_option(match))
    (told,) = (f for f in result.findings if f.code == "layer-rule-unused")
    assert told.message == f'--layer "{match}=edge:eased" matches no layer.'
    assert told.where.key == "--layer"
    assert told.remedy.endswith("Layers with curves: OUTLINE, PROJ$0$EASED.")
    assert ("Did you mean OUTLINE?" in told.remedy) == (match == "OUTLNE")
    own = take_off([_one_part().drawing()], with_option(match, source="own.toml:3"))
    assert "layer-rule-unused" not in found(own)


@pytest.mark.parametrize("match", ["outl*", "eased", "PROJ*", "EMPTY"])
def test_a_rule_that_matches_in_one_drawing_is_used(match):
    """By a glob, a bound reference's own layer, or a layer without curves; in any drawing."""
    b = _one_part()
    b.layers["EMPTY"] = LayerState.SHOWN
    other = Builder().rectangle("TOP", 0, 0, W, D).drawing(path="other.dxf")
    result = take_off([other, b.drawing()], with_option(match))
    assert "layer-rule-unused" not in found(result)


def test_a_hidden_clamp_is_not_called_a_part(tmp_path):
    """It is said once that tools are not kept clear of it."""
    pen = Pen()
    pen.rectangle("OUTLINE", 0, 0, W, D)
    pen.rectangle("CLAMP", 500, -30, 60, 60)
    pen.rectangle("CUTOUT", 900, 100, 300, 300)
    for layer in ("CLAMP", "CUTOUT"):
        pen.doc.layers.add(layer).freeze()
    pen.doc.saveas(tmp_path / "hidden.dxf")
    rules = LayerRules((LayerRule("CLAMP", Meaning.KEEP_OUT), *RULES.rules), "eased")
    result = take_off([read_drawing(tmp_path / "hidden.dxf")], rules)
    assert found(result) == {"layer-hidden": 2}
    clamp, cutout = result.findings
    assert clamp.message == (
        "Layer CLAMP (1 curve, 240.0 mm) is frozen, so tools are not kept clear of it."
    )
    assert "left out of the parts: frozen" in cutout.message
