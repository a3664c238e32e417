"""The whole ledger as text, and back: CSV or JSON, exact to the last digit."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal, InvalidOperation
from typing import Any

from sqlalchemy import Connection, func, insert, select

from edgetime.errors import LedgerError, Where
from edgetime.ledger.amounts import AMOUNTS, CONSUMED, Amount
from edgetime.ledger.audit import audit_books
from edgetime.ledger.chain import GENESIS, RUN, content_of, next_hash
from edgetime.ledger.queries import stored_entries
from edgetime.ledger.records import ROOTS
from edgetime.ledger.tables import ENTRY_COLUMNS, entries, runs
from edgetime.progress import track
from edgetime.safe_text import cell, read_cell

SCHEMA = "edgetime.ledger/1"

_WHOLE = ("id", "piece", "run_no", "reverses", "pocket", "life", "run", "of_order", "pieces")
_HEAD = ("id", "at", "kind", "piece", "serial", "tool", "profile")
_RUN = ("load_name", "run_no", "digest", "source")
_MORE = ("reverses", "pocket", "stone", "reason", "governing")
_TAIL = ("currency", "who", "note")
_PIECE = ("serial", "tool", "profile")
_QUANTITIES = (*CONSUMED, *AMOUNTS)

_BEFORE = (*_HEAD, *_RUN, *_MORE, *(a.name for a in _QUANTITIES), *_TAIL)
_ADDED = (
    "run",
    "run_machine",
    "work_digest",
    "life",
    "machine",
    "supplier",
    "batch",
    "mark",
    "hash",
)
_OF_ORDERS = ("order_no", "of_order", "pieces", "expected")

HEADER = (*_BEFORE, *_ADDED, *_OF_ORDERS)
"""Columns of the CSV form and keys of the JSON form, one row per entry."""

END = "end"
"""Kind of the last line of a CSV export, which bears the count of entries and the last hash."""

_BATCH = 5000


def export_rows(link: Connection) -> Iterator[dict[str, Any]]:
    """Yield entries as exported, quantities as stored numbers.

    Parameters
    ----------
    link : Connection
        In a transaction.
    """
    query = stored_entries().execution_options(yield_per=_BATCH)
    for row in link.execute(query).mappings():
        out: dict[str, Any] = {}
        for name in HEADER:
            if name == "source":
                flag = row["actual"]
                out[name] = None if flag is None else ("actual" if flag else "predicted")
            elif name in _PIECE:
                # On every row, for whoever reads the table; the books keep them on the receipt.
                out[name] = row[f"piece_{name}"]
            elif name in _BY_NAME:
                out[name] = row[_BY_NAME[name].column]
            else:
                out[name] = row[name]
        yield out


_BY_NAME: dict[str, Amount] = {a.name: a for a in _QUANTITIES}


def _json_value(name: str, value: Any) -> Any:
    amount = _BY_NAME.get(name)
    if amount is None or value is None:
        return value
    if amount.money:
        # Text, so that nobody's reader makes a binary fraction of it.
        return amount.text(value)
    return value / 10**amount.digits if amount.digits else value


def export_text(link: Connection, form: str) -> str:
    """Return the ledger as text.

    Parameters
    ----------
    link : Connection
        In a transaction.
    form : str
        ``csv`` or ``json``.
    """
    page = io.StringIO()
    count, last = 0, GENESIS
    if form == "json":
        page.write('{\n "schema": ' + json.dumps(SCHEMA) + ',\n "entries": [')
        for row in export_rows(link):
            kept = {k: _json_value(k, v) for k, v in row.items() if v is not None}
            page.write((",\n  " if count else "\n  ") + json.dumps(kept, ensure_ascii=False))
            count, last = count + 1, row["hash"]
        page.write(f'\n ],\n "count": {count},\n "last_hash": "{last}"\n}}\n')
        return page.getvalue()
    writer = csv.writer(page, lineterminator="\n")
    writer.writerow(HEADER)
    for row in export_rows(link):
        writer.writerow(
            _BY_NAME[name].text(value)
            if name in _BY_NAME
            else ("" if value is None else cell(value))
            for name, value in row.items()
        )
        count, last = count + 1, row["hash"]
    # Without a last line nobody could say whether lines are missing at the end.
    writer.writerow({"id": count, "kind": END, "hash": last}.get(name, "") for name in HEADER)
    return page.getvalue()


def end_of(content: str) -> tuple[int, str]:
    """Return the count of entries and the last hash that an export ends with.

    Parameters
    ----------
    content : str
        What :func:`export_text` returned.
    """
    end = content[content.rindex("\n", 0, len(content) - 100) :]
    if content.startswith("{"):
        end = content[content.rindex(' "count": ') :]
        count, last = re.findall(r'": "?(\w+)', end)
        return int(count), last
    row = dict(zip(HEADER, end.strip().split(","), strict=True))
    return int(row["id"]), row["hash"]


def _wrong(what: str, where: Where, remedy: str = "") -> LedgerError:
    return LedgerError(
        f"The export cannot be read: {what}.",
        where=where,
        remedy=remedy or "Use a file that 'edgetime ledger export' wrote, unchanged.",
    )


def _json_rows(content: str, name: str | None) -> Iterable[tuple[Where, dict[str, Any]]]:
    try:
        document = json.loads(content, parse_float=Decimal)
    except (ValueError, RecursionError) as error:
        raise _wrong(f"it is not JSON ({error})", Where(path=name)) from error
    if not isinstance(document, dict) or document.get("schema") != SCHEMA:
        raise _wrong(f"its schema is not {SCHEMA}", Where(path=name, key="schema"))
    items = document.get("entries")
    if not isinstance(items, list) or not all(isinstance(i, dict) for i in items):
        raise _wrong("it has no list of entries", Where(path=name, key="entries"))
    if "count" in document or any("hash" in item for item in items):
        _check_end(items, document.get("count"), document.get("last_hash"), Where(path=name))
    return [(Where(path=name, key=f"entries[{n}]"), item) for n, item in enumerate(items, 1)]


def _check_end(items: Sequence[Mapping[str, Any]], count: Any, last: Any, where: Where) -> None:
    """Refuse an export that was cut, or whose end was changed."""
    if str(len(items)) != str(count):
        raise _wrong(f"it holds {len(items)} entries, and its end says {count}", where)
    if items and items[-1].get("hash") != last:
        raise _wrong("its last hash is not that of its last entry", where)


def _csv_rows(content: str, name: str | None) -> Iterable[tuple[Where, dict[str, Any]]]:
    reader = csv.reader(io.StringIO(content, newline=""), strict=True)
    table: list[tuple[Where, list[str]]] = []
    before = 0
    try:
        for cells in reader:
            # A note may run over several lines; a row is named by its first.
            table.append((Where(path=name, line=before + 1), cells))
            before = reader.line_num
    except csv.Error as error:
        raise _wrong(f"it is not CSV ({error})", Where(path=name, line=reader.line_num)) from error
    header = tuple(table[0][1]) if table else ()
    # Exports of releases before the chain had no hashes and no last line.
    if header not in {HEADER, (*_BEFORE, *_ADDED), _BEFORE}:
        raise _wrong("its first line does not name the columns", Where(path=name, line=1))
    rows = []
    for where, cells in table[1:]:
        if len(cells) != len(header):
            raise _wrong(f"{len(cells)} cells instead of {len(header)}", where)
        named = dict(zip(header, cells, strict=True))
        read = {k: v if k in _BY_NAME else read_cell(v) for k, v in named.items()}
        rows.append((where, {k: v for k, v in read.items() if v != "" or k == "note"}))
    if header != _BEFORE:
        where, end = rows.pop() if rows else (Where(path=name), {})
        if end.get("kind") != END:
            raise _wrong("its last line, with the count of entries, is missing", where)
        _check_end([row for _, row in rows], end.get("id"), end.get("hash"), where)
    return rows


def _stored(row: dict[str, Any], where: Where) -> dict[str, Any]:
    unknown = row.keys() - set(HEADER)
    if unknown:
        raise _wrong(f"{min(unknown)!r} is no column", where)
    out: dict[str, Any] = {}
    for name in HEADER:
        value = row.get(name)
        try:
            if name in _BY_NAME:
                out[name] = _BY_NAME[name].store(None if value is None else Decimal(value))
            elif name in _WHOLE:
                out[name] = None if value is None else int(value)
            elif value is None or isinstance(value, str):
                out[name] = value
            else:
                raise TypeError  # noqa: TRY301  one place for all that is no such value
        except (InvalidOperation, TypeError, ValueError) as error:
            raise _wrong(f"{name} is {value!r}", where) from error
    return out


def import_text(link: Connection, content: str, name: str | None = None) -> int:
    """Enter an export into an empty ledger and prove the books before it counts.

    Parameters
    ----------
    link : Connection
        In a write transaction, which fails as a whole.
    content : str
        What :func:`export_text` returned.
    name : str, optional
        The file it comes from, for messages.

    Returns
    -------
    int
        Entries.

    Raises
    ------
    LedgerError
        The ledger is not empty, or the content is no sound export.
    """
    standing = link.execute(select(func.max(entries.c.id))).scalar() or 0
    if standing:
        raise LedgerError(
            f"The ledger holds {standing} entries; an import needs an empty one.",
            remedy="Name a new one: edgetime ledger import FILE --ledger NEW.sqlite",
        )
    source = (
        _json_rows(content, name)
        if content.lstrip("\ufeff \n").startswith("{")
        else _csv_rows(content, name)
    )
    numbers: dict[Any, int] = {}
    names: dict[int, tuple[str | None, ...]] = {}
    run_rows: list[dict[str, Any]] = []
    rows: list[dict[str, Any]] = []
    for where, raw in track(source, "reading entries"):
        row = _stored(raw, where)
        run = None
        if row["source"] not in {None, "actual", "predicted"}:
            raise _wrong(f"source is {row['source']!r}", where)
        if row["digest"] is not None:
            key = row["run"] or (row["digest"], row["load_name"], row["run_no"])
            facts = {
                **{name: row[name] for name in ("load_name", "run_no", "digest", "work_digest")},
                "machine": row["run_machine"],
                "actual": int(row["source"] == "actual"),
                **{a.column: row[a.name] for a in CONSUMED},
            }
            if key not in numbers:
                numbers[key] = len(numbers) + 1
                run_rows.append({"id": numbers[key], **facts})
            elif run_rows[numbers[key] - 1] != {"id": numbers[key], **facts}:
                raise _wrong(f"run {row['run_no']} of {row['load_name']} has two forms", where)
            run = numbers[key]
        named = tuple(row[name] for name in _PIECE)
        if row["kind"] in ROOTS:
            names[row["id"]] = named
        elif names.get(row["piece"]) != named:
            raise _wrong(f"tool {row['piece']} was not received as {named[0]}", where)
        else:
            row |= dict.fromkeys(_PIECE)
        stored = {a.column: row[a.name] for a in AMOUNTS}
        stored |= {name: row[name] for name in ENTRY_COLUMNS if name in row and name not in stored}
        rows.append(stored | {"run": run, "note": row["note"] or ""})
    if rows and all(row["hash"] is None for row in rows):
        _chain(rows, run_rows)
    for table, items in ((runs, run_rows), (entries, rows)):
        for start in range(0, len(items), _BATCH):
            link.execute(insert(table), items[start : start + _BATCH])
    problems = audit_books(link).problems
    if problems:
        raise LedgerError(
            f"The books in the export do not add up: {problems[0]}",
            where=Where(path=name),
            remedy="Use a file that 'edgetime ledger export' wrote, unchanged; "
            "nothing was imported.",
        )
    return len(rows)


def _chain(rows: list[dict[str, Any]], run_rows: list[dict[str, Any]]) -> None:
    """Give entries of an export without hashes their lives and hashes."""
    restored: dict[int, list[int]] = {}
    last = GENESIS
    for row in rows:
        before = row["reverses"] or row["id"]
        lives = restored.setdefault(row["piece"], [])
        if row["restored_e12"] is not None:
            lives.append(row["id"])
            row["life"] = row["id"]
        else:
            row["life"] = max((n for n in lives if n < before), default=row["piece"])
        run = {} if row["run"] is None else run_rows[row["run"] - 1]
        of_run = {name: run.get("machine" if name == "run_machine" else name) for name, _ in RUN}
        last = row["hash"] = next_hash(last, content_of(row | of_run))
