"""The invented lists of jobs, read back."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from edgetime.demo import write_demo
from edgetime.forecast import read_pipeline
from edgetime.shift import read_waiting
from edgetime.tooling import load_catalogue


def test_pipeline_reads_without_errors(tmp_path: Path) -> None:
    """Seven jobs on the demo's drawings and metres; it says that it is invented."""
    written = write_demo(tmp_path)
    path = written.folder / "pipeline.csv"
    pipeline = read_pipeline(path, load_catalogue(written.folder))
    assert len(pipeline.jobs) == 7
    assert pipeline.jobs[0].day == date(2027, 1, 18)
    drawn = {Path(d).name for job in pipeline.jobs for d in job.drawings}
    assert drawn == {"cafe-counters.dxf", "cafe-washroom.dxf"}
    assert "Invented" in path.read_text(encoding="utf-8").splitlines()[0]


def test_list_for_a_shift_reads_without_errors(tmp_path: Path) -> None:
    """Drawn jobs on the demo's drawings, and two that are not drawn; it says it is invented."""
    path = write_demo(tmp_path).folder / "waiting.csv"
    jobs = read_waiting(path, load_catalogue())
    assert [bool(job.drawings) for job in jobs] == [True, True, False, False]
    assert sum(job.quantity for job in jobs) == 7
    assert "Invented" in path.read_text(encoding="utf-8").splitlines()[0]
