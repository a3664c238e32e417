"""Fetch the packages whose drawings the corpus test reads, and unpack those drawings.

Run it by itself to fill the folder ahead of a test run::

    python tests/corpus/fetch.py

The drawings are not in the repository, for they are not ours. They go to ``.corpus/`` beside
it, or to ``$EDGETIME_CORPUS``. Each is checked against the digest it is listed with.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
import subprocess
import sys
import tarfile
import tempfile
import zipfile
from pathlib import Path

try:
    import fcntl
except ImportError:  # not on every system
    fcntl = None

LISTED = Path(__file__).parents[1] / "reference" / "dxf_corpus.json"
TIMEOUT_S = 240


def corpus_folder():
    """Return where the drawings lie."""
    given = os.environ.get("EDGETIME_CORPUS")
    return Path(given) if given else Path(__file__).parents[2] / ".corpus"


def listed():
    """Return the listed drawings."""
    return json.loads(LISTED.read_text(encoding="utf-8"))["drawings"]


def drawing_path(folder, drawing):
    """Return where one drawing lies, once fetched."""
    return folder / drawing["package"].replace("/", "-") / drawing["path"]


def _command(package, into):
    kind, _, release = package.partition("/")
    name, _, version = release.rpartition("-")
    if kind == "npm":
        npm = shutil.which("npm")
        return None if npm is None else [npm, "pack", "--silent", f"{name}@{version}"]
    # The wheels carry no drawings. pip builds the metadata of a source package in a room of
    # its own, which costs some twenty seconds but asks nothing of this environment.
    return [
        *(sys.executable, "-m", "pip", "download", "--quiet", "--disable-pip-version-check"),
        *("--no-deps", "--no-binary", name, "--dest", str(into), f"{name}=={version}"),
    ]


def _members(archive):
    """Yield (path without the leading folder, bytes) of an archive."""
    if archive.suffix == ".zip":
        with zipfile.ZipFile(archive) as opened:
            for name in opened.namelist():
                yield name.partition("/")[2], opened.read(name)
        return
    with tarfile.open(archive) as opened:
        for member in opened:
            if member.isfile():
                yield member.name.partition("/")[2], opened.extractfile(member).read()


def _unpack(archive, folder, drawings):
    wanted = {drawing["path"]: drawing for drawing in drawings}
    for path, data in _members(archive):
        drawing = wanted.get(path)
        if drawing is None:
            continue
        if hashlib.sha256(data).hexdigest() != drawing["sha256"]:
            return f"{path} is not the file that was measured"
        target = drawing_path(folder, drawing)
        target.parent.mkdir(parents=True, exist_ok=True)
        # Whole or not at all: another run may be looking for it.
        fresh = target.with_name(f"{target.name}.{os.getpid()}.new")
        fresh.write_bytes(data)
        fresh.replace(target)
        del wanted[path]
    return f"the package lacks {', '.join(wanted)}" if wanted else None


@contextlib.contextmanager
def _alone(folder):
    """Keep out other processes that fetch into the same folder until this one is done."""
    folder.mkdir(parents=True, exist_ok=True)
    with (folder / ".lock").open("a") as lock:
        if fcntl is not None:
            fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def fetch_once(folder, told):
    """Fetch what is missing; of several processes of one run, the first does it for all.

    Parameters
    ----------
    folder : Path
        Where the drawings go.
    told : Path
        A file of this run alone, with what the first of them found.

    Returns
    -------
    dict
        As :func:`fetch`.
    """
    with _alone(folder):
        if not told.exists():
            told.write_text(json.dumps(fetch(folder)), encoding="utf-8")
        return json.loads(told.read_text(encoding="utf-8"))


def fetch(folder):
    """Fetch what is missing, all packages at once.

    Returns
    -------
    dict
        Package → why its drawings cannot be had, for those that cannot.
    """
    packages = {}
    for drawing in listed():
        packages.setdefault(drawing["package"], []).append(drawing)
    missing = {
        package: drawings
        for package, drawings in packages.items()
        if not all(drawing_path(folder, drawing).is_file() for drawing in drawings)
    }
    failed = {}
    with tempfile.TemporaryDirectory() as scratch:
        running = {}
        for package in missing:
            into = Path(scratch) / package.replace("/", "-")
            into.mkdir()
            command = _command(package, into)
            if command is None:
                failed[package] = "npm is not installed"
                continue
            running[package] = (
                into,
                subprocess.Popen(
                    command, cwd=into, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
                ),
            )
        for package, (into, process) in running.items():
            try:
                said, _ = process.communicate(timeout=TIMEOUT_S)
            except subprocess.TimeoutExpired:
                process.kill()
                process.communicate()
                failed[package] = f"no answer within {TIMEOUT_S} s"
                continue
            archives = [p for p in into.iterdir() if p.suffix in (".gz", ".tgz", ".zip")]
            if process.returncode or not archives:
                last = (said.strip().splitlines() or ["nothing was downloaded"])[-1]
                failed[package] = f"download failed: {last}"
                continue
            problem = _unpack(archives[0], folder, missing[package])
            if problem:
                failed[package] = problem
    return failed


if __name__ == "__main__":
    problems = fetch(corpus_folder())
    for name, reason in problems.items():
        print(f"{name}: {reason}")
    sys.exit(bool(problems))
