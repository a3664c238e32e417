"""Prices asked for: without a drawing, with something changed, the whole list."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from support.prices import an_estimate, recomputed

from edgetime.comparison import price_what_if
from edgetime.comparison.changes import Change, read_change
from edgetime.errors import UsageError
from edgetime.estimating import estimate_take_off
from edgetime.explained import figures_json
from edgetime.load import Options
from edgetime.price import price_lengths, price_list, price_load
from edgetime.price.price_lengths import LENGTHS_ERROR, LENGTHS_ERROR_WITH_PARTS
from edgetime.price.reference_parts import straight_edges
from edgetime.records import as_json
from edgetime.tooling import load_catalogue


@pytest.fixture(scope="module")
def catalogue():
    return load_catalogue()


@pytest.fixture(scope="module")
def job():
    est = an_estimate()
    return [est], price_load(est)


def test_lengths_are_priced_with_the_same_models(catalogue) -> None:
    """Parts of one straight front each, told or drawn, are one load and one price."""
    options = Options(machine="large")
    told, estimates = price_lengths("eased=2.4 m, parts=2", catalogue, options)
    (edges,) = straight_edges("eased", 1200.0, 2, catalogue.machines["large"])
    drawn = estimate_take_off(edges, catalogue, options)
    assert len(estimates) == 1
    assert float(told.net) == pytest.approx(float(price_load(drawn).net), rel=0.03)
    assert told.error == LENGTHS_ERROR_WITH_PARTS
    assert price_lengths("eased=2.4 m", catalogue, options)[0].error == LENGTHS_ERROR


def test_more_tables_than_one(catalogue) -> None:
    """A long inquiry takes several loads, each with its own set-up, and says so."""
    quote, estimates = price_lengths("eased=40 m", catalogue, Options(machine="small"))
    assert quote.loads == len(estimates) > 1
    setup = sum(line.amounts.setup_h for line in quote.lines)
    assert float(setup) == pytest.approx(0.25 * quote.loads)
    assert "several-loads" in {f.code for f in quote.findings}
    assert sum(p.amount for p in quote.parts) == quote.net


def test_very_long_inquiry_is_priced(catalogue) -> None:
    """The most that may be told, 1000 m: the tools of all its loads add up to their figure."""
    quote, estimates = price_lengths("eased=1000 m", catalogue, Options(machine="large"))
    assert quote.loads == len(estimates) > 50
    worn = sum(cost for est in estimates for _, cost in est.wear.cost)
    assert float(quote.figures["tools"].value) == pytest.approx(float(worn), rel=1e-12)
    by_load = [quote.figures[f"tools:load-{i}"].value for i in range(1, quote.loads + 1)]
    assert quote.figures["tools"].value == sum(by_load)


def test_told_parts_that_cannot_be_kept(catalogue) -> None:
    """One part told of 30 m: more are made, it is said, and the price is no surer for it."""
    quote, _ = price_lengths("eased=30 m, parts=1", catalogue, Options())
    assert len(quote.parts) > 1
    found = {f.code: f.message for f in quote.findings}
    assert f"need {len(quote.parts)} parts" in found["parts-overruled"]
    kept, _ = price_lengths(f"eased=30 m, parts={len(quote.parts)}", catalogue, Options())
    assert "parts-overruled" not in {f.code for f in kept.findings}
    assert kept.net == quote.net
    assert quote.error > kept.error


def test_what_if_another_machine_lays_an_inquiry_out_again(catalogue) -> None:
    """Told lengths on a larger table are the price they have when told for that machine."""
    quote, estimates = price_lengths("eased=12 m", catalogue, Options())
    asked = price_what_if("machine=large", estimates, quote).quote
    told, _ = price_lengths("eased=12 m", catalogue, Options(machine="large"))
    assert (quote.loads, told.loads) == (2, 1)
    assert asked is not None
    assert as_json(asked) == as_json(told)


def test_what_if_changes_nothing_but_what_is_asked(job) -> None:
    """The same stone again is the same price; twice the feed is less time."""
    estimates, quote = job
    same = price_what_if("stone=stone", estimates, quote)
    assert same.quote is not None
    assert as_json(same.quote) == as_json(quote)
    fast = price_what_if("feed=200%", estimates, quote)
    assert fast.quote is not None
    assert fast.quote.machine_s < quote.machine_s


@pytest.mark.parametrize(
    ("text", "change"),
    [
        ("thickness=3 cm", {"thickness_mm": 30.0}),
        ("thickness=1-1/4 in stone=marble", {"thickness_mm": 31.75, "stone": "marble"}),
        ("thickness=1,25in, feed=80 %", {"thickness_mm": 31.75, "feed_override": 0.8}),
        ("stone = marble,stack= marble ", {"stone": "marble", "stack": "marble"}),
    ],
)
def test_values_of_a_what_if_may_hold_blanks_and_commas(text, change) -> None:
    """A change begins before its key and nowhere else."""
    assert read_change(text, "--what-if") == Change(text=text, option="--what-if", **change)


def test_thickness_of_a_what_if_as_of_the_option(job) -> None:
    """Three centimetres are thirty millimetres, as --thickness has it."""
    estimates, quote = job
    made = price_what_if("thickness=3 cm", estimates, quote).quote
    assert made is not None
    assert made.thickness_mm == 30.0


def test_what_if_another_profile(job) -> None:
    """All worked outer edges change, or only the one named; seams and cutouts stay."""
    estimates, quote = job
    every = price_what_if("profile=ogee", estimates, quote).quote
    one = price_what_if("profile=half-bullnose:ogee", estimates, quote).quote
    assert every is not None
    assert one is not None
    assert [x.item for x in every.lines] == [
        "profile:ogee", "profile:seam", "cutout:eased", "holes",
    ]  # fmt: skip
    assert {x.item: x.quantity for x in one.lines}["profile:ogee"] == Decimal("0.8")


def test_what_if_takes_a_stack_that_serves(catalogue) -> None:
    """Marble, for which the shop's stack does not serve, is priced with one that does."""
    quote, estimates = price_lengths("eased=6 m", catalogue, Options())
    made = price_what_if("stone=marble", estimates, quote).quote
    assert made is not None
    assert (made.stone, made.stack) == ("marble", "marble")
    refused = price_what_if("stone=marble stack=standard", estimates, quote)
    assert refused.quote is None
    assert "serves" in refused.refused


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("stoen=marble", "'stoen' cannot be changed"),
        ("stone=", "no value"),
        ("stone", "no value"),
        ("stone=a stone=b", "given twice"),
        ("", "Nothing is changed"),
        ("stone=basalt", "No stone 'basalt'"),
        ("stack=none", "No stack 'none'"),
        ("machine=none", "No machine 'none'"),
        ("profile=none", "no profile 'none'"),
        ("profile=ogee:eased", "no profile 'ogee' in this job"),
        ("thickness=thick", "'thick' is not a quantity"),
        ("thickness=nan", "nan"),
        ("feed=2000%", "feed override"),
    ],
)
def test_what_if_refuses(job, text, what) -> None:
    """A change nobody can make is wrong use of the option, told with what is known."""
    estimates, quote = job
    with pytest.raises(UsageError, match=what) as caught:
        price_what_if(text, estimates, quote)
    assert caught.value.where.key == "--what-if"
    assert caught.value.remedy


