"""``--mounted``: diameters measured of mounted pieces go into the estimate of a load."""

from __future__ import annotations

import pytest

pytestmark = pytest.mark.usefixtures("closed_connections")

SHOP = ("--shop", "edgetime-demo")
LOAD = "edgetime-demo/cafe-counters.dxf"
WORN = ("--diameter", "drum-75=72.4", "--diameter", "metal-1/eased=79.1")


@pytest.fixture
def worn(run) -> None:
    """Measure a drum and two wheels alike, a spare, and a wheel on another machine."""
    assert run("demo").code == 0
    for line in (
        "receive drum-75 --serial D1",
        "receive drum-75 --serial D2",
        "receive metal-1 --profile eased --serial A7",
        "receive metal-1 --profile eased --serial A8",
        "receive fine-1 --profile eased --serial F1",
        "mount D1 --pocket 3",
        "mount A8 --pocket 9",
        "mount A7 --pocket 5",
        "mount F1 --pocket 5 --machine small",
        "measure D1 72.9 --at 2026-01-05 --anyway",
        "measure D1 72.4",
        "measure D2 70",
        "measure A7 79.1",
        "measure A8 78",
        "measure F1 79.2",
    ):
        ran = run("ledger", *line.split(), *SHOP)
        assert ran.code == 0, (line, ran.err)


def _estimate(run, *options: str, command: str = "estimate") -> dict:
    ran = run(command, LOAD, *SHOP, *options, "--format", "json")
    assert ran.code == 0, ran.err
    return ran.json()


@pytest.mark.usefixtures("worn")
def test_mounted_pieces_are_as_if_their_diameters_were_typed(run) -> None:
    """The lowest pocket of this machine counts, by its last measurement; spares do not."""
    new, typed, read = _estimate(run), _estimate(run, *WORN), _estimate(run, "--mounted")
    assert read["diameters_mm"] == {"drum-75": 72.4, "metal-1/eased": 79.1}
    assert new["diameters_mm"] == {}
    assert (read["total_s"], read["work_digest"]) == (typed["total_s"], typed["work_digest"])
    assert read["work_digest"] != new["work_digest"]
    (told,) = [f for f in read["findings"] if f["code"] == "diameters-measured"]
    assert "drum-75 72.4 mm (D1 in pocket 3; 75.0 mm when new)" in told["message"]
    assert "fine-1" not in told["message"]
    assert not [f for f in typed["findings"] if f["code"] == "diameters-measured"]


@pytest.mark.usefixtures("worn")
@pytest.mark.parametrize("command", ["wear", "price", "survive", "feed"])
def test_other_commands_tell_it_too(run, command: str) -> None:
    """Each tells what it read."""
    found = _estimate(run, "--mounted", command=command)
    assert any("D1 in pocket 3" in f["message"] for f in found["findings"])


@pytest.mark.usefixtures("worn")
def test_what_is_typed_goes_before_what_was_measured(run) -> None:
    """A diameter on the command line is about this load; the rest is read."""
    found = _estimate(run, "--mounted", "--diameter", "drum-75=71")
    assert found["diameters_mm"] == {"drum-75": 71.0, "metal-1/eased": 79.1}


@pytest.mark.usefixtures("worn")
def test_another_machine_has_its_own_rack(run) -> None:
    """Pieces mounted elsewhere are not in the way."""
    found = _estimate(run, "--mounted", "--machine", "small")
    assert found["diameters_mm"] == {"fine-1/eased": 79.2}
    found = _estimate(run, "--mounted", "--machine", "large")
    assert found["diameters_mm"] == {}
    assert any("no diameter other than new" in f["message"] for f in found["findings"])


@pytest.mark.usefixtures("worn")
def test_without_a_ledger_it_is_refused(run, tmp_path, monkeypatch) -> None:
    """Nothing is made, and the shop or the ledger to name is said."""
    plain = ("estimate", LOAD, "--mounted", "--format", "json")
    refused = run(*plain)
    assert (refused.code, refused.json()["where"]["key"]) == (5, "--mounted")
    monkeypatch.setenv("EDGETIME_LEDGER", "nowhere.sqlite")
    assert run(*plain).code == 5
    assert not (tmp_path / "nowhere.sqlite").exists()
    monkeypatch.setenv("EDGETIME_LEDGER", "edgetime-demo/ledger.sqlite")
    assert run(*plain).json()["diameters_mm"] == {"drum-75": 72.4, "metal-1/eased": 79.1}
