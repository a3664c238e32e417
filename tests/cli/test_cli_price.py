"""The commands price and price-list, as an estimator uses them."""

from __future__ import annotations

import csv
import io
import re
import subprocess
import sys
import time
from decimal import Decimal

import ezdxf
import pytest

from edgetime.price.price_lengths import LENGTHS_ERROR

TOLD = "eased=12.4 m, half-bullnose=3 m, cutouts=2, holes=5"


def _sum(rows) -> Decimal:
    return sum((Decimal(r["amount"]) for r in rows), Decimal(0))


def _shop(run, tmp_path, old, new):
    folder = tmp_path / "my-shop"
    assert run("init", folder).code == 0
    path = folder / "shop.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return folder


def test_document_adds_up(run, drawings) -> None:
    """Lines, parts and costs of the JSON document each add up to the net, as decimal texts."""
    ran = run("price", *drawings, "--format", "json")
    assert (ran.code, ran.err) == (0, "")
    document = ran.json()
    assert document["schema"] == "edgetime.price/1"
    assert document["currency"] == "EUR"
    assert isinstance(document["net"], str)
    net = Decimal(document["net"])
    for rows in ("lines", "parts", "costs"):
        assert _sum(document[rows]) == net, rows
    assert net + Decimal(document["tax"]) == Decimal(document["gross"])
    assert {"per_m", "per_ft"} <= set(document["lines"][0])
    estimate = run("estimate", *drawings, "--format", "json").json()
    assert document["machine_s"] == pytest.approx(estimate["total_s"], rel=1e-9)
    assert document["digest"] == estimate["digest"]


