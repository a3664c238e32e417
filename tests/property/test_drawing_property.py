"""Drawings in general: damage never crashes, maps keep lengths, units scale them."""

from __future__ import annotations

import contextlib
import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support.dxf_text import arc, block, circle, document, insert, layer, line, lwpolyline, spline

from edgetime.errors import EdgetimeError

SOUND = document(
    line((0, 0, 0), (100, 0, 0)),
    arc((0, 0, 0), 80.0, 10.0, 200.0),
    lwpolyline([(0, 0), (300, 0, 1.0), (300, 80)], closed=True),
    spline(2, [(0, 0, 0), (100, 90, 0), (200, 0, 0)], [0, 0, 0, 1, 1, 1]),
    insert("B", (5, 5, 0), scale=(2, 1, 1)),
    blocks=[block("B", circle((0, 0, 0), 50.0))],
    layers=[layer("A")],
).encode()

RELAXED = settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)


@RELAXED
@given(
    at=st.integers(0, len(SOUND) - 1),
    gone=st.integers(0, 30),
    put=st.binary(max_size=12) | st.sampled_from([b"\n", b"0", b"-1e999", b"nan", b"  0\nEOF\n"]),
)
def test_damage_never_crashes(read_text, at, gone, put):
    """Any bytes exchanged for others give a drawing or one of our errors."""
    with contextlib.suppress(EdgetimeError):
        drawing = read_text(SOUND[:at] + put + SOUND[at + gone :], drawing_units="mm")
        assert all(math.isfinite(v) for v in drawing.lengths_by_layer_mm().values())


COORDINATE = st.floats(-500, 500).map(lambda v: round(v, 3))


@RELAXED
@given(
    vertices=st.lists(st.tuples(COORDINATE, COORDINATE, st.floats(-2, 2)), min_size=2, max_size=6),
    rotation=st.floats(-360, 360),
    factor=st.floats(0.1, 10),
    mirrored=st.booleans(),
    closed=st.booleans(),
)
def test_a_similar_copy_has_the_scaled_length(
    read_text, vertices, rotation, factor, mirrored, closed
):
    """Turned, mirrored and evenly scaled, lengths grow by the factor and ends keep meeting."""
    shape = lwpolyline(vertices, closed=closed)
    plain = read_text(document(shape, line((0, 0, 0), (1, 0, 0))))
    scale = (-factor if mirrored else factor, factor, 1)
    turned = read_text(
        document(
            insert("B", (7, -3, 0), scale=scale, rotation=rotation),
            blocks=[block("B", shape, line((0, 0, 0), (1, 0, 0)))],
        )
    )
    assert turned.length.sum() == pytest.approx(factor * plain.length.sum(), rel=1e-9, abs=1e-5)
    ends = turned.end[:-2] - turned.start[1:-1]
    same = turned.entity[:-2] == turned.entity[1:-1]
    assert abs(ends[same]).max(initial=0.0) <= 2e-6


@RELAXED
@given(unit=st.sampled_from([("mm", 1.0), ("cm", 10.0), ("m", 1e3), ("in", 25.4), ("ft", 304.8)]))
def test_units_scale_every_length(read_text, unit):
    """The same numbers in another unit are lengths by its factor, curves as exact as ever."""
    name, factor = unit
    base = read_text(SOUND, drawing_units="mm").lengths_by_layer_mm()
    other = read_text(SOUND, drawing_units=name).lengths_by_layer_mm()
    assert other == pytest.approx({k: factor * v for k, v in base.items()}, rel=1e-9)
