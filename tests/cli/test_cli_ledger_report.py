"""``edgetime ledger report`` on screen, as CSV, JSON and workbook."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from support.ledgers import FakeConsumables, FakeMeasure, FakeToolWear, FakeWear

from edgetime.ledger import open_ledger

LONG = "Kitchen and utility room of the Hotel Adler, second floor"


@pytest.fixture
def books(tmp_path):
    """Keep the books of two wheels bought in two currencies, each with a run of 100 m."""
    place = tmp_path / "books.sqlite"
    with open_ledger(place) as ledger:
        for day, (serial, currency) in enumerate((("E1", "EUR"), ("U1", "USD")), 10):
            at = datetime(2026, 1, day, 12, tzinfo=UTC)
            ledger.receive(
                "metal-1", profile="half-bullnose", serials=[serial], price=Decimal(80),
                currency=currency, supplier=f"Works of {serial}", at=at,
            )  # fmt: skip
            ledger.mount(serial, pocket=1, at=at)
            length = FakeMeasure("length", 0.05)
            tool = FakeToolWear(
                "metal-1/half-bullnose", contact_mm=1e5, cut_s=3600.0, measures=(length,)
            )
            wear = FakeWear((tool,), FakeConsumables(360.0, 4.5), "medium")
            load = LONG if serial == "E1" else "Bath"
            for run, actual in ((1, None), (2, 0.5)):
                ledger.post_run(wear, digest=serial, load_name=load, run=run, actual=actual, at=at)
        ledger.retire("U1", reason="broken", at=datetime(2026, 1, 20, 12, tzinfo=UTC))
    return place


@pytest.mark.parametrize("by", ["month", "job", "machine", "tool", "supplier", "batch"])
def test_every_report_fits_the_screen(run, books, by: str) -> None:
    """Within 80 columns, with long names, and the currencies in rows of their own."""
    ran = run("ledger", "report", "--ledger", books, "--by", by)
    assert (ran.code, ran.err) == (0, "")
    assert max(map(len, ran.out.splitlines())) <= 80
    heads = [row for row in ran.out.splitlines() if row.startswith(by.capitalize())]
    assert ("Water l" in heads[0]) == (by in {"month", "job", "machine"})
    assert ("Stock" in heads[0]) == (by != "job")
    assert {"EUR", "USD"} <= set(ran.out.split())


def test_csv_has_each_figure_once(run, books) -> None:
    """A month with two currencies has two rows; what has no currency is in the first."""
    ran = run("ledger", "report", "--ledger", books, "--format", "csv")
    euro, dollar = csv.DictReader(io.StringIO(ran.out))
    assert (euro["group"], dollar["group"]) == ("2026-01", "2026-01")
    assert (euro["runs"], dollar["runs"]) == ("4", "")
    # 5 % and 2.5 % of 80.00 in 150 m, each.
    assert (euro["currency"], euro["cost"], euro["spent"]) == ("EUR", "6", "80")
    assert (dollar["currency"], dollar["cost"], dollar["written_off"]) == ("USD", "6", "74")
    assert (euro["cost_per_m"], dollar["cost_per_m"]) == ("0.04", "0.04")
    assert (euro["paid_per_m"], dollar["paid_per_m"]) == ("0.04", "0.533333")
    assert (euro["stock_value"], dollar["stock_value"]) == ("74", "0")
    assert float(euro["contact_mm"]) == 300e3
    assert float(euro["charged_mm"]) + float(dollar["charged_mm"]) == 300e3
    # 360 l, half of them, and both again.
    assert (float(euro["water_l"]), dollar["water_l"]) == (1080.0, "")


def test_json_and_workbook(run, books, tmp_path) -> None:
    """The document has the whole report, the workbook a sheet for each table."""
    target = tmp_path / "report.xlsx"
    ran = run("ledger", "report", "--ledger", books, "--format", "json", "--xlsx", target)
    document = ran.json()
    assert document["schema"] == "edgetime.ledger-report/1"
    assert len(document["last_hash"]) == 64
    assert [r["actual_over_predicted"] for r in document["actual_runs"]] == [0.5, 0.5]
    assert [e["serial"] for e in document["ended_lives"]] == ["U1"]
    with zipfile.ZipFile(target) as book:
        names = book.read("xl/workbook.xml").decode()
    assert all(f'name="{name}"' in names for name in ("Use", "Money", "Lives", "Runs"))


def test_the_workbook_keeps_money_in_the_unit_of_its_heading(run, books, tmp_path) -> None:
    """6.00 EUR over 150 m are 0.04 a metre, 0.012192 a foot; amounts show two decimals."""
    target = tmp_path / "report.xlsx"
    for units, cost in (("metric", 0.04), ("imperial", 0.04 * 0.3048)):
        run("ledger", "report", "--ledger", books, "--units", units, "--xlsx", target)
        with zipfile.ZipFile(target) as book:
            money = book.read("xl/worksheets/sheet3.xml").decode()
            styles = book.read("xl/styles.xml").decode()
        cells = [float(v) for v in re.findall(r"<v>([0-9.]+)</v>", money)]
        assert any(abs(v - cost) < 1e-9 for v in cells), cells
        assert any(v == 6.0 for v in cells)
        assert 'formatCode="0.0000"' in styles


def test_feet(run, books) -> None:
    """In inches and feet the cost is that of a foot: 0.04 for a metre is 0.0122."""
    ran = run("ledger", "report", "--ledger", books, "--units", "imperial")
    assert "Edge ft" in ran.out
    assert "Cost per ft" in ran.out
    assert "0.0122" in ran.out


def test_a_period(run, books) -> None:
    """The last day is part of it; a period that ends before it begins is refused."""
    ran = run("ledger", "report", "--ledger", books, "--from", "2026-01-10", "--to", "2026-01-10")
    assert "from 2026-01-10 to 2026-01-10" in " ".join(ran.out.split())
    assert "USD" not in ran.out
    ran = run("ledger", "report", "--ledger", books, "--from", "2026-03-01", "--to", "2026-02-01")
    assert ran.code == 2
    assert "ends before it begins" in ran.err
    ran = run("ledger", "report", "--ledger", books, "--from", "2027-01-01")
    assert "No entries in that period." in ran.out
