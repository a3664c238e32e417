"""The command feed, as a shop's owner uses it."""

from __future__ import annotations

import csv
import io
import itertools
import subprocess
import sys
import tomllib
from decimal import Decimal, localcontext

import pytest

TAYLOR = '\n[taylor]\nexponent = 0.5\nrange = ["1 m/min", "4 m/min"]\n'
TRIALS = ("--trial", "1.5 m/min=3600 m", "--trial", "3 m/min=1500 m")


@pytest.fixture
def shop(run, tmp_path):
    """Make a shop that tried its first metal wheel at several feeds."""
    folder = tmp_path / "my-shop"
    assert run("init", folder).code == 0
    _append(folder, "tools/metal-1.toml", TAYLOR)
    return folder


def _append(folder, name, text) -> None:
    path = folder / name
    path.write_text(path.read_text(encoding="utf-8") + text, encoding="utf-8")


def test_document(run, drawings, shop) -> None:
    """Each step of the load, with curve, bounds and savings where its life by feed is known."""
    document = run("feed", drawings[0], "--shop", shop, "--format", "json").json()
    assert document["schema"] == "edgetime.feed/1"
    steps = {s["step"]: s for s in document["steps"]}
    metal = steps["metal-1"]
    costs = [Decimal(p["cost"]) for p in metal["points"]]
    assert Decimal(metal["least_cost"]["cost"]) == min(costs)
    with localcontext(prec=50):
        assert Decimal(metal["today"]["cost"]) - min(costs) == Decimal(metal["saving"])
    assert metal["relation"]["file"].endswith("my-shop/tools/metal-1.toml")
    assert {b["kind"] for b in metal["bounds"]} == {"data-low", "data-high", "machine"}
    assert "[taylor]" in steps["metal-2"]["why_not"]
    estimate = run("estimate", drawings[0], "--shop", shop, "--format", "json").json()
    assert document["digest"] == estimate["digest"]
    seconds = sum(t["total_s"] for t in estimate["tools"] if t["piece"] == "metal-1/eased")
    assert metal["today"]["machine_s"] == pytest.approx(seconds, rel=1e-9)


def test_curve_is_drawn_within_eighty_plain_columns(spawn, drawings, shop) -> None:
    """One tool shows its curve in letters, the range that was tried, its source, a caution."""
    ran = spawn(
        "feed", drawings[0], "--shop", shop, "--tool", "metal-1", "--explain", "metal-1",
        "--at", "100 in/min", PYTHONIOENCODING="ascii",
    )  # fmt: skip
    assert ran.code == 0, ran.err
    assert max(map(len, ran.out.splitlines())) <= 80
    assert "?" not in ran.out
    text = " ".join(ran.out.split())
    sources = tomllib.loads((shop / "tools/metal-1.toml").read_text(encoding="utf-8"))["source"]
    source = sources.get("taylor", sources["all"])
    for words in ("===", "#", "least cost", "today", "asked for", "Tested from 1.00 to 4.00 m/min",
                  source, "wet, guards closed"):  # fmt: skip
        assert words in text


def test_csv_and_json_hold_the_curve(run, drawings, shop) -> None:
    """The points of the CSV form are those of the document, in rising order."""
    args = ("feed", drawings[0], "--shop", shop, "--tool", "metal-1", "--format")
    rows = list(csv.DictReader(io.StringIO(run(*args, "csv").out)))
    feeds = [
        float(r["feed_mm_per_s"]) for r in rows if r["point"] == "curve" and r["step"] == "metal-1"
    ]
    (step, *_) = run(*args, "json").json()["steps"]
    assert feeds == [p["feed_mm_per_s"] for p in step["points"]] == sorted(feeds)


