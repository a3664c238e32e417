"""Drawings that nobody here drew: lengths by layer against two independent readers."""

from __future__ import annotations

import os
import warnings
from collections import Counter

import numpy as np
import pyogrio
import pytest
import shapely
from fetch import corpus_folder, drawing_path, fetch_once, listed

from edgetime.drawing import read_drawing
from edgetime.tolerances import BIARC_TOLERANCE_MM

pytestmark = pytest.mark.corpus

DRAWINGS = listed()
IDS = [f"{d['package'].partition('/')[2]}:{d['path'].rpartition('/')[2]}" for d in DRAWINGS]
BY_ID = dict(zip(IDS, DRAWINGS, strict=True))


@pytest.fixture(scope="session")
def corpus(tmp_path_factory):
    """Fetch the drawings that are not there yet, once for all processes of a run."""
    folder, scratch = corpus_folder(), tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        scratch = scratch.parent
    return folder, fetch_once(folder, scratch / "corpus.json")


def opened(corpus, key):
    """Read one drawing, in its own units or, when it has none, in millimetres."""
    folder, failed = corpus
    drawing = BY_ID[key]
    reason = failed.get(drawing["package"])
    if reason is not None:
        # Continuous integration has the Python registry; a drawing skipped there is a hole.
        if os.environ.get("CI") == "true" and reason != "npm is not installed":
            pytest.fail(f"{drawing['package']}: {reason}")
        pytest.skip(f"{drawing['package']}: {reason}")
    path = drawing_path(folder, drawing)
    units = "mm" if drawing["insunits"] in (None, "0") else None
    return path, read_drawing(path, drawing_units=units)


@pytest.mark.parametrize("key", IDS)
def test_lengths_by_layer_as_listed(corpus, key):
    """Each layer's length, and the total, equals that of a reader without a DXF library."""
    _, drawing = opened(corpus, key)
    ours = {k: v / drawing.mm_per_unit for k, v in drawing.lengths_by_layer_mm().items()}
    theirs = BY_ID[key]["length_by_layer"]
    assert ours == pytest.approx(theirs, rel=1e-6)
    assert sum(ours.values()) == pytest.approx(sum(theirs.values()), rel=1e-6)


@pytest.mark.parametrize("key", IDS)
def test_hidden_layers_as_listed(corpus, key):
    """The layers listed as off or frozen, and no others, are not shown."""
    _, drawing = opened(corpus, key)
    listed_hidden = set(BY_ID[key]["off_or_frozen"])
    ours = {name for name, state in drawing.layers.items() if state != "shown"}
    assert ours == listed_hidden & set(drawing.layers)


GDAL_DIFFERS = {
    "three-dxf-0.3.1:api-cw750-details.dxf": "draws dimensions, leaders and hatches as lines",
    "three-dxf-1.3.1:demo.dxf": "cuts splines into few chords: 1.4e-4 short",
    "ezdxf-1.4.5:ASCII_R12.dxf": "leaves the letters of layer names escaped",
    "ezdxf-1.4.5:POLI-ALL210_12.DXF": "measures one of 30 tilted polylines 25.37, not 25.58",
    "ezdxf-1.4.5:duplicate_handles.dxf": "draws dimensions as lines",
    "ezdxf-1.4.5:recover01.dxf": "reads the first ENTITIES section only",
}
"""Drawings left out of the second comparison, and what the second reader does with them."""

ARC_STEP_DEG = 0.1
# A chord over an angle θ is shorter than its arc by θ²/24.
GDAL_RELATIVE = 1.05 * np.radians(ARC_STEP_DEG) ** 2 / 24


def gdal_lines(path):
    """Read a drawing with GDAL: (layer, line) in model space, flat."""
    pyogrio.set_gdal_config_options(
        {"OGR_ARC_STEPSIZE": str(ARC_STEP_DEG), "DXF_MERGE_BLOCK_GEOMETRIES": "NO"}
    )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        meta, _, shapes, columns = pyogrio.raw.read(path, columns=["Layer", "PaperSpace"])
    fields = dict(zip(meta["fields"], columns, strict=True))
    return [
        (fields["Layer"][i], shape)
        for i, shape in enumerate(shapely.force_2d(shapely.from_wkb(shapes)))
        if shape.geom_type in ("LineString", "MultiLineString")
        and not ("PaperSpace" in fields and fields["PaperSpace"][i] == 1)
    ]


@pytest.mark.parametrize("key", [key for key in IDS if key not in GDAL_DIFFERS])
def test_lengths_by_layer_as_gdal_measures(corpus, key):
    """GDAL, with fine arcs, measures the same within its tessellation, layer by layer."""
    path, drawing = opened(corpus, key)
    ours = {k: v / drawing.mm_per_unit for k, v in drawing.lengths_by_layer_mm().items()}
    totals = Counter()
    for layer, shape in gdal_lines(path):
        totals[layer] += shape.length
    theirs = {layer: length for layer, length in totals.items() if length > 0.0}
    assert theirs == pytest.approx(ours, rel=GDAL_RELATIVE)


@pytest.mark.parametrize("key", [key for key in IDS if key not in GDAL_DIFFERS])
def test_places_as_gdal_has_them(corpus, key):
    """What a length cannot see: each layer's curves lie where GDAL has them."""
    path, drawing = opened(corpus, key)
    lines = [shape for _, shape in gdal_lines(path)]
    points = np.vstack((drawing.start, drawing.end)) / drawing.mm_per_unit
    if not len(points):
        assert not lines
        return
    drawn = shapely.union_all(lines)
    size = float(np.ptp(points, axis=0).max())
    # Joints of the arcs that stand for a spline lie off it by up to their tolerance.
    allowed = max(1e-5 * size, BIARC_TOLERANCE_MM / drawing.mm_per_unit)
    assert shapely.distance(drawn, shapely.points(points)).max() <= allowed