def test_list_holds_every_combination(catalogue) -> None:
    """Each profile in the chosen stone and thickness has its line, made or not."""
    made = price_list(catalogue, stone="granite", thickness_mm=30.0)
    profiles = {n for n, p in catalogue.profiles.items() if p.family != "none"}
    assert {r.profile for r in made.rows} == profiles
    by_profile = {r.profile: r for r in made.rows}
    assert by_profile["mitre"].why_not == "made elsewhere"
    for row in made.rows:
        assert (row.per_m is None) == bool(row.why_not)
        if row.per_m is not None and row.per_ft is not None:
            assert sum(row.shares.values()) == pytest.approx(Decimal(1))
            assert abs(row.per_ft - row.per_m * Decimal("0.3048")) <= Decimal("0.01")


def test_list_line_is_the_price_of_its_load(catalogue) -> None:
    """The line is the net price of the reference load by its metres: 3 edges of 2 m."""
    made = price_list(
        catalogue, edge_mm=2000.0, edges=3, stone="granite", profile="eased", thickness_mm=30.0
    )
    (row,) = made.rows
    tables = straight_edges("eased", 2000.0, 3, catalogue.machines["medium"])
    loads = [estimate_take_off(t, catalogue, Options()) for t in tables]
    assert made.reference.loads == len(loads) == 2
    expected = sum(price_load(load).figures["price"].value for load in loads) / 6
    assert row.per_m == expected.quantize(Decimal("0.01"), "ROUND_HALF_UP")
    seconds = sum(load.cycle.total_s for load in loads)
    assert float(row.machine_s_per_m) == pytest.approx(seconds / 6)


