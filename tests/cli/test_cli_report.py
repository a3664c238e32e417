"""The page and the set-up sheet say what the JSON of the commands says, to the last digit."""

from __future__ import annotations

import math
import re
from decimal import ROUND_HALF_EVEN, Decimal
from html.parser import HTMLParser
from pathlib import Path

import pytest

DEMO = ("edgetime-demo/cafe-counters.dxf", "edgetime-demo/cafe-washroom.dxf")
SHOP = ("--shop", "edgetime-demo")


class Tables(HTMLParser):
    """Reads the tables of a page by their captions, cell by cell; and all of its text."""

    def __init__(self) -> None:
        super().__init__()
        self.found: dict[str, list[list[str]]] = {}
        self.rows: list[list[str]] = []
        self.caption = ""
        self.inside = ""
        self.text: list[str] = []

    def handle_starttag(self, tag, _attrs):
        if tag == "table":
            self.rows, self.caption = [], ""
        elif tag == "tr":
            self.rows.append([])
        elif tag in {"td", "th"}:
            self.rows[-1].append("")
        self.inside = tag

    def handle_endtag(self, tag):
        if tag == "table":
            self.found.setdefault(self.caption, []).extend(self.rows)
        self.inside = ""

    def handle_data(self, data):
        self.text.append(data)
        if self.inside == "caption":
            self.caption += data
        elif self.inside in {"td", "th"}:
            self.rows[-1][-1] += data

    def table(self, begins: str) -> list[dict[str, str]]:
        """Return the rows of the only table whose caption begins so, by heading."""
        (rows,) = [rows for name, rows in self.found.items() if name.startswith(begins)]
        return [dict(zip(rows[0], row, strict=True)) for row in rows[1:]]


def read(path: Path) -> Tables:
    found = Tables()
    found.feed(re.sub(r"<(script|style)\b.*?</\1>", "", path.read_text("utf-8"), flags=re.DOTALL))
    return found


def clock(seconds: float) -> str:
    """Write minutes and seconds as the tables' legend says."""
    if seconds <= 0.0:
        return "-"
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d}" if whole else "<0:01"


def metres(length_mm: float) -> str:
    return f"{length_mm / 1000.0:.3f}"


def money(text: str) -> str:
    """Write an amount with thousands parted by a comma, as the demo's locale has it."""
    return f"{Decimal(text).quantize(Decimal('0.01'), ROUND_HALF_EVEN):,}"


@pytest.fixture
def page(run):
    """Write the demo's page with its price, and read it; the JSON of its command is in ``said``."""
    run("demo")
    ran = run("report", *DEMO, *SHOP, "--price", "-o", "load.html", "--format", "json")
    assert ran.code == 0, ran.err
    found = read(Path("load.html"))
    found.said = ran.json()
    return found


def test_times(run, page):
    """Every term of every visit, each part, each profile, each term of the cycle."""
    json = run("estimate", *DEMO, *SHOP, "--format", "json").json()
    visits = page.table("Tool by tool")
    assert len(visits) == len(json["tools"]) + 1
    terms = ("Change", "Cut", "Lead", "Plunge", "Rapid", "Dwell", "Total")
    for shown, told in zip(visits, json["tools"], strict=False):
        assert shown["Tool"].replace("/ ", "/") == told["piece"]
        assert {t: shown[t] for t in terms} == {t: clock(told[f"{t.lower()}_s"]) for t in terms}
        assert shown["Start"] == (clock(told["starts_s"]) if told["starts_s"] else "0:00")
    sums = {t: clock(sum(v[f"{t.lower()}_s"] for v in json["tools"])) for t in terms}
    assert {t: visits[-1][t] for t in terms} == sums
    for shown, told in zip(page.table("By part (shared"), json["parts"], strict=True):
        assert (shown["Part"], shown["Name"]) == (told["part_id"], told["name"])
        assert shown["Total"] == clock(told["total_s"])
    for shown, told in zip(page.table("By profile"), json["by_profile"], strict=True):
        assert shown["Profile"] == told["profile"]
        assert shown["Total"] == clock(told["total_s"])
        if told["edge_mm"]:
            assert shown["Edge m"] == metres(told["edge_mm"])
    spent = {row["Term"]: row["Time min:s"] for row in page.table("Where the time goes")}
    assert spent.pop("Total") == clock(json["total_s"])
    assert spent == {t.lower(): sums[t] for t in terms[:-1]}
    assert page.said["total_s"] == json["total_s"]


def test_lengths(run, page):
    """Each edge, and each part's area and lengths, are those of the take-off."""
    json = run("takeoff", *DEMO, *SHOP, "--format", "json").json()
    parts = [part for drawing in json["drawings"] for part in drawing["parts"]]
    edges = [e for part in parts for e in part["edges"] if e["place"] != "hole"]
    shown = page.table("Edges")
    assert sorted((e["Length m"], e["Layer"]) for e in shown) == sorted(
        (metres(e["length_mm"]), e["layer"]) for e in edges
    )
    for row, part in zip(page.table("Parts"), parts, strict=False):
        assert row["Area m2"] == f"{part['area_mm2'] / 1e6:.3f}"
        assert row["Outline m"] == metres(part["outline_mm"])


