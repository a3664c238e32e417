"""The page on JSON documents names every key that the commands print, and no other."""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path

import pytest
from support.sketch import Sketch, write_dxf

import edgetime

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "docs"))

from pages import edgetime as run_edgetime  # noqa: E402
from pages import workplace  # noqa: E402
from reference_pages import used_stages  # noqa: E402

pytestmark = pytest.mark.slow

PAGE = (ROOT / "docs" / "reference" / "json.md").read_text(encoding="utf-8")
SHAPES = {"balance", "entry", "finding", "order", "place", "point", "report_group", "times"}
SOMETIMES = {"line", "key", "part"}
"""Keys of a place that stand only when there is one."""

PYTHON_ONLY = {"edgetime.load/1", "edgetime.plan/1"}
"""Documents that no command prints."""

DEMO = ["edgetime-demo/cafe-counters.dxf", "edgetime-demo/cafe-washroom.dxf"]
ONE_LINE = ["--profile", "eased", "--thickness", "20", "--stone", "granite"]
WHAT_IF = ["--what-if", "stone=marble", "--what-if", "stack=marble"]
COMPARED = ["--with", "stack=fast-metal", "--with", "stack=marble", "--with", "machine=large"]
TRIED = ["--tool", "metal-1", "--at", "2 m/min", "--explain", "all"]
EXTRAS = [
    "--explain", "metal-1", "--sensitivity", "--resume-at", "metal-1,p01", "--wear", "--runs",
    "--start", "9:10",
]  # fmt: skip
JOBS = (
    "date,name,drawing,metres,stone,thickness,stack,quantity,probability\n"
    f"2030-01-07,Cafe,{DEMO[0]},,granite,30 mm,standard,40,0.8\n"
    "2030-02-07,Flats,,eased=600; half-bullnose=40,granite,30 mm,standard,5,0.9\n"
)
SHIFT = [
    "--fit", "--day", "2027-01-18", "--pocket-plan", "--table-filling", "--explain",
    "--used", "drum-75=99.9%", "--replications", "30",
]  # fmt: skip
BESIDE = [
    "--board", "board.html", "--what-if", "feed=110%", "--what-if", "stone=marble, stack=standard",
]  # fmt: skip
BROKEN = 'title = 3\nsource = "x"\n'


def _tables() -> dict[str, list[tuple[str, str]]]:
    """Return (key, type) rows under each heading ``## edgetime.…`` and each ``*shape*:``."""
    out: dict[str, list[tuple[str, str]]] = {}
    name = ""
    for line in PAGE.splitlines():
        heading = re.match(r"## (edgetime\.[\w-]+/\d+)$|\*(\w+)\*[^|]*:$|\*(\w+)\*;", line)
        if heading:
            name = heading[1] or heading[2] or heading[3]
        elif line.startswith("## "):
            name = ""
        row = re.match(r"\| `([^`]+)` \| (.+?) \| .+ \|$", line)
        if row and name:
            out.setdefault(name, []).append((row[1], row[2]))
    return out


TABLES = _tables()


def _expanded(rows: list[tuple[str, str]]) -> dict[str, str]:
    """Return key → type with the shared forms written out."""
    out: dict[str, str] = {}
    for key, kind in rows:
        if kind.startswith("*"):
            inner = _expanded(TABLES[kind.strip("*")])
            out.update({f"{key}.{k}": v for k, v in inner.items()})
        else:
            out[key] = kind
    return out


def _pattern(key: str) -> re.Pattern[str]:
    parts = re.split(r"(\{\w+\})", key)
    return re.compile("".join(".+" if p.startswith("{") else re.escape(p) for p in parts))


def _leaves(value: object, path: str = "") -> list[tuple[str, object]]:
    if isinstance(value, dict):
        return [x for k, v in value.items() for x in _leaves(v, f"{path}.{k}" if path else k)]
    if isinstance(value, list):
        return [x for v in value for x in _leaves(v, f"{path}[]")]
    return [(path, value)]


def _empty_lists(value: object, path: str = "") -> list[str]:
    if isinstance(value, dict):
        return [x for k, v in value.items() for x in _empty_lists(v, f"{path}.{k}" if path else k)]
    if isinstance(value, list):
        return [x for v in value for x in _empty_lists(v, f"{path}[]")] if value else [path]
    return []


def _fits(value: object, kind: str) -> bool:
    if kind == "any":
        return True
    if kind == "true or false":
        return isinstance(value, bool)
    words = set(kind.split(" or "))
    assert words <= {"text", "number", "null"}, kind
    if value is None:
        return "null" in words
    return ("text" in words and isinstance(value, str)) or (
        "number" in words and isinstance(value, int | float) and not isinstance(value, bool)
    )


