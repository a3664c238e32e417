"""The catalogue is found in a checkout and in an installed wheel."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

import edgetime
from edgetime.tooling import load_catalogue, shipped_folder

ROOT = Path(edgetime.__file__).resolve().parent.parent
CODE = """
import sys
sys.path[:] = [sys.argv[1], *(p for p in sys.path if p != sys.argv[2])]
import edgetime
from edgetime.tooling import load_catalogue, shipped_folder
print(edgetime.__file__)
print(shipped_folder())
print(load_catalogue().digest)
"""


def test_checkout_has_its_catalogue():
    """In a checkout the catalogue is the folder beside the package."""
    assert shipped_folder() in {ROOT / "tooling_profiles", ROOT / "edgetime" / "_catalogue"}
    assert len(load_catalogue().profiles) >= 10


@pytest.mark.slow
@pytest.mark.skipif(not (ROOT / "pyproject.toml").is_file(), reason="not a checkout")
def test_wheel_has_its_catalogue(tmp_path):
    """A wheel unpacked elsewhere loads its own catalogue, the checkout out of reach."""
    built = subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", tmp_path, ROOT],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    if built.returncode and "hatchling" in built.stdout + built.stderr:
        built = subprocess.run(
            [sys.executable, "-m", "build", "--wheel", "--outdir", tmp_path, ROOT],
            capture_output=True, text=True, check=False,
        )  # fmt: skip
    assert built.returncode == 0, built.stderr
    (wheel,) = tmp_path.glob("*.whl")
    site = tmp_path / "site"
    zipfile.ZipFile(wheel).extractall(site)
    # -P keeps the working folder off the path; an editable install's entry is taken off it.
    done = subprocess.run(
        [sys.executable, "-P", "-c", CODE, site, ROOT],
        capture_output=True, text=True, check=True, cwd=tmp_path,
    )  # fmt: skip
    module, folder, digest = done.stdout.splitlines()
    assert Path(module).is_relative_to(site)
    assert Path(folder) == site / "edgetime" / "_catalogue"
    assert digest == load_catalogue().digest
