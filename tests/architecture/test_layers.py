"""The flow is one straight line: a stage imports only earlier stages and the ground floor."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import edgetime

PACKAGE = Path(edgetime.__file__).parent
GROUND = {
    "_version",
    "errors",
    "findings",
    "records",
    "lazily",
    "safe_text",
    "explained",
    "units",
    "unit_table",
    "amounts",
    "durations",
    "usual_units",
    "tolerances",
    "moves",
    "places",
    "choices",
    "progress",
    "columns",
}
STAGES = [
    "geometry",
    "drawing",
    "tooling",
    "takeoff",
    "load",
    "passes",
    "toolpath",
    "motion",
    "cycle",
    "wear",
    "labour",
    "jobs",
    "estimating",
    "picture",
    "ledger",
    "life",
    "forecast",
    "price",
    "shift",
    "economics",
    "comparison",
    "report",
    "page",
    "workbook",
    "demo",
    "cli",
    "__main__",
]
OUTSIDE_HOME = {
    "ezdxf": {"drawing"},
    "typer": {"cli"},
    "rich": {"cli", "report"},
    "click": {"cli"},
    "babel": {"price", "report"},
    "sqlalchemy": {"ledger"},
    "alembic": {"ledger"},
    "scipy": {"life", "forecast", "shift"},
    "simpy": {"shift"},
    "tomlkit": {"tooling"},
    "weasyprint": {"picture"},
    "pypdfium2": {"picture"},
    "xlsxwriter": {"workbook"},
}
NEVER_AT_RUN_TIME = {"pint", "pydantic", "matplotlib", "toppra", "ruckig", "pyogrio"}


def _files() -> list[Path]:
    return sorted(
        p for p in PACKAGE.rglob("*.py") if p.name != "__init__.py" or p.parent != PACKAGE
    )


def _stage(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def _imports(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            assert node.level == 0, f"{path}: relative import"
            names.add(node.module)
            if node.module == "edgetime":
                names |= {f"edgetime.{alias.name}" for alias in node.names}
    return names


@pytest.mark.parametrize("path", _files(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_stage_imports_only_what_comes_before(path: Path) -> None:
    """No import reaches up the flow, and every outside library keeps to its home."""
    stage = _stage(path)
    assert stage in GROUND or stage in STAGES, f"{stage} stands nowhere in the flow"
    for name in _imports(path):
        top, *rest = name.split(".")
        assert top not in NEVER_AT_RUN_TIME, f"{path} imports {name}"
        if top in OUTSIDE_HOME:
            assert stage in OUTSIDE_HOME[top], f"{path} imports {name}"
        if top != "edgetime" or not rest:
            continue
        target = rest[0]
        if target in GROUND or target == "__version__":
            continue
        assert stage not in GROUND, f"ground floor {path} imports {name}"
        assert STAGES.index(target) <= STAGES.index(stage), f"{path} imports {name}"
        if stage == "motion":
            assert target == "motion", "motion knows moves and limits, nothing of stone"


def test_every_stage_is_listed() -> None:
    """The list above names every package there is."""
    found = {_stage(p) for p in _files()}
    assert found - GROUND == set(STAGES)


def test_importing_the_package_loads_nothing_heavy() -> None:
    """``import edgetime`` and the command line's own module stay light."""
    heavy = ["numpy", "ezdxf", "shapely", "pydantic", "sqlalchemy", "babel"]
    code = (
        f"import sys, edgetime, edgetime.cli.app;print([m for m in {heavy!r} if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = done.stdout.strip()
    # Newer releases of typer import pydantic by themselves.
    assert loaded in {"[]", "['pydantic']"}


def test_every_public_name_resolves() -> None:
    """Each name of ``__all__`` is there and has a docstring."""
    for name in edgetime.__all__:
        value = getattr(edgetime, name)
        if name != "__version__":
            assert value.__doc__, name