def _document(*args: str) -> dict[str, object]:
    _, out, _ = run_edgetime(*args, "--format", "json")
    document = json.loads(out)
    assert isinstance(document, dict)
    return document


def _odd_drawing(path: Path) -> None:
    """Draw a part with a recess, and a layer without a rule."""
    sketch = Sketch()
    sketch.polyline("EASED", [(300.0, 300.0), (1500.0, 300.0), (1500.0, 900.0), (300.0, 900.0)])
    sketch.line("DRAINER", (400.0, 400.0), (400.0, 700.0))
    sketch.line("NOBODY-KNOWS", (0.0, 0.0), (50.0, 0.0))
    mitred = [(300.0, 1200.0), (900.0, 1200.0), (900.0, 1500.0), (300.0, 1500.0)]
    sketch.polyline("MITRE", mitred)
    path.write_text(write_dxf(sketch, {}), encoding="ascii")


def _revisions(old: Path, new: Path) -> None:
    """Draw a top whose hole moves, whose cutout and edge change, and a shelf that moves."""
    for path, width, hole, shelf in ((old, 1200.0, 900.0, 900.0), (new, 1250.0, 950.0, 950.0)):
        sketch = Sketch()
        sketch.polyline("EASED", [(0.0, 0.0), (width, 0.0), (width, 600.0), (0.0, 600.0)])
        sketch.polyline("CUTOUT", [(200.0, 150.0), (500.0, 150.0), (500.0, 400.0), (200.0, 400.0)])
        sketch.circle("HOLE", (hole, 300.0), 35.0)
        sketch.polyline("EASED", [(0.0, shelf), (700.0, shelf), (700.0, 1300.0), (0.0, 1300.0)])
        y = shelf + 900.0
        sketch.polyline("MITRE", [(0.0, y), (800.0, y), (800.0, y + 250.0), (0.0, y + 250.0)])
        path.write_text(write_dxf(sketch, {}), encoding="ascii")


@pytest.fixture(scope="module")
def documents() -> dict[str, list[dict[str, object]]]:
    """Run the commands and sort their documents by schema."""
    found: dict[str, list[dict[str, object]]] = {}
    with workplace():
        odd = Path("odd.dxf")
        _odd_drawing(odd)
        _revisions(Path("old.dxf"), Path("new.dxf"))
        Path("jobs.csv").write_text(JOBS, encoding="utf-8")
        runs = [
            ["takeoff", *DEMO],
            ["takeoff", str(odd)],
            ["takeoff", "new.dxf", "--against", "old.dxf", "--price"],
            ["picture", "new.dxf", "--against", "old.dxf"],
            ["layers", str(odd)],
            ["picture", *DEMO],
            ["report", *DEMO],
            ["picture", str(odd), "--layer", "EASED=ignore"],
            ["estimate", *DEMO, *EXTRAS, "--diameter", "metal-1=78.4"],
            ["estimate", str(odd)],
            ["demo", "--into", "again"],
            ["demo", "--into", "again"],
            ["advise", *DEMO],
            ["wear", *DEMO],
            ["survive", *DEMO],
            ["price", *DEMO, *WHAT_IF, "--explain", "labour"],
            ["price", "--lengths", "eased=1 m, holes=1"],
            ["price-list", *ONE_LINE, "--explain", "labour"],
            ["price-list", "--profile", "ogee", "--thickness", "50", "--stone", "granite"],
            ["forecast", "--pipeline", "jobs.csv", "--from", "2030-01-01", "--sheet", "o.html"],
            ["shift", "--jobs", "edgetime-demo/waiting.csv", *SHIFT],
            ["shift", DEMO[0], "--cycle-time", "52", "--replications", "0", *BESIDE],
            ["compare", *DEMO, *COMPARED, "--explain", "saving"],
            ["compare", *DEMO, "--with", "stack=fast-metal,purchase=900"],
            ["feed", *DEMO, "--shop", "edgetime-demo", *TRIED],
            ["catalogue"],
            ["init", "new-shop"],
            ["check", "new-shop"],
            ["estimate", "missing.dxf"],
            ["estimate", str(odd), "--layer", "EASED=outline", "--layer", "MITRE=ignore"],
        ]
        for args in runs:
            document = _document(*args)
            found.setdefault(str(document["schema"]), []).append(document)
        pieces = ["receive", "polish-1", "--count", "2"]
        for args in (
            pieces,
            ["order", "metal-1", "--profile", "ogee", "--number", "7", "--supplier", "north"],
            ["orders"],
            ["mount", "polish-1", "--pocket", "5"],
            ["mount", "polish-1", "--pocket", "5"],
            ["rack"],
            ["dress", "polish-1-001"],
            ["retire", "polish-1-001", "--reason", "worn"],
            ["show"],
            ["history"],
            ["report"],
            ["audit"],
            ["export", "books.json"],
            ["backup", "copy.sqlite"],
        ):
            document = _document("ledger", *args, "--shop", "edgetime-demo")
            found.setdefault(str(document["schema"]), []).append(document)
        document = _document("ledger", "import", "books.json", "--ledger", "second.sqlite")
        found.setdefault(str(document["schema"]), []).append(document)
        second = ("--ledger", "second.sqlite")
        for args in (["survive", *second], ["report", *DEMO, "--price", *second]):
            document = _document(*args)
            found.setdefault(str(document["schema"]), []).append(document)
        # A piece that wore out, and a new one whose life is fitted to it.
        for args in (
            ["adjust", "polish-1-002", "--share", "50%"],
            ["retire", "polish-1-002", "--reason", "worn"],
            pieces,
            ["show"],
        ):
            document = _document("ledger", *args, "--shop", "edgetime-demo")
            found.setdefault(str(document["schema"]), []).append(document)
        # A shop with two errors, then one that was edited by hand.
        for name in ("granite", "marble"):
            Path(f"new-shop/stones/{name}.toml").write_text(BROKEN, encoding="utf-8")
        with Path("again/shop.toml").open("a", encoding="utf-8") as file:
            file.write("\n# edited\n")
        for args in (["check", "new-shop"], ["init", "new-shop"], ["demo", "--into", "again"]):
            document = _document(*args)
            found.setdefault(str(document["schema"]), []).append(document)
        Path("again-shop").mkdir()
        document = _document("init", "again")
        found.setdefault(str(document["schema"]), []).append(document)
    return found


