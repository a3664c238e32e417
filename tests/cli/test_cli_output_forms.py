"""Forms of an answer that are files: ``--xlsx``."""

from __future__ import annotations

import openpyxl
import pytest
from support.kitchens import write_kitchen


@pytest.mark.parametrize("command", ["takeoff", "estimate", "wear", "shift"])
def test_a_workbook_is_written_beside_the_answer(run, tmp_path, command):
    """The screen is as it is without."""
    load = write_kitchen(tmp_path / "kitchen.dxf")
    plain = run(command, load)
    done = run(command, load, "--xlsx", "book.xlsx")
    assert (done.code, done.out) == (0, plain.out)
    assert len(openpyxl.load_workbook(tmp_path / "book.xlsx").sheetnames) > 1


def test_commands_without_a_drawing_write_one_too(run, tmp_path):
    """Each kind of the catalogue is a sheet of its own."""
    assert run("catalogue", "--xlsx", "all.xlsx").code == 0
    assert "Tools" in openpyxl.load_workbook(tmp_path / "all.xlsx").sheetnames
    assert run("init", "own").code == 0
    assert run("check", "own", "--xlsx", "check.xlsx").code == 0
    assert openpyxl.load_workbook(tmp_path / "check.xlsx").sheetnames[0] == "Summary"


def test_another_ending_is_refused(run, tmp_path):
    """Nothing is written."""
    load = write_kitchen(tmp_path / "kitchen.dxf")
    done = run("wear", load, "--xlsx", "book.csv")
    assert done.code == 2
    assert "--xlsx" in done.err
    assert not (tmp_path / "book.csv").exists()