def test_csv_adds_up_and_is_plain(run, drawings, tmp_path) -> None:
    """The CSV form has plain numbers and the currency in its column, whatever the locale."""
    shop = _shop(run, tmp_path, 'locale = "en"', 'locale = "de_DE"')
    ran = run("price", *drawings, "--shop", shop, "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(ran.out)))
    by_view = {v: _sum(r for r in rows if r["view"] == v) for v in ("line", "part", "cost")}
    net = next(Decimal(r["amount"]) for r in rows if r["item"] == "net")
    assert set(by_view.values()) == {net}
    assert {r["currency"] for r in rows} == {"EUR"}


def test_quote_by_telephone_in_under_a_minute(spawn) -> None:
    """What is told is priced in a process of its own in well under a minute, error told."""
    began = time.monotonic()
    ran = spawn("price", "--lengths", TOLD)
    assert time.monotonic() - began < 60.0
    assert ran.code == 0
    assert "No drawing" in ran.out
    assert f"{100 * LENGTHS_ERROR:.0f} %" in " ".join(ran.out.split())
    for word in ("eased", "half-bullnose", "cutouts, flat-polish", "holes", "Total"):
        assert word in ran.out


def test_other_commands_do_not_pay_for_prices(drawings) -> None:
    """Neither a help nor an estimate loads the locale data or the rates' formulas."""
    code = (
        "import sys; from edgetime.cli.app import app\n"
        "try: app(sys.argv[1:])\n"
        "except SystemExit: pass\n"
        "loaded = {m.partition('.')[0] for m in sys.modules} & {'babel'}\n"
        "loaded |= {m for m in sys.modules if m.startswith('edgetime.price')}\n"
        "print(loaded, file=sys.stderr)"
    )
    for args in (["price", "--help"], ["estimate", str(drawings[0])]):
        done = subprocess.run(
            [sys.executable, "-c", code, *args], capture_output=True, text=True, check=True
        )
        assert done.stderr.strip() == "set()"


@pytest.mark.parametrize(
    ("locale", "amount"), [("en_US", "1,234.50"), ("de_DE", "1.234,50"), ("fr_FR", "1 234,50")]
)
def test_numbers_are_written_as_the_locale_does(run, tmp_path, locale, amount) -> None:
    """Decimal comma or point and thousands in tables, by the shop's locale."""
    shop = _shop(run, tmp_path, 'locale = "en"', f'locale = "{locale}"')
    path = shop / "shop.toml"
    text = path.read_text(encoding="utf-8").replace("80.00 EUR", "1234.50 EUR")
    path.write_text(text, encoding="utf-8")
    ran = run("price", "--lengths", "eased=2 m", "--shop", shop)
    assert f"Total {amount} EUR" in ran.out
    document = run("price", "--lengths", "eased=2 m", "--shop", shop, "--format", "json").json()
    assert document["net"] == "1234.50"


@pytest.mark.slow
def test_tables_fit_eighty_columns_in_plain_letters(spawn, drawings) -> None:
    """No line is wider than 80 columns, and ASCII terminals get no question marks."""
    for args in (
        ("price", *drawings, "--what-if", "stone=marble", "--explain", "all"),
        ("price-list", "--stone", "quartz"),
    ):
        ran = spawn(*args, PYTHONIOENCODING="ascii")
        assert ran.code == 0, ran.err
        assert max(map(len, ran.out.splitlines())) <= 80
        assert "?" not in ran.out


def test_what_if_stands_beside(run, drawings) -> None:
    """Two changes and one that cannot be made: three documents, one refused."""
    ran = run(
        "price", drawings[0], "--format", "json", "--what-if", "stone=marble",
        "--what-if", "profile=ogee", "--what-if", "stone=sintered stack=standard",
    )  # fmt: skip
    assert ran.code == 0
    document = ran.json()
    made, other, refused = document["what_if"]
    assert made["quote"]["stack"] == "marble"
    assert Decimal(made["quote"]["net"]) < Decimal(document["net"])
    assert Decimal(other["quote"]["net"]) > Decimal(document["net"])
    assert refused["quote"] is None
    assert "serves" in refused["refused"]
    for one in (made, other):
        assert _sum(one["quote"]["lines"]) == Decimal(one["quote"]["net"])


def _plain(ran) -> str:
    return " ".join(ran.out.split())


def test_what_a_what_if_leaves_out_is_told_below_it(run, drawings) -> None:
    """Mitred edges are made elsewhere and not in the price: a smaller sum is no saving."""
    ran = run("price", drawings[0], "--what-if", "stone=marble", "--what-if", "profile=mitre")
    table, _, below = _plain(ran).partition("cycle, min")
    assert "elsewhere-not-priced" not in table
    assert "2 warning elsewhere-not-priced" in below
    assert "m of mitre are made elsewhere" in below
    assert "1 warning" not in below


def test_what_if_that_lies_on_no_table_is_told(run, drawings, tmp_path) -> None:
    """The errors of a what-if are its own; the job as it is has none."""
    shop = _shop(run, tmp_path, 'machine = "medium"', 'machine = "medium"')
    path = shop / "machines" / "small.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('"3000 mm", "1800 mm"', '"1000 mm", "800 mm"'), encoding="utf-8")
    args = ("price", drawings[0], "--shop", shop, "--what-if", "machine=small")
    below = _plain(run(*args)).partition("cycle, min")[2]
    assert "1 error load-larger-than-table" in below
    (made,) = run(*args, "--format", "json").json()["what_if"]
    assert "load-larger-than-table" in {f["code"] for f in made["quote"]["findings"]}


def test_refused_what_if_is_no_table(run) -> None:
    """Nothing to compare is no table; the reason stands there, and in the CSV form too."""
    args = ("price", "--lengths", TOLD, "--what-if", "stack=marble")
    told = _plain(run(*args))
    assert "As it is" not in told
    assert "1 stack=marble: cannot be made. Stack 'marble' serves" in told
    rows = list(csv.DictReader(io.StringIO(run(*args, "--format", "csv").out)))
    (refused,) = [r for r in rows if r["view"] == "refused"]
    assert refused["what_if"] == "stack=marble"
    assert "serves" in refused["name"]


def test_many_what_ifs_are_told_in_blocks(run) -> None:
    """Ten changes of a dear job: every row keeps its name, no line is wider than 80 columns."""
    args = [x for i in range(10) for x in ("--what-if", f"feed={40 + 5 * i}%")]
    ran = run("price", "--lengths", "ogee=400 m", *args)
    lines = ran.out.splitlines()
    assert max(map(len, lines)) <= 80
    heads = [text.split() for text in lines if "As it is" in text]
    assert len(heads) > 1
    assert [x for head in heads for x in head[3:]] == [str(i) for i in range(1, 11)]
    for name in ("machine", "difference", "net", "cycle, min"):
        rows = [text for text in lines[lines.index("What if (EUR)") :] if text.startswith(name)]
        assert len(rows) == len(heads)


def test_load_larger_than_the_table_says_so_above_its_price(run, drawings, tmp_path) -> None:
    """What cannot run has no price but by force; the errors stand in its first lines."""
    shop = _shop(run, tmp_path, 'machine = "medium"', 'machine = "small"')
    path = shop / "machines" / "small.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('"3000 mm", "1800 mm"', '"1000 mm", "800 mm"'), encoding="utf-8")
    refused = run("price", drawings[0], "--shop", shop)
    assert (refused.code, refused.out) == (4, "")
    assert "cannot run as drawn" in " ".join(refused.err.split())
    assert "--force" in " ".join(refused.err.split())
    told = run("price", drawings[0], "--shop", shop, "--format", "json")
    assert (told.code, told.json()["code"]) == (4, "cannot-run")
    forced = run("price", drawings[0], "--shop", shop, "--force")
    assert forced.code == 0
    assert forced.out.splitlines()[0].startswith("This load cannot run as drawn: ")
    above, _, below = _plain(forced).partition("Quote (")
    assert "load-larger-than-table: The load measures" in above
    assert "error load-larger-than-table" in below
    assert "What to do: " in below
    assert "cannot run" not in run("price", drawings[0]).out
    first = run("estimate", drawings[0], "--shop", shop).out.splitlines()[0]
    assert first.startswith("This load cannot run as drawn: ")


def test_imperial_quotes_have_feet(run) -> None:
    """Told 40 ft, the quote says 40.00 ft: 12.192 m of JSON's."""
    args = ("price", "--lengths", "eased=40 ft")
    (row,) = [x for x in run(*args, "--units", "imperial").out.splitlines() if x[:5] == "eased"]
    quantity, unit, per_ft, per_m, amount = row.split()[1:6]
    assert (quantity, unit) == ("40.00", "ft")
    assert float(per_ft) * 40.0 == pytest.approx(float(amount), abs=0.2)
    assert float(per_m) == pytest.approx(float(per_ft) / 0.3048, abs=0.02)
    (row,) = [x for x in run(*args).out.splitlines() if x[:5] == "eased"]
    assert row.split()[1:3] == ["12.19", "m"]
    (told,) = run(*args, "--units", "imperial", "--format", "json").json()["lines"]
    assert (float(told["quantity"]), told["unit"]) == (pytest.approx(12.192), "m")


def test_tax_line_by_line_stands_beside_its_lines(run, tmp_path) -> None:
    """With tax_at = "line" the table, CSV and JSON have the tax of each line; they add up."""
    shop = _shop(run, tmp_path, 'tax = "0 %"', 'tax = "19 %"\ntax_at = "line"')
    path = shop / "shop.toml"
    text = path.read_text(encoding="utf-8").replace('tax_at = "total"', "", 1)
    path.write_text(text, encoding="utf-8")
    args = ("price", "--lengths", TOLD, "--shop", shop)
    document = run(*args, "--format", "json").json()
    taxes = [Decimal(x["tax"]) for x in document["lines"]]
    assert sum(taxes) == Decimal(document["tax"]) > 0
    rows = list(csv.DictReader(io.StringIO(run(*args, "--format", "csv").out)))
    assert [Decimal(r["tax"]) for r in rows if r["tax"]] == taxes
    shown = run(*args).out.split("Quote")[1].split("Net price by cost")[0].splitlines()
    assert [Decimal(x.split()[-1]) for x in shown[3 : 3 + len(taxes)]] == taxes
    assert shown[1].split()[-1] == "Tax"
    # The band is of the net price; the total beside it has the tax in it.
    band = re.search(r"from ([\d.,]+) EUR to ([\d.,]+) EUR net\.", _plain(run(*args)))
    assert band is not None
    low, high = (Decimal(x.replace(",", "")) for x in band.groups())
    assert low < Decimal(document["net"]) < high


def test_small_inquiry_costs_its_minimum_however_far_off(run) -> None:
    """Five holes: the minimum covers whatever the drawing may say."""
    args = ("price", "--lengths", "holes=5")
    assert "the minimum charge of 80.00 EUR covers that" in _plain(run(*args))
    document = run(*args, "--format", "json").json()
    assert document["low"] == document["high"] == document["net"] == "80.00"


def test_no_findings_send_nobody_elsewhere(run, drawings) -> None:
    """Where the estimate found nothing, nothing more is to be read."""
    assert "Findings of the estimate: none." in _plain(run("price", drawings[0]))


def test_figures_of_an_inquiry_are_of_no_drawing(run) -> None:
    """The quantity of a given line is given."""
    ran = run("price", "--lengths", "eased=3 m", "--explain", "all")
    assert "as given with --lengths" in ran.out
    assert "of the drawing" not in _plain(ran).partition("machine-rate =")[2]


def test_outline_without_profile_says_how_to_give_one(run, tmp_path) -> None:
    """Layer, text and default_profile are the ways there are."""
    doc = ezdxf.new("R2010")
    doc.units = ezdxf.units.MM
    corners = [(300, 300), (1500, 300), (1500, 900), (300, 900)]
    doc.modelspace().add_lwpolyline(corners, close=True, dxfattribs={"layer": "OUTLINE"})
    doc.saveas(tmp_path / "nothing.dxf")
    ran = run("price", tmp_path / "nothing.dxf")
    assert ran.code == 4
    for way in ("layer of that profile", "PROFILE: NAME", "default_profile in layers.toml"):
        assert way in " ".join(ran.err.split())


def test_explain_names_file_and_key(run, drawings) -> None:
    """A figure is told with its formula, its factors, and where each stands."""
    ran = run("price", drawings[0], "--explain", "labour", "--format", "json")
    (told,) = ran.json()["explain"]
    rate = next(f for f in told["factors"] if f["name"] == "labour_rate")
    assert rate["file"].endswith("shop.toml")
    assert (rate["key"], rate["written"]) == ("price.labour_rate", "45.00 EUR/h")
    shown = run("price", drawings[0], "--explain", "labour").out
    assert "price.labour_rate" in shown


def test_missing_rates_are_assumed_with_a_note(run, tmp_path) -> None:
    """A shop without [price] gets a price and is told what was assumed."""
    folder = tmp_path / "bare"
    folder.mkdir()
    (folder / "shop.toml").write_text('machine = "medium"\n', encoding="utf-8")
    ran = run("price", "--lengths", TOLD, "--shop", folder)
    assert ran.code == 0
    assert "price-assumed" in ran.out
    stated = run("price", "--lengths", TOLD, "--format", "json").json()
    assumed = run("price", "--lengths", TOLD, "--shop", folder, "--format", "json").json()
    assert assumed["net"] == stated["net"]
    assert next(f["code"] for f in assumed["findings"]) == "price-assumed"


@pytest.mark.parametrize(
    ("args", "code", "what"),
    [
        ((), 2, "Neither a drawing nor --lengths"),
        (("--lengths", "esed=3 m"), 2, "Did you mean eased?"),
        (("--lengths", "eased=3"), 2, "has no unit"),
        (("--lengths", "eased=-3 m"), 2, "above 0 m"),
        (("a.dxf", "--lengths", "eased=3 m"), 2, "do not go together"),
        (("--lengths", "eased=3 m", "--place", "0,0"), 2, "do not go together"),
        (("--lengths", "eased=3 m", "--what-if", "stoen=marble"), 2, "Did you mean stone?"),
        (("--lengths", "eased=3 m", "--machine", "huge"), 2, "No machine 'huge'"),
        (("--lengths", "eased=3 m", "--explain", "profit"), 2, "no figure 'profit'"),
        (("--lengths", "eased=3 m", "--stone", "marble"), 4, "serves"),
        (("none.dxf",), 3, "none.dxf"),
    ],
)
def test_bad_input_is_one_message(run, args, code, what) -> None:
    """One message with a remedy, the exit code of the contract, nothing on standard output."""
    ran = run("price", *args)
    assert (ran.code, ran.out) == (code, "")
    assert ran.err.startswith("edgetime: ")
    assert what in ran.err
    assert "what to do: " in ran.err
    told = run("price", *args, "--format", "json")
    assert told.code == code
    assert told.json()["schema"] == "edgetime.error/1"


def test_mixed_currencies_are_one_error(run, tmp_path) -> None:
    """A tool in dollars among tools in euros: the tool, its file, and what to do."""
    shop = _shop(run, tmp_path, 'locale = "en"', 'locale = "en"')
    path = shop / "tools" / "drum-75.toml"
    path.write_text(path.read_text(encoding="utf-8").replace(" EUR", " USD"), encoding="utf-8")
    ran = run("price", "--lengths", TOLD, "--shop", shop)
    assert ran.code == 3
    assert "drum-75.toml" in ran.err
    assert "one currency" in ran.err


@pytest.mark.parametrize(
    ("name", "old", "new", "key", "what"),
    [
        ("shop.toml", 'locale = "en"', 'locale = "xx"', "price.locale", "'xx' is not a known locale"),
        ("shop.toml", 'round_to = "0.01 EUR"', 'round_to = "0.001 EUR"', "price.round_to",
         "cannot be rounded to 0.001 EUR"),
        ("tools/drum-75.toml", ' EUR"', ' USD"', "price", "drum-75 is priced in USD"),
    ],
)  # fmt: skip
def test_check_says_what_price_would_refuse(
    run, drawings, tmp_path, name, old, new, key, what
) -> None:
    """Both commands say it with file, key and line; an estimate needs no money and runs."""
    shop = _shop(run, tmp_path, 'locale = "en"', 'locale = "en"')
    path = shop / name
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    number = 1 + path.read_text(encoding="utf-8")[: text.index(old)].count("\n")
    for args in (("check", shop), ("price", "--lengths", TOLD, "--shop", shop)):
        ran = run(*args, "--format", "json")
        assert ran.code == 3
        error = ran.json()
        assert what in error["what"]
        where = error["where"]
        assert (where["path"], where["line"], where["key"]) == (str(path), number, key)
    assert run("estimate", drawings[0], "--shop", shop).code == 0


def test_check_counts_only_tools_a_stack_uses(run, tmp_path) -> None:
    """A tool in another currency that no stack names cannot come into a price."""
    shop = _shop(run, tmp_path, 'locale = "en"', 'locale = "en"')
    text = (shop / "tools" / "drum-75.toml").read_text(encoding="utf-8")
    (shop / "tools" / "spare.toml").write_text(text.replace(" EUR", " USD"), encoding="utf-8")
    assert run("check", shop).code == 0


def test_price_list_document(run) -> None:
    """Every line has a price per metre and foot with shares that add up, or says why not."""
    ran = run("price-list", "--thickness", "20", "--profile", "half-bullnose", "--format", "json")
    assert (ran.code, ran.err) == (0, "")
    document = ran.json()
    assert document["schema"] == "edgetime.price-list/1"
    assert document["reference"] == {"edge_mm": 2500.0, "edges": 4, "loads": 2}
    assert {r["stone"] for r in document["rows"]} == {"granite", "marble", "quartz", "sintered"}
    for row in document["rows"]:
        assert (row["per_m"] is None) == (row["why_not"] is not None)
        if row["per_m"] is not None:
            assert sum(row["shares"].values()) == pytest.approx(1.0)


def test_price_list_is_the_price_of_its_edges_on_the_table(run) -> None:
    """The list's metre is that of the same edges told with their number of parts, to 1 %.

    Told, a part's 2.5 m run round its end, so its front is shorter: hence not the same to the cent.
    """
    args = ("--stone", "granite", "--format", "json")
    (row,) = run("price-list", *args, "--thickness", "30", "--profile", "eased").json()["rows"]
    told = run("price", "--lengths", "eased=10 m, parts=4", *args).json()
    assert float(row["per_m"]) == pytest.approx(float(told["net"]) / 10.0, rel=0.01)


def test_price_list_tells_its_findings(run, tmp_path) -> None:
    """What is assumed stands below the table, as with a quote."""
    folder = tmp_path / "bare"
    folder.mkdir()
    (folder / "shop.toml").write_text('machine = "medium"\n', encoding="utf-8")
    args = ("price-list", "--shop", folder, "--stone", "granite", "--thickness", "30")
    assert "note price-assumed" in run(*args).out


def test_impossible_inquiry_has_errors(run, tmp_path) -> None:
    """Told cutouts on a table too small for any: the estimate's errors are told with the price."""
    shop = _shop(run, tmp_path, 'machine = "medium"', 'machine = "small"')
    path = shop / "machines" / "small.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('"3000 mm", "1800 mm"', '"850 mm", "850 mm"'), encoding="utf-8")
    args = ("price", "--lengths", "cutouts=2", "--shop", shop, "--force")
    assert run(*args[:-1]).code == 4
    found = run(*args, "--format", "json").json()["findings"]
    assert "error" in {f["severity"] for f in found}
    assert run(*args, "--strict").code == 1


def test_a_what_if_that_cannot_run_says_each_cause_once(run, drawings, tmp_path) -> None:
    """On a small table dozens of moves leave it; the what-if counts them."""
    shop = _shop(run, tmp_path, 'machine = "medium"', 'machine = "medium"')
    path = shop / "machines" / "small.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('"3000 mm", "1800 mm"', '"1000 mm", "800 mm"'), encoding="utf-8")
    ran = run("price", drawings[0], "--shop", shop, "--what-if", "machine=small")
    assert ran.code == 0
    causes = [x for x in ran.out.splitlines() if x.lstrip().startswith("1  error ")]
    codes = [x.split()[2].rstrip(",:") for x in causes]
    assert codes
    assert len(codes) == len(set(codes))


def test_price_list_shows_what_cannot_be_made(run) -> None:
    """No stack for a thickness, no row lost."""
    ran = run("price-list", "--stone", "granite", "--thickness", "50")
    assert ran.code == 0
    assert "no stack" in ran.out
    ran = run("price-list", "--stone", "granite", "--thickness", "50", "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(ran.out)))
    assert {r["why_not"] for r in rows} == {"no stack"}


@pytest.mark.parametrize(
    ("args", "what"),
    [
        (("--edge", "1 mm"), "0.1 m to 20 m"),
        (("--edge", "0.01"), "edge of 0.01 mm"),
        (("--edge", "20 m"), "does not fit machine medium"),
        (("--edges", "0"), "from 1 to 20"),
        (("--stone", "basalt"), "No stone 'basalt'"),
        (("--profile", "none"), "No profile 'none'"),
        (("--machine", "none"), "No machine 'none'"),
        (("--stack", "none"), "No stack 'none'"),
        (("--stone", "granite", "--thickness", "20", "--explain", "net"), "one at a time"),
    ],
)
def test_price_list_refuses(run, args, what) -> None:
    """Wrong use is exit code 2 and one message."""
    ran = run("price-list", *args)
    assert (ran.code, ran.out) == (2, "")
    assert what in ran.err


@pytest.mark.slow
def test_whole_price_list(run) -> None:
    """The whole shop: eleven profiles in four stones and two thicknesses."""
    document = run("price-list", "--format", "json").json()
    assert len(document["rows"]) == 88
    missing = {r["why_not"] for r in document["rows"] if r["why_not"]}
    assert missing == {"made elsewhere"}
