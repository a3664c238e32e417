"""The per-tool table, by itself."""

from __future__ import annotations

from support.screens import shown

from edgetime.cycle.timeline import Cycle, Flow, Visit
from edgetime.report.visits import numbered, visit_parts, visit_sheet


def _visit(piece: str, starts_s: float, time: Flow) -> Visit:
    return Visit(
        tool=piece.partition("/")[0],
        piece=piece,
        operation="rough",
        pocket=1,
        side=0,
        starts_s=starts_s,
        time=time,
        passes=1,
        treated_mm=1000.0,
        edge_mm=2000.0,
        cut_path_mm=2100.0,
        volume_mm3=3.0,
    )


def _cycle(count: int, scale: float) -> Cycle:
    time = Flow(
        change_s=20.0 * scale,
        cut_s=300.0 * scale,
        plunge_s=5.0 * scale,
        lead_s=6.0 * scale,
        rapid_s=7.0 * scale,
        dwell_s=8.0 * scale,
    )
    visits = tuple(
        _visit(f"metal-{i}/half-bullnose-and-more", i * time.total_s, time) for i in range(count)
    )
    return Cycle(
        visits=visits,
        parts=(),
        profiles=(),
        total_s=sum(v.time.total_s for v in visits),
        attended_s=0.0,
        attended=(),
        hand_mm=0.0,
    )


def test_table_holds_a_long_day() -> None:
    """Twenty tools and ten hours fit 80 columns, no figure broken or cut."""
    cycle = _cycle(20, 5.0)
    text = shown(visit_parts(cycle))
    assert max(map(len, text.splitlines())) <= 80
    # 20 visits × 346 s × 5 = 34 600 s = 576 min 40 s
    assert "576:40" in text
    rows = [row.split() for row in text.splitlines() if "metal-" in row]
    assert [row[-2] for row in rows] == ["28:50"] * 20  # 1730 s each
    assert [row[-7] for row in rows] == ["25:00"] * 20  # 1500 s in the cut each


def test_first_tool_starts_at_nought() -> None:
    """Cycle start reads 0:00, not as nothing."""
    text = shown(visit_parts(_cycle(1, 1.0)))
    row = next(r for r in text.splitlines() if "metal-0" in r)
    assert " 0:00 " in row


def test_csv_rows_match_their_header() -> None:
    """Every row has a cell for each column and adds up to its total."""
    cycle = _cycle(3, 1.0)
    sheet = visit_sheet(cycle.total_s)
    for row in sheet.csv_rows(numbered(cycle)):
        cells = dict(zip(sheet.header, row, strict=True))
        terms = [cells[t] for t in sheet.header if t.endswith("_s")]
        starts, *parts, total = terms
        assert starts is not None
        assert sum(parts) == total
