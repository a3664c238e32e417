"""``edgetime forecast``, as a tooling buyer uses it."""

from __future__ import annotations

import csv
import io
import re
import subprocess
import sys
import zipfile
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

FROM = ("--from", "2027-01-04")

METRES = """date,name,metres,stone,thickness,quantity,probability
2027-02-01,Flats,eased=60; seam=4,quartz,20 mm,3,80 %
2027-03-01,Lobby,ogee=12,granite,30 mm,1,50 %
"""


@pytest.fixture
def pipeline(tmp_path: Path) -> str:
    """Write a pipeline of metres and return its name."""
    (tmp_path / "jobs.csv").write_text(METRES, encoding="utf-8")
    return "jobs.csv"


def edit(path: Path, old: str, new: str) -> None:
    """Replace a text that stands once in a file."""
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), encoding="utf-8")


def test_screen_answers_what_by_when_and_why(run, pipeline) -> None:
    """The order with its day, pieces and cost, then the reason: at hand, use, lead time."""
    ran = run("forecast", "--pipeline", pipeline, *FROM, "--on-hand", "polish-1=1")
    assert ran.code == 0, ran.err
    head, why = ran.out.split("\nWhy\n")
    (row,) = [line for line in head.splitlines() if " fine-1/ogee " in line]
    # One piece of a wheel that the only job in ogee wants on the first of March, 14 d before.
    assert re.fullmatch(r"2027-02-15 fine-1/ogee +1 +130\.00 +130\.00 EUR +-", row)
    assert "polish-1: 1 new on hand" in why
    assert re.search(r"None on hand, needed from 2027-03-01, lead time 14 d", why)
    assert max(map(len, ran.out.splitlines())) <= 80
    assert "…" not in ran.out


@pytest.mark.parametrize("show", ["tools", "weeks", "orders"])
def test_screens_and_tables(run, pipeline, show: str) -> None:
    """Each view fits 80 columns, and has a CSV table as wide as its header."""
    words = ("forecast", "--pipeline", pipeline, *FROM, "--show", show)
    screen = run(*words)
    assert screen.code == 0, screen.err
    assert max(map(len, screen.out.splitlines())) <= 80
    rows = list(csv.reader(io.StringIO(run(*words, "--format", "csv").out)))
    assert len(rows) > 3
    assert {len(row) for row in rows} == {len(rows[0])}
    for row in rows[1:]:
        for name, cell in zip(rows[0], row, strict=True):
            if cell and name.endswith(("_pieces", "_d")):
                float(cell)
            if cell and name in {"order_by", "monday", "run_out_at_service"}:
                date.fromisoformat(cell)


def test_document_agrees_with_the_tables(run, pipeline) -> None:
    """Orders add up to the cent; days are lead times before the run-out."""
    document = run("forecast", "--pipeline", pipeline, *FROM, "--format", "json").json()
    assert document["schema"] == "edgetime.forecast/1"
    assert document["ledger"] is None
    total = Decimal(0)
    for order in document["orders"]:
        for line in order["lines"]:
            assert Decimal(line["cost"]) == Decimal(line["price"]) * line["order_pieces"]
            total += Decimal(line["cost"])
    assert document["cost"] == [{"currency": "EUR", "amount": f"{total:f}"}]
    for tool in document["tools"]:
        if tool["order_by"]:
            wanted = date.fromisoformat(tool["run_out_at_service"])
            assert wanted - date.fromisoformat(tool["order_by"]) == timedelta(days=14)
        weeks = sum(w["mean_pieces"] for w in tool["weeks"])
        assert weeks == pytest.approx(tool["use"]["mean_pieces"])
    assert {f["code"] for f in document["findings"]} == {"forecast-no-ledger"}


def test_service_levels_are_written_as_people_do(run, pipeline) -> None:
    """95, 95 % and 0.95 are one level; 99 orders no less."""
    words = ("forecast", "--pipeline", pipeline, *FROM, "--format", "json", "--service")
    first, *others = (run(*words, level).json() for level in ("95", "95 %", "0.95"))
    assert all(other == first for other in others)
    high = run(*words, "99").json()
    needed = {t["piece"]: t["needed_pieces"] for t in high["tools"]}
    assert all(needed[t["piece"]] >= t["needed_pieces"] for t in first["tools"])
    assert sum(needed.values()) > sum(t["needed_pieces"] for t in first["tools"])


def test_supplier_lead_time_and_sets(run, pipeline, tmp_path) -> None:
    """What the tools' files say of trade stands in the order list of the supplier."""
    assert run("init", "my-shop").code == 0
    tools = tmp_path / "my-shop" / "tools"
    for number in (1, 2, 3):
        trade = 'pack = 3\nsupplier = "north"\nlead_time = "3 weeks"\nminimum_order = 2\n'
        edit(tools / f"polish-{number}.toml", "pack = 3\n", trade)
    words = ("forecast", "--pipeline", pipeline, *FROM, "--shop", "my-shop", "--show", "orders")
    ran = run(*words, "--supplier", "north", "--format", "csv")
    assert ran.code == 0, ran.err
    rows = list(csv.DictReader(io.StringIO(ran.out)))
    assert {row["piece"] for row in rows} == {"polish-1", "polish-2", "polish-3"}
    assert {row["order_by"] for row in rows} == {"2027-01-11"}
    assert len({row["order_pieces"] for row in rows}) == 1
    assert all(int(row["order_pieces"]) == 3 * int(row["packs"]) for row in rows)
    wrong = run(*words, "--supplier", "nroth")
    assert wrong.code == 2
    assert "north" in wrong.err


