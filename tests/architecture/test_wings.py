"""The wings on the flow never import each other, and no files import each other in a ring.

What wears (the books), what a job costs and what a shift makes each use the flow. What brings
them together stands above them: comparison, reports, commands.
"""

from __future__ import annotations

from itertools import permutations

import pytest
from support.imports import cycles, imports, modules, package_of

WINGS = {
    "books": {"ledger", "life", "forecast"},
    "costs": {"price", "economics"},
    "shift": {"shift"},
}
ABOVE = {
    "comparison": "sets alternatives beside one another by time, cost and output",
    "report": "makes documents of the records of all stages and wings",
    "page": "sets several documents on one page: what a load costs beside what is left of its tools",
    "workbook": "sets documents of any command on the sheets of one workbook",
    "demo": "shows what all of them do",
    "cli": "its commands call the wings, and bring together what a page or a workbook shows of them",
}
"""May import any wing, for the reason given; no wing imports them."""


def _used(packages: set[str]) -> dict[str, set[str]]:
    """Return which packages the files of some packages import, each with the files."""
    found: dict[str, set[str]] = {}
    for module, path in modules().items():
        if package_of(module) in packages:
            for name in imports(path):
                if name.startswith("edgetime."):
                    found.setdefault(package_of(name), set()).add(module)
    return found


@pytest.mark.parametrize(
    ("wing", "other"),
    list(permutations(WINGS, 2)),
)
def test_wings_do_not_import_each_other(wing: str, other: str) -> None:
    """Each wing leans on the flow alone."""
    used = _used(WINGS[wing])
    assert {p: used[p] for p in sorted(WINGS[other] & set(used))} == {}


@pytest.mark.parametrize("wing", WINGS)
def test_wings_import_nothing_that_stands_above_them(wing: str) -> None:
    """Comparison, reports and commands are no concern of a wing."""
    used = _used(WINGS[wing])
    assert {p: used[p] for p in sorted(ABOVE.keys() & set(used))} == {}


@pytest.mark.parametrize("place", ["page", "workbook"])
def test_what_shows_documents_never_asks_a_wing_for_figures(place: str) -> None:
    """A page and a workbook may name a wing's records; its functions are called by a command."""
    wings = set().union(*WINGS.values())
    found = {
        module: names
        for module, path in modules().items()
        if package_of(module) == place
        for names in [
            {package_of(n) for n in imports(path, types=False) if n.startswith("edgetime.")}
        ]
        if names & wings
    }
    assert found == {}


def test_no_files_import_each_other() -> None:
    """What files import at run time, at their top or in a function, has no cycle."""
    known = modules()
    graph = {
        module: {name for name in imports(path, types=False) if name in known and name != module}
        for module, path in known.items()
    }
    assert cycles(graph) == []


def test_a_cycle_is_found() -> None:
    """Three files in a ring are found, however many others there are."""
    graph = {"a": {"b"}, "b": {"c", "d"}, "c": {"a"}, "d": set(), "e": {"a", "d"}}
    assert cycles(graph) == [{"a", "b", "c"}]