SCHEMAS = sorted(name for name in TABLES if name.startswith("edgetime."))


@pytest.mark.parametrize("schema", SCHEMAS)
def test_every_key_printed_is_documented(documents, schema: str) -> None:
    """No command prints a key that the page does not name, nor a value of another type."""
    kinds = _expanded(TABLES[schema])
    patterns = [(_pattern(key), kind) for key, kind in kinds.items()]
    for document in documents[schema]:
        assert document["schema"] == schema
        for path, value in _leaves(document):
            fitting = [kind for pattern, kind in patterns if pattern.fullmatch(path)]
            deeper = [kind for key, kind in kinds.items() if kind == "any" and _within(path, key)]
            # A record that is missing as a whole stands as null.
            deeper += [key for key in kinds if value is None and key.startswith(f"{path}.")]
            assert fitting or deeper, f"{schema}: {path} is not documented"
            assert any(_fits(value, k) for k in fitting) or deeper, f"{path} = {value!r}"


def _within(path: str, key: str) -> bool:
    return _pattern(key).match(path) is not None


@pytest.mark.parametrize("schema", SCHEMAS)
def test_every_key_documented_is_printed(documents, schema: str) -> None:
    """The page names no key that no command prints."""
    printed = {path for document in documents[schema] for path, _ in _leaves(document)}
    bare = {path for document in documents[schema] for path in _empty_lists(document)}
    for key, kind in _expanded(TABLES[schema]).items():
        if any(key.startswith(f"{path}[]") for path in bare):
            continue
        if key.rpartition(".")[2] in SOMETIMES and "where" in key:
            continue
        if schema == "edgetime.check/1" and kind == "any":
            continue
        assert any(_pattern(key).match(path) for path in printed), f"{schema}: {key}"


def test_every_schema_is_documented() -> None:
    """Each document that a command can print stands in a page of the reference."""
    package = Path(edgetime.__file__).parent
    made: dict[str, str] = {}
    for path in sorted(package.rglob("*.py")):
        for name in re.findall(r'"(edgetime\.[\w-]+/\d+)"', path.read_text("utf-8")):
            made[name] = path.relative_to(package).parts[0]
    assert set(made) >= set(SCHEMAS)
    known = used_stages() | {"errors.py"}
    printed = {name for name, stage in made.items() if stage in known}
    text = "\n".join(p.read_text("utf-8") for p in (ROOT / "docs" / "reference").glob("*.md"))
    assert {name for name in printed - PYTHON_ONLY if name not in text} == set()


def test_shared_forms_are_used() -> None:
    """Each shared form stands in some table, and only those are referred to."""
    used = {kind.strip("*") for rows in TABLES.values() for _, kind in rows if kind[0] == "*"}
    assert used == SHAPES
