"""Write what of the documentation comes from the program: reference pages, outputs, lists.

``python docs/generate.py`` writes, ``--check`` only says what is stale. The tests hold that
nothing is.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

DOCS = Path(__file__).resolve().parent
sys.path.insert(0, str(DOCS))

from pages import ROOT, blocks, refreshed  # noqa: E402
from reference_pages import REFERENCE  # noqa: E402

_LIST = re.compile(r"(<!-- pages: (\w+) -->\n).*?(<!-- /pages -->)", re.DOTALL)


def hand_written() -> list[Path]:
    """Return the pages people write: the README and all of docs but the generated ones."""
    made = {DOCS / "reference" / name for name in REFERENCE}
    return [ROOT / "README.md", *sorted(p for p in DOCS.rglob("*.md") if p not in made)]


def _listed(match: re.Match[str]) -> str:
    folder = match[2]
    made = {f"{name}": make() for name, make in REFERENCE.items()} if folder == "reference" else {}
    names = sorted({p.name for p in (DOCS / folder).glob("*.md")} | set(made))
    rows = []
    for name in names:
        text = made.get(name) or (DOCS / folder / name).read_text(encoding="utf-8")
        title = text.splitlines()[0].removeprefix("# ").strip()
        rows.append(f"* [{title}]({folder}/{name})\n")
    return match[1] + "".join(rows) + match[3]


def with_lists(text: str) -> str:
    """Return a page with its lists of pages as they are today."""
    return _LIST.sub(_listed, text)


def has_output(text: str) -> bool:
    """Return whether a page shows output that can be made anew."""
    return any(b.mark == "output" or b.argument("output") is not None for b in blocks(text))


def generated() -> dict[Path, str]:
    """Return every file that is generated, wholly or in part, as it should be today."""
    out = {DOCS / "reference" / name: make() for name, make in REFERENCE.items()}
    for path in hand_written():
        text = path.read_text(encoding="utf-8")
        if has_output(text):
            out[path] = refreshed(text)
        elif _LIST.search(text):
            out[path] = with_lists(text)
    return out


def stale(pages: dict[Path, str]) -> list[Path]:
    """Return the files that differ from what they should be."""
    return [
        path
        for path, text in pages.items()
        if not path.exists() or path.read_text(encoding="utf-8") != text
    ]


def main() -> int:
    """Write, or with ``--check`` only report, what is stale."""
    pages = generated()
    old = stale(pages)
    for path in old:
        print(path.relative_to(ROOT).as_posix())
        if "--check" not in sys.argv[1:]:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(pages[path], encoding="utf-8")
    return 1 if old and "--check" in sys.argv[1:] else 0


if __name__ == "__main__":
    sys.exit(main())