@pytest.mark.parametrize("name", ["order.html", "order.pdf"])
def test_order_sheet(run, pipeline, tmp_path, name: str) -> None:
    """The sheet has the sum of the document, on the paper asked for; the screen stays."""
    if name.endswith("pdf"):
        pytest.importorskip("weasyprint")
    words = ("forecast", "--pipeline", pipeline, *FROM, "--sheet", name, "--paper", "letter")
    ran = run(*words)
    assert ran.code == 0, ran.err
    assert f"Wrote {name}" in ran.err
    assert "What to order by when" in ran.out
    document = run(*words, "--format", "json").json()
    assert document["sheet"] == name
    content = (tmp_path / name).read_bytes()
    if name.endswith("pdf"):
        assert content.startswith(b"%PDF")
        return
    (total,) = document["cost"]
    assert f"{total['amount']} {total['currency']}" in content.decode()
    assert content.count(b"<tr>") == 2 + sum(len(o["lines"]) for o in document["orders"])


def test_numbers_of_the_workbook_are_numbers(run, pipeline, tmp_path) -> None:
    """Quantity, price and cost are numbers, and their product is right in each row."""
    words = ("forecast", "--pipeline", pipeline, *FROM, "--show", "orders", "--xlsx", "order.xlsx")
    assert run(*words).code == 0
    with zipfile.ZipFile(tmp_path / "order.xlsx") as book:
        sheet = book.read("xl/worksheets/sheet2.xml").decode()
    rows = re.findall(r"<row .*?</row>", sheet, re.DOTALL)[1:-1]
    assert len(rows) > 5
    for row in rows:
        numbers = [
            float(n)
            for n in re.findall(r'<c r="\w+"(?: s="\d+")?>(?:<f>[^<]*</f>)?<v>([\d.]+)</v>', row)
        ]
        quantity, packs, price, cost = numbers
        assert cost == pytest.approx(quantity * price)
        assert packs <= quantity


def test_the_shops_calendar_and_stock_limits(run, tmp_path) -> None:
    """Days off of shop.toml move an order; a stock limit divides it, a longer one is a finding."""
    assert run("init", "my-shop").code == 0
    (tmp_path / "jobs.csv").write_text(
        "date,metres,stone,thickness,quantity\n2027-02-01,eased=60,granite,30 mm,20\n"
        "2027-03-01,eased=60,granite,30 mm,20\n",
        encoding="utf-8",
    )
    ask = ("forecast", "--pipeline", "jobs.csv", *FROM, "--shop", "my-shop", "--format", "json")

    def pads() -> tuple[list[tuple[str, int]], set[str]]:
        document = run(*ask).json()
        lines = [line for order in document["orders"] for line in order["lines"]]
        found = [(o["order_by"], o["order_pieces"]) for o in lines if o["piece"] == "polish-1"]
        return found, {f["code"] for f in document["findings"]}

    plain, _ = pads()
    assert plain[0][0] == "2027-01-18"  # a Monday, 14 days before the first job
    with (tmp_path / "my-shop" / "shop.toml").open("a", encoding="utf-8") as file:
        file.write('\n[calendar]\ndays_off = ["2027-01-16..2027-01-18"]\n')
    moved, _ = pads()
    assert moved[0][0] == "2027-01-15"
    needed = sum(pieces for _, pieces in plain)
    with (tmp_path / "my-shop" / "shop.toml").open("a", encoding="utf-8") as file:
        file.write("\n[ordering]\nlargest_stock = 6\n")
    limited, codes = pads()
    assert all(pieces <= 6 for _, pieces in limited)
    assert "stock-limit" in codes
    assert sum(pieces for _, pieces in limited) < needed
    tool = tmp_path / "my-shop" / "tools" / "polish-1.toml"
    edit(tool, "pack = 3\n", f"pack = 3\nlargest_stock = {needed + 3}\n")
    for number in (2, 3):
        other = tmp_path / "my-shop" / "tools" / f"polish-{number}.toml"
        edit(other, "pack = 3\n", f"pack = 3\nlargest_stock = {needed + 3}\n")
    assert sum(pieces for _, pieces in pads()[0]) == needed