def test_trials_need_no_file(run, drawings) -> None:
    """Two trials given on the command line make a curve between their feeds."""
    ran = run("feed", drawings[0], "--tool", "metal-1", *TRIALS, "--format", "json")
    relation = ran.json()["steps"][0]["relation"]
    # Edge v T falls from 3600 to 1500 m while the feed doubles: 1/n - 1 = log2(3600/1500).
    assert relation["exponent"] == pytest.approx(1.0 / (1.0 + 1.2630344058), rel=1e-9)
    assert relation["low_mm_per_s"] == pytest.approx(25.0)


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_rows_of_the_curve_can_be_told_apart(run, drawings, units) -> None:
    """No feed stands twice, near-twins share a row, names stay; JSON keeps every point."""
    args = (
        "feed", drawings[0], "--tool", "metal-2", "--trial", "1.5 m/min=3600 m", "--trial",
        "3 m/min=900 m",
    )  # fmt: skip
    document = run(*args, "--format", "json").json()
    (step,) = document["steps"]
    points = [p["feed_mm_per_s"] for p in step["points"]]
    assert any(b / a < 1.005 for a, b in itertools.pairwise(points))
    # A feed so near the one of least cost that both are written alike.
    asked = f"{step['least_cost']['feed_mm_per_s'] * 1.0003} mm/s"
    text = run(*args, "--at", asked, "--units", units).out
    table = text.partition("life %")[2].partition("Tested from")[0]
    rows = [line.split() for line in table.splitlines()[2:] if line.strip()]
    feeds = [float(row[0]) for row in rows]
    assert len(feeds) >= 10
    assert all(b / a > 1.003 for a, b in itertools.pairwise(feeds))
    assert [line for line in table.splitlines() if "least cost, asked for" in line]
    for name in ("today", "most output"):
        assert table.count(name) == 1
    assert "(--trial)." in text
    assert "trials told on the command line" not in text


@pytest.mark.parametrize(
    ("args", "code"),
    [
        ((), 4),
        (("--tool", "metal-1"), 4),
        (("--tool", "metal-1", *TRIALS, "--at", "5 m/min"), 4),
        (("--tool", "metal-1", *TRIALS, "--at", "5"), 2),
        (("--tool", "metal-1", *TRIALS, "--at", "-1 m/min"), 2),
        (("--tool", "metal", *TRIALS), 2),
        (("--at", "2 m/min"), 2),
        (("--tool", "metal-1", *TRIALS[:2]), 2),
        (("--tool", "metal-1", *TRIALS, "--explain", "drum-75"), 2),
    ],
)
def test_bad_questions_end_with_one_message(run, drawings, args, code) -> None:
    """No data, a feed that nobody tried, slips: one message, a remedy, the exit code."""
    ran = run("feed", drawings[0], *args)
    assert (ran.code, ran.out) == (code, "")
    assert ran.err.count("edgetime: ") == 1
    assert "what to do:" in ran.err


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ('[taylor]\nexponent = 1.2\nrange = ["1 m/min", "4 m/min"]\n', "taylor.exponent"),
        ('[taylor]\nexponent = 0.5\nrange = ["4 m/min", "1 m/min"]\n', "taylor.range"),
        ('[taylor]\nexponent = 0.5\nrange = ["1 m/min"]\n', "taylor.range"),
        (
            '[taylor]\nexponent = 0.5\nrange = ["1 m/min", "4 m/min"]\nreference_feed = "5 m/min"\n',
            "taylor.reference_feed",
        ),
    ],
)
def test_bad_relations_in_a_file(run, drawings, tmp_path, text, key) -> None:
    """A relation that cannot be is refused with its file and key, exit code 3."""
    folder = tmp_path / "my-shop"
    run("init", folder)
    _append(folder, "tools/metal-1.toml", f"\n{text}")
    ran = run("feed", drawings[0], "--shop", folder)
    assert ran.code == 3
    assert key in ran.err
    assert "metal-1.toml" in ran.err
    assert "what to do:" in ran.err


def test_help_and_estimates_do_not_pay_for_it(drawings) -> None:
    """Neither the helps nor an estimate load comparison, economics or simulation."""
    code = (
        "import sys; from edgetime.cli.app import app\n"
        "try: app(sys.argv[1:])\n"
        "except SystemExit: pass\n"
        "print({m for m in sys.modules if m.split('.')[0] in {'simpy', 'scipy', 'babel'} or "
        "m.startswith(('edgetime.comparison', 'edgetime.economics', 'edgetime.shift'))}, "
        "file=sys.stderr)"
    )
    for args in (["compare", "--help"], ["feed", "--help"], ["estimate", str(drawings[0])]):
        done = subprocess.run(
            [sys.executable, "-c", code, *args], capture_output=True, text=True, check=True
        )
        assert done.stderr.strip() == "set()"
