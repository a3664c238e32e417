"""The command compare, as an owner uses it."""

from __future__ import annotations

import csv
import io
from decimal import Decimal, localcontext

import pytest

WITH = ("--with", "stack=fast-metal", "--with", "machine=large,rate=55")


def test_document(run, drawings) -> None:
    """Set-ups in order, money as decimal texts, savings as differences, the estimate's digest."""
    document = run("compare", drawings[0], *WITH, "--format", "json").json()
    assert document["schema"] == "edgetime.compare/1"
    before, fast, large = document["setups"]
    assert (before["with"], fast["with"]) == (None, "stack=fast-metal")
    with localcontext(prec=50):
        for row in (fast, large):
            assert Decimal(before["cost"]) - Decimal(row["cost"]) == Decimal(row["saving"])
    estimate = run("estimate", drawings[0], "--format", "json").json()
    assert before["machine_s"] == pytest.approx(estimate["total_s"])
    assert document["digests"] == [estimate["digest"]]
    quick = run("estimate", drawings[0], "--stack", "fast-metal", "--format", "json").json()
    assert fast["machine_s"] == pytest.approx(quick["total_s"])


def test_labour_is_the_labour_of_the_estimate(run, drawings) -> None:
    """The row bears the word the estimate has for it; ``Handling`` there is without set-up."""
    estimate = run("estimate", drawings[0], "--format", "json").json()
    labour = estimate["labour"]["total_s"]
    assert labour > estimate["attended_s"] + 60.0
    document = run("compare", drawings[0], *WITH, "--format", "json").json()
    assert document["setups"][0]["attended_s"] == pytest.approx(labour)
    rows = [r.split() for r in run("compare", drawings[0], *WITH).out.splitlines() if r]
    (shown,) = (r for r in rows if r[0] == "labour,")
    assert shown[1:3] == ["min:s", f"{int(labour + 0.5) // 60}:{int(labour + 0.5) % 60:02d}"]


def test_table_fits_eighty_columns_in_plain_letters(spawn, drawings) -> None:
    """Five set-ups side by side keep within 80 columns, in ASCII, with every figure's row."""
    setups = [
        bit
        for text in (
            "stack=fast-metal,purchase=1800", "machine=large", "machine=small",
            "feed-override=110%", "feed-override=90%",
        )
        for bit in ("--with", text)
    ]  # fmt: skip
    ran = spawn("compare", *drawings, *setups, "--explain", "all", PYTHONIOENCODING="ascii")
    assert ran.code == 0, ran.err
    assert max(map(len, ran.out.splitlines())) <= 80
    assert "?" not in ran.out
    for row in ("loads per shift", "saves per load", "break-even, loads", "cost per m"):
        assert row in ran.out


def test_csv_has_a_row_for_each(run, drawings) -> None:
    """One row per set-up, refused ones with their reason, each drawing a load of its own."""
    ran = run("compare", *drawings, "--each", *WITH, "--with", "stack=marble", "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(ran.out)))
    assert [r["with"] for r in rows] == [
        "",
        "stack=fast-metal",
        "machine=large,rate=55",
        "stack=marble",
    ]
    assert rows[1]["pays"] == "at-once"
    assert "serves marble" in rows[3]["why_not"]


def test_imperial_tables(run, drawings) -> None:
    """Feet and square feet on wish; a foot costs 0.3048 of a metre."""
    metric = run("compare", drawings[0], *WITH).out
    imperial = run("compare", drawings[0], *WITH, "--units", "imperial").out
    assert "m2 per shift" in metric
    assert "sq ft per shift" in imperial
    assert "cost per ft" in imperial


@pytest.mark.parametrize(
    ("args", "code"),
    [
        ((), 2),
        (("--with", "stak=x"), 2),
        (("--with", "machine=larg"), 2),
        (("--with", "stack=marble"), 4),
    ],
)
def test_bad_set_ups_end_with_one_message(run, drawings, args, code) -> None:
    """What, where and what to do once on the error stream, the document in JSON."""
    ran = run("compare", drawings[0], *args)
    assert (ran.code, ran.out) == (code, "")
    assert ran.err.count("edgetime: ") == 1
    assert "what to do:" in ran.err
    told = run("compare", drawings[0], *args, "--format", "json").json()
    assert told["schema"] == "edgetime.error/1"


def test_a_feed_that_was_not_tried_makes_no_promise(run, drawings, tmp_path) -> None:
    """A fast stack beyond the range of [taylor]: unknown cost and payback, a warning, its place."""
    folder = tmp_path / "my-shop"
    assert run("init", folder).code == 0
    path = folder / "tools/metal-2.toml"
    text = path.read_text(encoding="utf-8")
    taylor = '\n[taylor]\nexponent = 0.333\nrange = ["1.5 m/min", "3 m/min"]\n'
    path.write_text(text + taylor, encoding="utf-8")
    args = ("compare", drawings[0], "--shop", folder, "--with", "stack=fast-metal")
    ran = run(*args)
    assert ran.code == 0
    assert run(*args, "--strict").code == 1
    rows = {" ".join(line.split()[:-2]): line.split()[-2:] for line in ran.out.splitlines()}
    for name in ("worn tools, EUR", "cost, EUR", "cost per m, EUR"):
        assert rows[name][-1] == "unknown"
        assert rows[name][0] != "unknown"
    assert rows["saves per load, EUR"] == rows["break-even, loads"] == ["-", "unknown"]
    # Times do not hang on lives: they are known, and the faster stack makes no fewer loads.
    before, after = (int(cell) for cell in rows["loads per shift"])
    assert after >= before > 0
    text = " ".join(ran.out.split())
    assert "runs metal-2 at 8.89 m/min; the tested range is 1.5 to 3 m/min" in text
    told = run(*args, "--explain", "saving")
    assert told.code == 2
    assert "No alternative has the figure" in told.err
    for name in ("cycle", "loads", "area"):
        assert run(*args, "--explain", name).code == 0


def test_every_step_whose_life_follows_the_feed_is_counted(run, drawings) -> None:
    """The demo's first metal has two steps, both at other feeds in the fast stack."""
    args = ("compare", drawings[0], "--shop", "edgetime-demo", "--with", "stack=fast-metal")
    run("demo")
    said = {f["code"]: f["message"] for f in run(*args, "--format", "json").json()["findings"]}
    assert "metal-1 (step metal-1-round) at 1.143 m/min" in said["life-by-feed"]
    assert "and 1 more" in said["life-by-feed"]