def test_a_calendar_that_cannot_be_read(run, pipeline, tmp_path) -> None:
    """Days that are none are told with file, line and what is allowed."""
    assert run("init", "my-shop").code == 0
    with (tmp_path / "my-shop" / "shop.toml").open("a", encoding="utf-8") as file:
        file.write('\n[calendar]\ndays_off = ["24.12.2027"]\nworkdays = ["mon"]\n')
    ran = run("forecast", "--pipeline", pipeline, "--shop", "my-shop")
    assert ran.code == 3
    assert "shop.toml" in ran.err
    assert "24.12.2027" in ran.err
    assert "Did you mean monday" in ran.err


def test_a_buyers_week(run) -> None:
    """Receive pads, mount, enter use, ask: the ledger's stock and retirements are heeded."""
    assert run("demo", "--into", "shop").code == 0
    book = ("--shop", "shop")
    ask = ("forecast", "--pipeline", "shop/pipeline.csv", *book, *FROM, "--format", "json")

    def pads() -> dict:
        document = run(*ask).json()
        return next(t for t in document["tools"] if t["piece"] == "polish-3")

    before = pads()
    assert (before["on_hand_new"], before["life_rests_on"]) == (0, "catalogue")
    assert before["needed_pieces"] > 0
    assert run("ledger", "receive", "polish-3", "--count", "6", *book).code == 0
    received = pads()
    assert received["on_hand_new"] == 6
    assert received["needed_pieces"] == max(0, before["needed_pieces"] - 6)
    assert run("ledger", "mount", "polish-3", "--pocket", "5", *book).code == 0
    serial = "polish-3-001"
    assert run("ledger", "adjust", serial, "--share=+90%", "--note", "a week", *book).code == 0
    used = pads()
    assert used["on_hand_new"] == 5
    assert used["in_service_used_lives"] == pytest.approx([0.9])
    assert run("ledger", "retire", serial, "--reason", "worn", *book).code == 0
    retired = pads()
    assert retired["in_service_used_lives"] == []
    assert retired["life_rests_on"] == "few"
    assert run(*ask).json()["ledger"].endswith("ledger.sqlite")


def test_everything_wrong_with_a_pipeline_at_once(run, tmp_path) -> None:
    """All faults in one go, each with file, line and column, in both forms."""
    (tmp_path / "jobs.csv").write_text(
        "date,drawing,metres,stone,quantity,probability\n"
        "1.2.2027,,eased=1,granite,1,1\n"
        "2027-02-01,gone.dxf,,granite,1,1\n"
        "2027-02-01,,eazed=1,granite,1,1\n"
        "2027-02-01,,eased=1,granit,-2,150 %\n",
        encoding="utf-8",
    )
    words = ("forecast", "--pipeline", "jobs.csv", *FROM)
    ran = run(*words)
    assert (ran.code, ran.out) == (3, "")
    for place in ("2, date", "3, drawing", "4, metres", "5, stone", "5, quantity"):
        assert f"jobs.csv:{place}" in ran.err
    document = run(*words, "--format", "json").json()
    assert document["schema"] == "edgetime.error/1"
    assert document["code"] == "pipeline-invalid"
    assert len(document["others"]) == 5


@pytest.mark.parametrize(
    "words",
    [
        ("--service", "100"),
        ("--service", "30"),
        ("--service", "often"),
        ("--on-hand", "polish-1"),
        ("--on-hand", "polish-1=-1"),
        ("--on-hand", "polish-9=1"),
        ("--on-hand", "polish-1/ogee=1"),
        ("--on-hand", "metal-1=1"),
        ("--on-hand", "metal-1/oge=1"),
        ("--from", "4.1.2027"),
        ("--review", "-1"),
        ("--review", "weekly"),
        ("--supplier", "north"),
        ("--sheet", "order.docx"),
        ("--paper", "letter"),
        ("--show", "all"),
        ("--seed", "-1"),
    ],
    ids=" ".join,
)
def test_wrong_use(run, pipeline, words) -> None:
    """Options that make no sense end with 2 and name themselves."""
    ran = run("forecast", "--pipeline", pipeline, *words)
    assert (ran.code, ran.out) == (2, "")
    assert words[0] in ran.err


def test_ledger_that_is_none(run, pipeline, tmp_path) -> None:
    """A ledger that cannot be read ends with 5, one that is not there too."""
    (tmp_path / "no.sqlite").write_text("no ledger", encoding="utf-8")
    for name in ("no.sqlite", "gone.sqlite"):
        ran = run("forecast", "--pipeline", pipeline, "--ledger", name)
        assert (ran.code, ran.out) == (5, "")
        assert name in ran.err


def test_statistics_are_not_loaded_by_other_commands(drawings) -> None:
    """Scipy and the database serve this command alone: an estimate loads neither."""
    code = "import sys; from edgetime.cli.app import app\ntry: app({})\nexcept SystemExit: pass\n"
    code += "print([m for m in ('scipy', 'sqlalchemy', 'edgetime.forecast') if m in sys.modules])"
    for args in (["--help"], ["estimate", str(drawings[0]), "--format", "json"]):
        done = subprocess.run(
            [sys.executable, "-c", code.format(args)], capture_output=True, text=True, check=True
        )
        assert done.stdout.splitlines()[-1] == "[]"