def test_wear(run, page):
    """Length, share of life and cost of each piece."""
    json = run("wear", *DEMO, *SHOP, "--format", "json").json()
    rows = page.table("Wear by tool")
    for shown, told in zip(rows, json["tools"], strict=False):
        assert shown["Tool"] == told["piece"]
        assert shown["Edge m"] == metres(told["contact_mm"])
        assert shown["In cut"] == clock(told["cut_s"])
        assert shown["Cost EUR"] == f"{Decimal(told['cost']):.2f}"
        percent = 100.0 * told["share"]
        assert shown["%"] == (f"{percent:.2f}" if percent < 10.0 else f"{percent:.1f}")
    assert rows[-1]["Tool"] == "Total"


def test_price(run, page):
    """Items, parts, costs and the total; the JSON of the page holds the same quote."""
    json = run("price", *DEMO, *SHOP, "--format", "json").json()
    own = page.said["price"]
    assert {k: v for k, v in own.items() if k != "findings"} == {
        k: json[k] for k in own if k != "findings"
    }
    rows = page.table("Quote")
    assert [row["EUR"] for row in rows[:-1]] == [money(x["amount"]) for x in json["lines"]]
    assert rows[-1]["EUR"] == money(json["net"])
    (parts,) = [rows for name, rows in page.found.items() if name == "By part"]
    amounts = [money(p["amount"]) for p in json["parts"]]
    assert [row[-1] for row in parts] == ["EUR", *amounts, money(json["net"])]
    costs = {row["Cost"]: row["EUR"] for row in page.table("Net price by cost")}
    assert costs.pop("Net") == money(json["net"])
    assert costs == {c["kind"]: money(c["amount"]) for c in json["costs"] if Decimal(c["amount"])}
    assert f"Total {money(json['gross'])} EUR" in "".join(page.text)


def test_the_set_up_sheet(run):
    """Pockets, pieces, starts, cycle and the estimate's digest; speeds in turns a minute."""
    run("demo")
    json = run("estimate", *DEMO, *SHOP, "--format", "json").json()
    assert run("report", *DEMO, *SHOP, "--sheet", "-o", "sheet.html").code == 0
    sheet = read(Path("sheet.html"))
    rows = sheet.table("Tools")
    assert len(rows) == len(json["tools"])
    tools = {
        t["name"]: t for t in run("catalogue", "tools", *SHOP, "--format", "json").json()["tools"]
    }
    for shown, told in zip(rows, json["tools"], strict=True):
        assert shown["Pocket"] == str(told["pocket"])
        assert shown["Work"] == told["operation"]
        assert shown["Start"] == (clock(told["starts_s"]) if told["starts_s"] else "0:00")
        assert int(shown["Edge runs"]) * int(shown["Passes"]) == told["passes"]
        most = tools[told["tool"]]["max_rotation_rad_per_s"] * 30.0 / math.pi
        assert shown["Max. rpm"] == f"{most:.0f}"
    text = "".join(sheet.text)
    assert json["digest"][:12] in text
    whole = round(json["total_s"])
    assert f"{whole // 3600} h {whole // 60 % 60:02d} min {whole % 60:02d} s by estimate" in text


def test_a_load_that_cannot_run_has_no_price(run):
    """The page says so, and says why."""
    run("demo")
    shop = Path("edgetime-demo/machines/medium.toml")
    text = shop.read_text()
    assert 'travel_max = ["3750 mm"' in text
    shop.write_text(text.replace('travel_max = ["3750 mm"', 'travel_max = ["1500 mm"'))
    ran = run("report", DEMO[0], *SHOP, "--price", "-o", "load.html", "--format", "json")
    assert "price" not in ran.json()
    assert {f["severity"] for f in ran.json()["findings"]} >= {"error"}
    text = "".join(read(Path("load.html")).text)
    assert "cannot run as drawn, so it has no price" in text


def test_the_page_shows_what_is_left_of_mounted_tools(run):
    """With the shop's ledger, and by the same figures as the command about it."""
    run("demo")
    run("ledger", "receive", "drum-75", *SHOP)
    run("ledger", "mount", "drum-75", "--pocket", "3", *SHOP)
    ran = run("report", *DEMO, *SHOP, "-o", "load.html", "--format", "json")
    json = run("survive", *DEMO, *SHOP, "--format", "json").json()
    assert ran.json()["survive"]["tools"] == json["tools"]
    (drum,) = [r for r in read(Path("load.html")).table("Chance to finish") if r["In"] == "3"]
    assert drum["Tool"] == "drum-75"
    (told,) = [t for t in json["tools"] if t["piece"] == "drum-75"]
    assert drum["Serial"] == told["serial"]
    assert float(drum["Load"]) == pytest.approx(100.0 * told["share_lives"], abs=0.05)


@pytest.mark.parametrize("option", [("--price",), ("--ledger", "own.sqlite")])
def test_what_is_for_the_page_is_refused_for_the_sheet(run, drawings, option):
    """A slip, before anything is read."""
    ran = run("report", drawings[0], "--sheet", *option)
    assert ran.code == 2
    assert option[0] in ran.err
    assert not list(Path().glob("*.html"))
