"""Screens speak the units and the numbers they are asked for; files stay metric."""

from __future__ import annotations

import re

import pytest

DRAWING = "edgetime-demo/cafe-washroom.dxf"
OTHER = "edgetime-demo/cafe-counters.dxf"
SCREENS = {
    "takeoff": ["takeoff", DRAWING, OTHER],
    "estimate": ["estimate", DRAWING, "--explain", "drum-75", "--runs", "--wear"],
    "core": ["estimate", DRAWING, "--explain", "core-35"],
    "off the table": ["estimate", DRAWING, "--machine", "small", "--place", "1900,900"],
    "wear": ["wear", DRAWING],
    "survive": ["survive", DRAWING],
    "advise": ["advise", DRAWING],
    "price": ["price", DRAWING, "--what-if", "thickness=20mm"],
    "price-list": ["price-list"],
    "compare": ["compare", DRAWING, "--with", "feed-override=150%", "--with", "stack=fast-metal"],
    "shift": ["shift", DRAWING, "--table-filling", "--replications", "0"],
    "forecast": ["forecast", "--pipeline", "edgetime-demo/pipeline.csv", "--from", "2027-01-04"],
    "stacks": ["catalogue", "stacks"],
    "tools": ["catalogue", "tools"],
    "machines": ["catalogue", "machines"],
}
# What stands in a file is quoted as it is, and so are the titles of the catalogue and sources.
QUOTED = re.compile(
    r"""= +"[^"]*"|^(?:Machine|Stack) .*$|^ *Source:.*?(?=^ *File:)|^[\w-]+: .*$|Medium\s+table,\s+3\.6\s+x\s+2\.0\s+m""",
    re.MULTILINE | re.DOTALL,
)
METRIC = re.compile(r"\d (?:mm|m|mm/min|m/min|mm/s|m/s|mm2|m2|mm²|m²|cm²|cm3|l/min)(?![\w/])")
FAR_INCHES = re.compile(r"(?<![(\d.,])\b(?:2[4-9]|[3-9]\d|\d{3,})(?:\.\d+)? in\b")


@pytest.mark.parametrize("name", SCREENS)
def test_imperial_screens_have_nothing_metric(run, name: str) -> None:
    """No millimetre is left in tables, findings, notes; no dimension of 2 ft is in inches."""
    run("demo")
    ran = run(*SCREENS[name], "--units", "imperial")
    assert ran.code == 0, ran.err
    own = QUOTED.sub("", ran.out)
    assert METRIC.findall(own) == []
    assert FAR_INCHES.findall(own) == []
    assert max(map(len, ran.out.splitlines())) <= 80


@pytest.mark.parametrize("name", ["estimate", "off the table", "advise", "compare"])
def test_files_stay_metric(run, name: str) -> None:
    """The units of screens move no byte of JSON or CSV."""
    run("demo")
    args = [a for a in SCREENS[name] if a not in {"--runs", "--wear", "--explain", "drum-75"}]
    for form in ("json", "csv"):
        metric = run(*args, "--format", form)
        assert metric.out == run(*args, "--format", form, "--units", "imperial").out


def test_stone_is_named_as_the_trade_does(run) -> None:
    """3 cm in North America, 30 mm elsewhere."""
    run("demo")
    assert "Granite, 3 cm nominal" in run("estimate", DRAWING, "--units", "imperial").out
    assert "Granite, 30 mm nominal" in run("estimate", DRAWING, "--units", "metric").out


def test_slow_feeds_keep_their_digits(run) -> None:
    """The core bit's 80 mm/min, 80 / 25.4 = 3.15 in/min: one unit in a column of feeds."""
    run("demo")
    explain = ["estimate", DRAWING, "--explain", "core-35"]
    assert re.search(r"feed of step core-35 +80 mm/min", run(*explain).out)
    assert re.search(
        r"feed of step core-35 +3\.15 in/min", run(*explain, "--units", "imperial").out
    )
    stacks = run("catalogue", "stacks").out
    assert "Feed mm/min" in stacks
    assert "0.07" not in stacks


NEAR = ["--place", f"{DRAWING}=0,0", "--place", f"{OTHER}=1500,0"]
"""The counters lie over the washroom's last part."""


def test_a_price_writes_its_findings_in_its_locale(run, tmp_path) -> None:
    """With a German locale a quote's findings have decimal commas, as its amounts do."""
    run("demo")
    run("init", "own")
    shop = tmp_path / "own" / "shop.toml"
    shop.write_text(shop.read_text().replace('locale = "en"', 'locale = "de_DE"'))
    told = run("price", DRAWING, OTHER, *NEAR, "--force", "--shop", "own").out
    # The bit's radius, 22 / 2, and the machine's spacing.
    assert "(radius 11,0 mm + spacing 5,0 mm)" in " ".join(told.split())
    plain = run("price", DRAWING, OTHER, *NEAR, "--force").out
    assert "(radius 11.0 mm + spacing 5.0 mm)" in " ".join(plain.split())


def test_what_a_load_fails_of_follows_the_units(run, tmp_path) -> None:
    """By the option or the shop: why it has no price is told in inches, on at most 80 columns."""
    run("demo")
    run("init", "own")
    shop = tmp_path / "own" / "shop.toml"
    shop.write_text(shop.read_text().replace('units = "metric"', 'units = "imperial"'))
    args = ["price", DRAWING, "--place", "3000,100"]
    metric = run(*args)
    assert metric.code == 4
    assert METRIC.search(metric.err)
    for more in (["--units", "imperial"], ["--shop", "own"]):
        ran = run(*args, *more)
        assert ran.code == 4
        assert not METRIC.search(ran.err)
        # 3750 mm are 147.64 in, the end of the travel in X.
        assert "147.64" in ran.err
        assert max(map(len, ran.shown.splitlines())) <= 80


@pytest.mark.parametrize("columns", ["", "60", "80", "300"])
def test_failures_are_wrapped(run, monkeypatch, columns: str) -> None:
    """At the terminal's width, at 80 columns without one; no word is broken."""
    monkeypatch.setenv("COLUMNS", columns)
    ran = run("estimate", "none.dxf", "--stone", "granit")
    run("demo")
    whole = run("estimate", DRAWING, "--explain", "nothing")
    for one in (ran, whole):
        assert one.code in {2, 3}
        assert max(map(len, one.shown.splitlines())) <= min(100, int(columns or 80))
        assert " ".join(one.shown.split()) == " ".join(one.err.split())
    assert "metal-1/flat-polish" in whole.shown


def test_lengths_that_differ_say_why(run) -> None:
    """Eased edge, 7.194 m in the estimate and 6.44 m in the price: both say where the rest is."""
    run("demo")
    estimate = run("estimate", OTHER).out
    assert re.search(r"eased +7\.194 ", estimate)
    assert "Radius corners included; edgetime price has them as separate items." in estimate
    price = " ".join(run("price", OTHER).out.split())
    assert re.search(r"eased 6\.44 m ", price)
    assert (
        "Edge by length leaves out radius corners and cutouts, priced each; with them the estimate "
        "has 7.19 m of eased." in price
    )
    assert "leaves out" not in run("price", "--lengths", "eased=3 m").out


def test_a_comparison_says_which_area_it_counts(run) -> None:
    """Gross, as a shift does; the take-off has it net."""
    run("demo")
    out = run("compare", DRAWING, "--with", "feed-override=110%").out
    assert "Areas with the openings in them, as kitchens are sold; takeoff leaves them out." in out
