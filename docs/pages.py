"""Running the pages: commands, edits and Python of a page, in order, in a folder of their own.

A page is Markdown. A comment on the line before a fenced block says what the block is:

* none: a ``console`` block's ``edgetime`` and ``cp`` lines run and must end with exit code 0;
  a ``python`` block runs; other blocks are only shown;
* ``<!-- exit: 3 -->``: the console block's last command ends with that code;
* ``<!-- file: PATH -->``, ``<!-- append: PATH -->``: the block becomes a file, or its end;
* ``<!-- edit: PATH -->``: a ``diff`` block; lines with ``-`` are replaced by those with ``+``;
* ``<!-- output: FROM .. TO -->``: a ``text`` block with what the step before printed, from the
  line that begins with FROM to the next one that begins with TO (all of it without them);
* ``<!-- not run -->``: shown only.

Lines of other programs (``git``, ``python3``, ``.venv/bin/pip``) are for people.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import shlex
import shutil
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

DOCS = Path(__file__).resolve().parent
ROOT = DOCS.parent

_BLOCK = re.compile(
    r"(?:^<!-- (?P<mark>[^\n]*?) -->\n)?^```(?P<kind>\w*)\n(?P<body>.*?)^```$",
    re.MULTILINE | re.DOTALL,
)


class PageError(AssertionError):
    """A step of a page does not do what the page says."""


@dataclass(frozen=True)
class Block:
    """One fenced block: its mark, kind and text, and where the text stands in the page."""

    mark: str
    kind: str
    body: str
    start: int
    stop: int

    def argument(self, name: str) -> str | None:
        """Return what the mark says after ``name:``, None when it is another mark."""
        head, _, rest = self.mark.partition(":")
        return rest.strip() if head.strip() == name else None


def blocks(text: str) -> list[Block]:
    """Return the fenced blocks of a page in order."""
    return [
        Block(m["mark"] or "", m["kind"], m["body"], m.start("body"), m.end("body"))
        for m in _BLOCK.finditer(text)
    ]


def commands(body: str) -> list[str]:
    """Return the command lines of a console block, continued lines joined, prompts removed."""
    lines = re.sub(r"\\\n\s*", "", body).splitlines()
    return [line.removeprefix("$ ").strip() for line in lines if line.strip()]


def edgetime(*words: str) -> tuple[int, str, str]:
    """Run a command in this process; return its exit code and what went to the two streams."""
    from edgetime.cli.app import app  # noqa: PLC0415  heavy

    # Not the library's own runner: older releases of it mix the two streams.
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
    code: object = 0
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            app(list(words), prog_name="edgetime")
    except SystemExit as ended:
        code = ended.code
    texts = []
    for stream in (out, err):
        stream.flush()
        texts.append(stream.buffer.getvalue().decode())  # type: ignore[attr-defined]
    return int(str(code or 0)), texts[0], texts[1]


def run_command(line: str) -> tuple[int | None, str]:
    """Run one command line in this process; None for a program that is not ours."""
    line, _, target = line.partition(" > ")
    words = shlex.split(line, comments=True)
    name = words[0].rpartition("/")[2] if words else ""
    if name == "cp":
        shutil.copy(words[1], words[2])
        return 0, ""
    if name != "edgetime":
        return None, ""
    code, out, err = edgetime(*words[1:])
    if target:
        Path(target.strip()).write_text(out, encoding="utf-8")
        return code, err
    return code, out + err


def _edit(path: str, body: str) -> None:
    file = Path(path)
    text = file.read_text(encoding="utf-8")
    old = "".join(f"{line[1:]}\n" for line in body.splitlines() if line[:1] == "-")
    new = "".join(f"{line[1:]}\n" for line in body.splitlines() if line[:1] == "+")
    if text.count(old) != 1:
        raise PageError(f"{path} has these lines {text.count(old)} times, not once:\n{old}")
    file.write_text(text.replace(old, new), encoding="utf-8")


def _excerpt(said: str, span: str) -> str:
    lines = [line.rstrip() for line in said.strip("\n").splitlines()]
    first, _, last = (part.strip() for part in span.partition(".."))
    if not first:
        return "".join(f"{line}\n" for line in lines)
    starts = [i for i, line in enumerate(lines) if line.strip().startswith(first)]
    if not starts:
        raise PageError(f"no line of the output begins with {first!r}:\n{said}")
    begin = starts[0]
    ends = [i for i, line in enumerate(lines) if i >= begin and line.strip().startswith(last)]
    if not ends:
        raise PageError(f"no later line of the output begins with {last!r}:\n{said}")
    return "".join(f"{line}\n" for line in lines[begin : ends[0] + 1])


@contextlib.contextmanager
def workplace() -> Iterator[Path]:
    """Work in an empty folder that holds the demo and the tutorial's folder, 80 columns wide."""
    from edgetime.demo import write_demo  # noqa: PLC0415  heavy

    before = Path.cwd()
    kept = {k: os.environ.get(k) for k in ("COLUMNS", "NO_COLOR", "FORCE_COLOR")}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name).resolve()
        os.chdir(folder)
        os.environ.update(COLUMNS="80", NO_COLOR="1")
        os.environ.pop("FORCE_COLOR", None)
        try:
            write_demo(Path("edgetime-demo"))
            shutil.copytree(DOCS / "tutorial", "docs/tutorial")
            yield folder
        finally:
            os.chdir(before)
            for key, value in kept.items():
                if value is None:
                    os.environ.pop(key, None)
                else:
                    os.environ[key] = value


def _run_console(block: Block) -> str:
    expected = int(block.argument("exit") or 0)
    lines = commands(block.body)
    said = ""
    for number, line in enumerate(lines, 1):
        code, text = run_command(line)
        wanted = expected if number == len(lines) else 0
        if code is not None and code != wanted:
            raise PageError(f"exit code {code}, not {wanted}: {line}\n{text}")
        said += text
    return said


def _run_python(body: str, names: dict[str, object]) -> str:
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        exec(compile(body, "<page>", "exec"), names)  # noqa: S102  the page's own example
    return out.getvalue()


def run_page(text: str) -> str:
    """Run a page in the working folder and return it with its outputs as they are today.

    Raises
    ------
    PageError
        A command ends with another code than the page says, or an edit finds nothing to edit.
    """
    said = ""
    names: dict[str, object] = {"__name__": "page"}
    out: list[str] = []
    done = 0
    for block in blocks(text):
        span = block.argument("output")
        path = block.argument("file") or block.argument("append") or block.argument("edit")
        if block.mark == "not run" or block.mark.startswith("set-up"):
            continue
        if span is not None or block.mark == "output":
            out += [text[done : block.start], _excerpt(said, span or "")]
            done = block.stop
        elif block.argument("edit") is not None:
            _edit(str(path), block.body)
        elif path is not None:
            Path(path).parent.mkdir(parents=True, exist_ok=True)
            with Path(path).open("a" if block.argument("append") else "w", encoding="utf-8") as f:
                f.write(block.body)
        elif block.kind == "console":
            said = _run_console(block)
        elif block.kind == "python":
            said = _run_python(block.body, names)
    return "".join([*out, text[done:]])


def refreshed(text: str) -> str:
    """Return a page with today's outputs, run in a folder of its own."""
    with workplace():
        return run_page(text)
