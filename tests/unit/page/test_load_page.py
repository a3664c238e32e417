"""The page holds what the estimate says, and lets nothing else in."""

from __future__ import annotations

import base64
import hashlib
import json
import re
import zlib
from html.parser import HTMLParser

import numpy as np
import pytest
from support.estimates import two_tops
from support.kitchens import write_kitchen

from edgetime.estimating import estimate
from edgetime.moves import Moves
from edgetime.page import load_page
from edgetime.page.data import edge_times
from edgetime.picture.scene import scene_of_estimate
from edgetime.picture.track import begins, places, tool_track


@pytest.fixture(scope="module")
def est(tmp_path_factory):
    return estimate([write_kitchen(tmp_path_factory.mktemp("page") / "kitchen.dxf")])


@pytest.fixture(scope="module")
def page(est):
    return load_page(est)


def page_data(page):
    return json.loads(
        re.search(r'<script type="application/json" id="data">(.*?)</script>', page)[1]
    )


def unpacked(text):
    """Return the columns as the page's script reads them: byte planes of differences."""
    raw = np.frombuffer(zlib.decompress(base64.b64decode(text)), dtype=np.uint8)
    frames = len(raw) // 24
    columns = raw.reshape(6, 4, frames).astype(np.int64)
    whole = (columns * (1 << np.array([0, 8, 16, 24]))[None, :, None]).sum(axis=1)
    signed = np.where(whole >= 1 << 31, whole - (1 << 32), whole)
    return np.cumsum(signed, axis=1)


def model_places(est, moments):
    """Return where the motion model has the tool at fractions of its moves."""
    rows, shares = moments
    motion = est.motion
    run = np.concatenate([[0.0], np.cumsum(motion.seconds)])
    state = motion.sample(
        np.minimum(run[rows] + shares * motion.seconds[rows], motion.total_s * (1 - 1e-12))
    )
    known = state.row == rows
    when = (begins(est)[rows] + shares * motion.seconds[rows])[known]
    return when, places(est.paths.moves, state.row, state.place)[known]


def test_the_pages_tool_is_where_the_motion_model_has_it(est, page):
    """Within a millimetre at ten thousand moments of the cycle, read back from the page."""
    rng = np.random.default_rng(20261127)
    rows = rng.choice(np.flatnonzero(est.motion.seconds > 0.0), 10_000)
    when, true = model_places(est, (rows, rng.random(len(rows))))
    time, *xyz, _, _ = unpacked(page_data(page)["track"])
    shown = np.column_stack([np.interp(when, time / 1000.0, axis / 10.0) for axis in xyz])
    assert np.linalg.norm(shown - true, axis=1).max() < 1.0
    assert time[0] == 0
    assert time[-1] / 1000.0 == pytest.approx(est.cycle.total_s, abs=1e-3)
    assert np.all(np.diff(time) >= 0)


def test_finer_tracks_are_nearer(est):
    """The stated distance holds at moments nobody looked at while the track was made."""
    rng = np.random.default_rng(7)
    rows = rng.choice(np.flatnonzero(est.motion.seconds > 0.0), 5_000)
    when, true = model_places(est, (rows, rng.random(len(rows))))
    worst = []
    for off in (2.0, 0.2):
        track = tool_track(est, off_mm=off)
        shown = np.column_stack(
            [np.interp(when, track.time_s, track.place_mm[:, axis]) for axis in range(3)]
        )
        worst.append(float(np.linalg.norm(shown - true, axis=1).max()))
        assert worst[-1] < 1.25 * off
    assert worst[1] < worst[0]


def test_places_on_an_arc_lie_on_the_circle():
    """A quarter of the way along a half circle to the left: closed form."""
    moves = Moves.simple([(0.0, 0.0), (10.0, 0.0)], feed=1.0, bulge=1.0)
    (at,) = places(moves, np.array([0]), np.array([0.25 * 5.0 * np.pi]))
    assert at[:2] == pytest.approx([5.0 - 5.0 * np.sqrt(0.5), -5.0 * np.sqrt(0.5)])


def test_times_at_edges_add_up_to_those_of_their_moves(est):
    """Every second of a move that belongs to a profile is at one edge."""
    scene = scene_of_estimate(est)
    told = sum(s for row in edge_times(est, scene).values() for _, s in row)
    moves = est.paths.moves
    own = (moves.pass_index >= 0) & (moves.profile >= 0)
    contours = np.array([p.run.contour for p in est.plan.passes])[moves.pass_index] >= 0
    true = float((est.motion.seconds + moves.dwell)[own & contours].sum())
    assert told == pytest.approx(true, abs=0.01 * len(scene.edges) * len(est.cycle.visits))


def test_the_policy_admits_the_pages_own_script_and_style_alone(page):
    """The digests are those of what stands in the page."""
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', page)[1]
    for kind in ("style", "script"):
        (text,) = re.findall(f"<{kind}>(.*?)</{kind}>", page, re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert f"{kind}-src 'sha256-{digest}'" in policy
    assert "default-src 'none'" in policy
    addresses = set(re.findall(r"https?://[^\s\"'<>]+", page))
    assert addresses == {"http://www.w3.org/2000/svg"}  # a name, not an address


class _Elements(HTMLParser):
    def __init__(self):
        super().__init__()
        self.scripts, self.events = 0, []

    def handle_starttag(self, tag, attrs):
        self.scripts += tag == "script"
        self.events += [name for name, _ in attrs if name.startswith("on")]


@pytest.mark.parametrize(
    "name",
    ["<script>alert(1)</script>", "</script><img src=x onerror=alert(1)>", '"><b', "\x1b]0;x\x07"],
)
def test_names_are_only_text(name):
    """Drawing, part and title: no element and no event comes of them."""
    est = two_tops()
    page = load_page(est, title=name)
    found = _Elements()
    found.feed(page)
    assert found.scripts == 2
    assert not found.events
    assert "\x1b" not in page


def test_printed_figures_are_those_of_the_estimate(est, page):
    """Total, visits, edges: to the last digit that is printed."""
    text = re.sub(r"<[^>]+>", " ", page)
    seconds = round(est.cycle.total_s)
    assert f"{seconds // 3600} h {seconds // 60 % 60:02d} min {seconds % 60:02d} s" in text
    for visit in est.cycle.visits:
        whole = round(visit.time.total_s)
        assert f">{whole // 60}:{whole % 60:02d}<" in page
    for edge in scene_of_estimate(est).edges:
        assert f">{edge.length_mm / 1e3:.3f}<" in page