@pytest.mark.parametrize(("edge_mm", "edges"), [(2500.0, 4), (1000.0, 7), (3300.0, 20)])
def test_list_is_reckoned_on_loads_that_can_be_made(catalogue, edge_mm, edges) -> None:
    """No estimate behind a line has an error: every edge lies on a table."""
    made = price_list(
        catalogue,
        edge_mm=edge_mm,
        edges=edges,
        stone="granite",
        profile="eased",
        thickness_mm=30.0,
    )
    (row,) = made.rows
    assert row.quote is not None
    assert row.quote.errors == ()
    assert row.quote.loads == made.reference.loads
    assert len(row.quote.parts) == edges
    assert "several-loads" not in {f.code for f in made.findings}


def test_list_refuses_an_edge_longer_than_the_table(catalogue) -> None:
    """An edge that lies on no table has no price; what would do is said."""
    with pytest.raises(UsageError, match=r"does not fit machine medium") as caught:
        price_list(catalogue, edge_mm=3301.0)
    assert caught.value.where.key == "--edge"
    assert "3.3 m" in caught.value.remedy


def test_list_explains_its_own_figures(catalogue) -> None:
    """Price per metre and foot and the shares are what is told, by their formulas; no minimum."""
    made = price_list(catalogue, stone="granite", profile="seam", thickness_mm=30.0)
    (row,) = made.rows
    figures = {f.name: f for f in made.explain("all")}
    assert figures["profile:seam/m"].value == row.per_m
    assert figures["profile:seam/ft"].value == row.per_ft
    assert {n: figures[f"share:{n}"].value for n in row.shares} == row.shares
    assert not {"minimum", "net", "gross", "profile:seam"} & set(figures)
    for one in figures.values():
        (told,) = figures_json([one])
        facts = {f["name"]: f["value"] for f in told["factors"]}
        assert recomputed(told["formula"], facts) == Decimal(told["value"]), one.name
        for fact in one.inputs:
            name = fact.note.removeprefix("figure ")
            assert name == fact.note or name in figures


def test_list_without_a_stack(catalogue) -> None:
    """A thickness that no stack serves is in the list, and says so."""
    made = price_list(catalogue, stone="granite", profile="eased", thickness_mm=50.0)
    assert [(r.why_not, r.per_m, r.stack) for r in made.rows] == [("no stack", None, None)]


def test_list_with_the_tax_in_it(catalogue) -> None:
    """A shop that shows prices with the tax lists them so."""
    rates = replace(catalogue.shop.price, tax=Decimal("0.20"), tax_included=True)
    gross = replace(catalogue, shop=replace(catalogue.shop, price=rates))
    one = {"stone": "granite", "profile": "eased", "thickness_mm": 30.0}
    net_row, gross_row = (price_list(c, **one).rows[0] for c in (catalogue, gross))
    assert net_row.quote is not None
    exact = net_row.quote.figures["price"].value / 10
    assert gross_row.per_m == (exact * Decimal("1.2")).quantize(Decimal("0.01"), "ROUND_HALF_UP")


def test_one_line_is_explained(catalogue) -> None:
    """The reference load of a line is explained; of several lines none is."""
    one = price_list(catalogue, stone="granite", profile="eased", thickness_mm=30.0)
    assert one.explain("machine")[0].name == "machine"
    with pytest.raises(UsageError, match="prices; one at a time"):
        price_list(catalogue, stone="marble", thickness_mm=30.0).explain("machine")


@pytest.mark.parametrize("key", ["stone", "profile"])
def test_list_refuses_unknown_names(catalogue, key) -> None:
    """A name that is not in the catalogue is refused with the option it came by."""
    with pytest.raises(UsageError, match=f"No {key} 'none'") as caught:
        price_list(catalogue, **{key: "none"})
    assert caught.value.where.key == f"--{key}"
