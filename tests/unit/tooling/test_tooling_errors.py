"""Every way a shop's file can be wrong: which file, line and key, and what to do."""

import os
from pathlib import Path

import pytest

from edgetime.errors import CatalogueInvalid
from edgetime.tooling import check_shop, load_catalogue, toml_file

# file, text to replace, new text, dotted key, part of what is said, part of the remedy
WRONG = {
    "negative-feed": (
        "stacks/standard.toml", 'feed = "600 mm/min"', 'feed = "-600 mm/min"',
        "step[7].feed", '"-600 mm/min" is out of range; allowed is a speed above 0 mm/min',
        "Correct the number",
    ),
    "zero-feed": (
        "stacks/standard.toml", 'feed = "600 mm/min"', 'feed = "0 mm/min"',
        "step[7].feed", "out of range", "Correct",
    ),
    "absurd-feed": (
        "stacks/fast-metal.toml", 'feed = "350 in/min"', 'feed = "350 m/min"',
        "step[14].feed", '"350 m/min" is out of range', "unit",
    ),
    "no-unit": (
        "stacks/standard.toml", 'feed = "600 mm/min"', "feed = 600",
        "step[7].feed", "'600' has no unit", 'Write "600 mm/min"',
    ),
    "unknown-unit": (
        "stacks/standard.toml", 'feed = "600 mm/min"', 'feed = "600 furlong/min"',
        "step[7].feed", "'furlong/min' in '600 furlong/min' is not a unit of speed", "in/min",
    ),
    "length-for-speed": (
        "stacks/standard.toml", 'feed = "600 mm/min"', 'feed = "600 mm"',
        "step[7].feed", "'mm' in '600 mm' is not a unit of speed", "mm/min",
    ),
    "not-finite": (
        "stacks/standard.toml", 'feed = "600 mm/min"', 'feed = "1e999 mm/min"',
        "step[7].feed", "is not a finite number", "Allowed",
    ),
    "list-for-quantity": (
        "tools/drum-75.toml", 'diameter = "75 mm"', 'diameter = ["75 mm"]',
        "diameter", "a list is not a quantity", "mm",
    ),
    "zero-diameter": (
        "tools/drum-75.toml", 'diameter = "75 mm"', 'diameter = "0 mm"',
        "diameter", '"0 mm" is out of range; allowed is a length above 0 mm', "Correct",
    ),
    "unknown-kind": (
        "tools/drum-75.toml", 'kind = "drum"', 'kind = "drumm"',
        "kind", '"drumm" is not known here', "Did you mean drum?",
    ),
    "unknown-key": (
        "tools/drum-75.toml", 'diameter = "75 mm"', 'diametre = "75 mm"\ndiameter = "75 mm"',
        "diametre", "diametre is not a known key here", "Did you mean diameter?",
    ),
    "unknown-key-in-step": (
        "stacks/standard.toml", 'feed = "600 mm/min"', 'fed = "1 mm/min"\nfeed = "600 mm/min"',
        "step[7].fed", "fed is not a known key", "Did you mean feed?",
    ),
    "missing-key": (
        "machines/medium.toml", "pockets = 28 ", "# pockets = 28 ",
        "pockets", "pockets is missing", "a whole number from 1 to 500",
    ),
    "text-for-count": (
        "machines/medium.toml", "pockets = 28 ", 'pockets = "28" ',
        "pockets", '"28" is not a whole number', "without quotes",
    ),
    "fraction-for-count": (
        "machines/medium.toml", "pockets = 28 ", "pockets = 28.5 ",
        "pockets", "28.5 is not a whole number", "without",
    ),
    "true-for-count": (
        "machines/medium.toml", "pockets = 28 ", "pockets = true ",
        "pockets", "true is not a whole number", "without",
    ),
    "no-pocket": (
        "machines/medium.toml", "pockets = 28 ", "pockets = 0 ",
        "pockets", "0 is out of range; allowed is a whole number from 1 to 500", "Correct",
    ),
    "two-axes": (
        "machines/medium.toml", 'rapid = ["40 m/min", "40 m/min", "15 m/min"]',
        'rapid = ["40 m/min", "15 m/min"]',
        "rapid", "Found a list of 2 where 3 figures belong (X, Y, Z)", "Write a list of 3",
    ),
    "one-figure-for-axes": (
        "machines/medium.toml", 'rapid = ["40 m/min", "40 m/min", "15 m/min"]',
        'rapid = "40 m/min"',
        "rapid", 'Found "40 m/min" where 3 figures belong', "Write a list of 3",
    ),
    "zero-acceleration": (
        "machines/medium.toml", 'path_acceleration = "1.2 m/s2"', 'path_acceleration = "0 m/s2"',
        "path_acceleration", "allowed is an acceleration above 0 m/s2", "Correct",
    ),
    "travel-reversed": (
        "machines/medium.toml", 'travel_max = ["3750 mm", "2150 mm"]',
        'travel_max = ["3750 mm", "-200 mm"]',
        "travel_max", "The travel in Y runs from -150 to -200 mm", "must exceed",
    ),
    "approach-above-rapids": (
        "machines/medium.toml", 'approach_z = "10 mm"', 'approach_z = "100 mm"',
        "approach_z", "approach_z, 100 mm, is above safe_z, 80 mm", "below",
    ),
    "truth-in-quotes": (
        "profiles/mitre.toml", "false\nsides", '"false"\nsides',
        "made_here", '"false" is neither true nor false', "without quotes",
    ),
    "empty-title": (
        "stones/marble.toml", 'title = "Marble"', 'title = " "',
        "title", "The text is empty", "at least one word",
    ),
    "number-for-text": (
        "stones/marble.toml", 'title = "Marble"', "title = 5",
        "title", "5 is not a text", "quotes",
    ),
    "number-for-choice": (
        "machines/medium.toml", 'path_mode = "continuous"', "path_mode = 1",
        "path_mode", "1 is not a text", "exact-stop",
    ),
    "no-path-mode": (
        "machines/medium.toml", 'path_mode = "continuous"', "",
        "path_mode", "path_mode is missing", "exact-path, exact-stop, continuous",
    ),
    "two-path-modes": (
        "machines/medium.toml", 'path_mode = "continuous"',
        'path_mode = "continuous"\ncorner = "blend"',
        "corner", "Both path_mode and its old form corner", "Remove corner",
    ),
    "arc-shares-above-one": (
        "machines/medium.toml", 'path_mode = "continuous"',
        'path_mode = "continuous"\narc_shares = ["60 %", "90 %"]',
        "arc_shares", "ask an axis for 1.082 of its acceleration", "at most 80 % across",
    ),
    "one-arc-share": (
        "machines/medium.toml", 'path_mode = "continuous"',
        'path_mode = "continuous"\narc_shares = ["60 %", "by-direction"]',
        "arc_shares", "one share of two", "Give both",
    ),
    "look-ahead-of-nothing": (
        "machines/medium.toml", 'path_mode = "continuous"',
        'path_mode = "continuous"\nlook_ahead = 0',
        "look_ahead", "0 is out of range", "Correct the number",
    ),
    "source-of-nothing": (
        "stones/marble.toml", 'feed_factor = "By', 'feed_facter = "By',
        "source.feed_facter", "there is no such key", "Did you mean feed_factor?",
    ),
    "source-without-all": (
        "stones/marble.toml", 'all = "Assumption', 'density_ = "Assumption',
        "source", "no sentence for the remaining figures", "all =",
    ),
    "empty-source": (
        "profiles/eased.toml", 'source = "Common', 'source = 3 # "Common',
        "source", "3 is not a source", "sentence",
    ),
    "list-for-a-source": (
        "stones/marble.toml", 'feed_factor = "By', 'feed_factor = ["3"] # "By',
        "source", "Found a list where the source of feed_factor belongs", "sentence",
    ),
    "text-for-table": (
        "shop.toml", "[stock] ", "stock = 3\n[other] ",
        "stock", "Found 3 where a table belongs", "Write a table",
    ),
    "thickness-order": (
        "profiles/eased.toml", 'thickness = "20 mm"', 'thickness = "40 mm"',
        "section[2].thickness", "The section for 30 mm comes after the one for 40 mm", "thinnest",
    ),
    "thickness-twice": (
        "profiles/eased.toml", 'thickness = "30 mm"', 'thickness = "20 mm"',
        "section[2].thickness", "There are two sections for 20 mm", "once",
    ),
    "stack-thickness-order": (
        "stacks/standard.toml", 'thicknesses = ["20 mm", "30 mm"]',
        'thicknesses = ["30 mm", "20 mm"]',
        "thicknesses", "20 mm comes after 30 mm", "thinnest first",
    ),
    "contour-short-of-bottom": (
        "profiles/eased.toml", 'v = "20 mm" }', 'v = "19 mm" }',
        "section[1].points[3].v", "must end on the bottom face, v = 20 mm, but has v = 19 mm",
        "top face to the bottom face",
    ),
    "contour-below-top": (
        "profiles/eased.toml", 'u = "3 mm", v = "0 mm"', 'u = "3 mm", v = "1 mm"',
        "section[1].points[1].v", "must begin on the top face, v = 0 mm, but has v = 1 mm",
        "top face",
    ),
    "arc-too-small": (
        "profiles/eased.toml", 'radius = "3 mm"', 'radius = "2 mm"',
        "section[1].points[2]", "A radius of 2 mm does not span the 4.24264 mm",
        "Correct radius",
    ),
    "arc-without-radius": (
        "profiles/eased.toml", ', radius = "3 mm"', "",
        "section[1].points[2]", "radius is missing", "Add radius",
    ),
    "radius-without-arc": (
        "profiles/eased.toml", 'arc = "convex", ', "",
        "section[1].points[2]", "arc is missing", "Add arc",
    ),
    "arc-to-first-point": (
        "profiles/eased.toml", '{ u = "3 mm", v = "0 mm" }',
        '{ u = "3 mm", v = "0 mm", arc = "convex", radius = "3 mm" }',
        "section[1].points[1]", "no arc leads to it", "where the arc ends",
    ),
    "points-coincide": (
        "profiles/bevel.toml", '{ u = "0 mm", v = "6 mm" }', '{ u = "6 mm", v = "0 mm" }',
        "section[1].points[2]", "The point lies on the one before it", "Correct the point",
    ),
    "negative-coordinate": (
        "profiles/bevel.toml", '{ u = "6 mm", v = "0 mm" }', '{ u = "-6 mm", v = "0 mm" }',
        "section[1].points[1].u", '"-6 mm" is out of range', "Correct",
    ),
    "unknown-family": (
        "profiles/bevel.toml", 'family = "arris"', 'family = "aris"',
        "family", '"aris" is not known here', "Did you mean arris?",
    ),
    "three-sides": (
        "profiles/bevel.toml", "sides = 1", "sides = 3",
        "sides", "3 is out of range; allowed is a whole number from 1 to 2", "Correct",
    ),
    "life-by-two": (
        "tools/core-35.toml", "holes = 250", 'holes = 250\nlength = "5 m"',
        "life[1]", "found length and holes", "[[life]]",
    ),
    "life-by-none": (
        "tools/core-35.toml", "holes = 250", "",
        "life[1]", "found none", "[[life]]",
    ),
    "life-twice": (
        "tools/core-35.toml", 'stone = "marble"', "",
        "life[2]", "is given twice", "Keep one",
    ),
    "life-of-unknown-stone": (
        "tools/core-35.toml", 'stone = "marble"', 'stone = "marbel"',
        "life[2].stone", "There is no stone 'marbel'", "Did you mean marble?",
    ),
    "dressing-without-time": (
        "tools/drum-75.toml", 'dress_time = "45 s"', "",
        "dress_time", "dress_time is zero", "both",
    ),
    "price-without-currency": (
        "tools/drum-75.toml", '"280.00 EUR"', '"280.00"',
        "price", '"280.00" is not a price', "240.00 EUR",
    ),
    "negative-price": (
        "tools/drum-75.toml", '"280.00 EUR"', '"-280.00 EUR"',
        "price", "is not a price", "EUR",
    ),
    "unknown-tool": (
        "stacks/standard.toml", 'tool = "finger-22"', 'tool = "finger-23"',
        "step[7].tool", "There is no tool 'finger-23'", "Did you mean finger-22?",
    ),
    "wrong-kind-of-tool": (
        "stacks/standard.toml", 'tool = "finger-22"', 'tool = "drum-75"',
        "step[7].tool", "'drum-75' is a drum; the operation cut needs one of: finger-bit",
        "another tool",
    ),
    "unknown-applies-to": (
        "stacks/standard.toml", 'applies_to = ["round"]', 'applies_to = ["rund"]',
        "step[12].applies_to", "There is no profile or family of profiles 'rund'",
        "Did you mean round?",
    ),
    "unknown-place": (
        "stacks/standard.toml", 'feed = "600 mm/min"', 'feed = "600 mm/min"\nplaces = ["cutouts"]',
        "step[7].places", '"cutouts" is not known here', "Did you mean cutout?",
    ),
    "name-twice-in-list": (
        "stacks/standard.toml", 'applies_to = ["round"]', 'applies_to = ["round", "round"]',
        "step[12].applies_to", '"round" is in the list twice', "once",
    ),
    "text-for-names": (
        "stacks/standard.toml", 'applies_to = ["round"]', 'applies_to = "round"',
        "step[12].applies_to", '"round" is not a list of names', "Write a list",
    ),
    "step-name-twice": (
        "stacks/standard.toml", 'name = "metal-1-shaped"', 'name = "metal-1-round"',
        "step[13].name", "There is already a step named 'metal-1-round'", "its own name",
    ),
    "share-on-a-cut": (
        "stacks/standard.toml", 'stock_left = "1 mm"', 'stock_left = "1 mm"\nshare = "10 %"',
        "step[7].share", "share does not apply to a step of operation cut",
        "fine, polish, profile",
    ),
    "share-above-one": (
        "stacks/standard.toml", 'share = "20 %"', 'share = "120 %"',
        "step[14].share", '"120 %" is out of range; allowed is a ratio at least 0 %', "Correct",
    ),
    "shares-short-of-one": (
        "stacks/standard.toml", 'share = "20 %"', 'share = "19.9 %"',
        "step[22].share", "add up to 99.9 %, not to 100 %", "Correct share",
    ),
    "stack-for-unknown-stone": (
        "stacks/standard.toml", '["granite", "quartz"]', '["granit", "quartz"]',
        "stones", "There is no stone 'granit'", "Did you mean granite?",
    ),
    "shop-unknown-machine": (
        "shop.toml", 'machine = "medium"', 'machine = "mediun"',
        "machine", "There is no machine 'mediun'", "Did you mean medium?",
    ),
    "shop-stack-for-another-stone": (
        "shop.toml", 'stone = "granite"', 'stone = "marble"',
        "stack", "The stack 'standard' does not serve 'marble'; it serves: granite, quartz",
        "another stack",
    ),
    "shop-stack-for-another-thickness": (
        "shop.toml", 'thickness = "30 mm"', 'thickness = "12 mm"',
        "thickness", "does not serve 12 mm; it serves: 20, 30 mm", "another thickness",
    ),
    "shop-negative-stock": (
        "shop.toml", 'saw = "2 mm"', 'saw = "-2 mm"',
        "stock.saw", '"-2 mm" is out of range', "Correct",
    ),
    "shop-unknown-units": (
        "shop.toml", 'units = "metric"', 'units = "inches"',
        "units", '"inches" is not known here', "metric, imperial",
    ),
    "layer-unknown-meaning": (
        "layers.toml", 'means = "recess"', 'means = "reces"',
        "layer[11].means", '"reces" is not known here', "Did you mean recess?",
    ),
    "layer-unknown-profile": (
        "layers.toml", 'profile = "flat-polish"', 'profile = "flat-polsh"',
        "layer[9].profile", "There is no profile 'flat-polsh'", "Did you mean flat-polish?",
    ),
    "layer-edge-without-profile": (
        "layers.toml", 'means = "edge"\nprofile = "flat-polish"', 'means = "edge"',
        "layer[26].profile", "An edge needs a profile", "Add profile",
    ),
    "layer-profile-on-a-seam": (
        "layers.toml", 'means = "seam"', 'means = "seam"\nprofile = "eased"',
        "layer[22].profile", "profile does not apply to a layer that means seam", "cutout, edge",
    ),
    "layer-method-on-an-outline": (
        "layers.toml", 'means = "outline"\n\n', 'means = "outline"\nmethod = "milled"\n\n',
        "layer[37].method", "method does not apply to a layer that means outline", "cutout",
    ),
    "layer-twice": (
        "layers.toml", 'match = "TAP*"', 'match = "hole*"',
        "layer[17].match", "'hole*' is already matched by rule 16", "Remove",
    ),
    "layers-unknown-default": (
        "layers.toml", "# default_profile", 'default_profile = "ease"\n# default_profile',
        "default_profile", "There is no profile 'ease'", "Did you mean eased?",
    ),
}  # fmt: skip
NOWHERE = {"no-path-mode", "missing-key", "dressing-without-time"}
"""What is missing from the top of a file stands on no line."""

ELSEWHERE = {"shares-short-of-one", "thickness-order"}
"""These are noticed at a later line than the one that was changed."""


@pytest.mark.parametrize("case", sorted(WRONG))
def test_wrong_value_is_named_with_its_place(shop, case):
    """One wrong value gives an error at its file, line and key, with its remedy."""
    name, old, new, key, what, remedy = WRONG[case]
    line = shop.edit(name, old, new)
    errors = check_shop(shop.folder)
    found = [e for e in errors if e.where.key == key]
    assert len(found) == 1, [str(e) for e in errors]
    error = found[0]
    assert error.where.path == f"{shop.folder}/{name}"
    assert what in error.what
    assert remedy in error.remedy
    assert (error.where.line is None) == (case in NOWHERE)
    own = {e.where.path for e in errors}
    assert own == {f"{shop.folder}/{name}"}
    if key.rsplit(".", 1)[-1] in new.split("\n")[0] and case not in ELSEWHERE | NOWHERE:
        assert error.where.line == line


def test_table_where_a_list_belongs(shop):
    """A single-bracket table where a list of tables belongs is named at its line."""
    text = 'title = "x"\nfamily = "arris"\nsource = "x"\n[section]\nthickness = "20 mm"\n'
    shop.write("profiles/eased.toml", text)
    (error,) = check_shop(shop.folder)
    assert (error.where.key, error.where.line) == ("section", 4)
    assert error.what == "Found a table where a list belongs."


def test_arc_that_leaves_the_slab_is_refused(shop):
    """A convex arc past the sawn plane is refused with how far it reaches."""
    shop.edit("profiles/eased.toml", 'u = "3 mm", v = "0 mm"', 'u = "0.5 mm", v = "0 mm"')
    (error,) = check_shop(shop.folder)
    assert error.where.key == "section[1].points[2]"
    assert "The contour leaves the slab here: it reaches u = -" in error.what
    assert "v from 0 to 20 mm" in error.what


def test_all_errors_of_all_files_come_at_once(shop):
    """Errors in four files, two of them in one, are all reported, each at its line."""
    lines = [
        ("profiles/eased.toml", shop.edit("profiles/eased.toml", '"arris"', '"aris"')),
        ("tools/drum-75.toml", shop.edit("tools/drum-75.toml", '"75 mm"', '"75"')),
        ("tools/drum-75.toml", shop.edit("tools/drum-75.toml", '"50 mm"', '"-50 mm"')),
        ("stacks/marble.toml", shop.edit("stacks/marble.toml", '"900 mm/min"', '"900 mm/m"')),
        ("shop.toml", shop.edit("shop.toml", '"medium"', '"big"')),
    ]
    errors = check_shop(shop.folder)
    assert [(e.where.path, e.where.line) for e in errors] == [
        (f"{shop.folder}/{name}", line) for name, line in lines
    ]
    with pytest.raises(CatalogueInvalid) as raised:
        load_catalogue(shop.folder)
    assert raised.value.what == errors[0].what
    assert [e.what for e in raised.value.others] == [e.what for e in errors[1:]]
    assert raised.value.exit_code == 3
    assert len(raised.value.json_form()["others"]) == 4


def test_reference_to_a_broken_file_is_no_second_error(shop):
    """A tool whose file is broken is still known to the stacks that name it."""
    shop.edit("tools/drum-75.toml", '"75 mm"', '"75"')
    assert [e.where.key for e in check_shop(shop.folder)] == ["diameter"]


def test_toml_syntax_error_has_its_line(shop):
    """A line that is not TOML is named with its line and column."""
    line = shop.edit("shop.toml", 'machine = "medium"', "machine = medium")
    (error,) = check_shop(shop.folder)
    assert (error.where.path, error.where.line) == (f"{shop.folder}/shop.toml", line)
    assert "not valid TOML in column" in error.what


def test_toml_that_ends_early_has_its_line(shop):
    """An unfinished file is named with its last line."""
    shop.write("shop.toml", 'machine = "medium')
    (error,) = check_shop(shop.folder)
    assert error.where.line == 1
    assert "not valid TOML" in error.what


def test_key_twice_is_a_syntax_error(shop):
    """TOML itself refuses a key that stands twice."""
    line = shop.edit("shop.toml", 'stone = "granite"', 'machine = "small"')
    (error,) = check_shop(shop.folder)
    assert error.where.line == line


@pytest.mark.parametrize("encoding", ["latin-1", "utf-16"])
def test_other_encodings_are_refused(shop, encoding):
    """A file that is not UTF-8 says so, with the line of the first wrong byte."""
    text = '# a comment\ntitle = "Schärfe"\n'
    shop.path("stones/granite.toml").write_bytes(text.encode(encoding))
    (error,) = check_shop(shop.folder)
    assert "not in UTF-8" in error.what
    assert error.where.line == (2 if encoding == "latin-1" else 1)
    assert "UTF-8" in error.remedy


def test_byte_order_mark_is_read(shop):
    """A file saved as UTF-8 with a byte-order mark is read."""
    path = shop.path("shop.toml")
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    assert check_shop(shop.folder) == []


def test_folder_instead_of_file(shop):
    """A folder named like a file is refused."""
    (shop.folder / "shop.toml").mkdir()
    (error,) = check_shop(shop.folder)
    assert "folder, not a file" in error.what
    assert error.where.path == f"{shop.folder}/shop.toml"


def test_file_instead_of_folder(shop):
    """A file named like one of the folders is refused."""
    shop.write("stones", "")
    (error,) = check_shop(shop.folder)
    assert "stones is a file" in error.what


def test_unreadable_file(shop, monkeypatch):
    """A file that may not be read is named with the system's reason."""
    real = Path.open

    def refuse(path, *args):
        if path.name == "granite.toml":
            raise PermissionError(13, os.strerror(13), str(path))
        return real(path, *args)

    shop.path("stones/granite.toml")
    monkeypatch.setattr(Path, "open", refuse)
    (error,) = check_shop(shop.folder)
    assert error.where.path == f"{shop.folder}/stones/granite.toml"
    assert "Permission denied" in error.what


@pytest.mark.parametrize("make", [False, True])
def test_shop_that_is_no_folder(tmp_path, make):
    """A missing shop folder, or a file in its place, is one error."""
    place = tmp_path / "shop"
    if make:
        place.write_text("x")
    (error,) = check_shop(place)
    assert error.where.path == str(place)
    assert ("This is a file" if make else "no such folder") in error.what
    with pytest.raises(CatalogueInvalid):
        load_catalogue(place)


def test_folder_that_holds_nothing_of_a_shop(tmp_path):
    """A wrong folder is told, and the shipped catalogue does not serve in its place."""
    (tmp_path / "notes.txt").write_text("x")
    (tmp_path / "stone").mkdir()
    (tmp_path / "stone" / "slate.toml").write_text("")
    with pytest.raises(CatalogueInvalid, match="no shop files") as raised:
        load_catalogue(tmp_path)
    (slip,) = raised.value.others
    assert "Did you mean stones" in slip.remedy


def test_a_file_without_an_end(shop, monkeypatch):
    """Only so many bytes are read of what is named as a file of TOML."""
    monkeypatch.setattr(toml_file, "MAX_FILE_BYTES", 100_000)
    shop.write("layers.toml", "#" * 100_001)
    (error,) = [e for e in check_shop(shop.folder) if "at most 100000" in e.what]
    assert error.where.path == f"{shop.folder}/layers.toml"


def test_bad_names_are_refused(shop):
    """A file whose name cannot be a name is refused, not skipped."""
    shop.path("stones/granite.toml").rename(shop.path("stones/My Granite.toml"))
    (error,) = check_shop(shop.folder)
    assert "'My Granite' cannot be a name" in error.what


def test_one_name_twice_is_refused(shop):
    """Two files that differ in the case of their ending describe one thing."""
    shop.path("stones/granite.TOML").write_bytes(shop.path("stones/granite.toml").read_bytes())
    if len(list(shop.path("stones").glob("granite.*"))) == 1:
        pytest.skip("this file system does not tell the cases apart")
    (error,) = check_shop(shop.folder)
    assert "describes 'granite' as well" in error.what


@pytest.mark.parametrize("name", ["machine", "layer.toml", "Stones"])
def test_misspelt_places_are_noticed(shop, name):
    """A folder or file that is read by nobody because of a slip is reported."""
    if name.endswith(".toml"):
        shop.write(name, "")
    else:
        shop.path(name).mkdir()
        shop.write(f"{name}/x.toml", "")
    shop.path("layers.toml")
    (error,) = check_shop(shop.folder)
    assert error.where.path == str(shop.path(name))
    assert "Did you mean" in error.remedy


def test_other_folders_are_left_alone(shop):
    """Drawings and notes in a shop folder are none of ours."""
    shop.path("jobs").mkdir()
    shop.write("jobs/monday.toml", "x = 1")
    shop.write("notes.txt", "x")
    shop.write("machines/readme.md", "x")
    assert check_shop(shop.folder) == []


def test_layers_file_given_by_itself(tmp_path):
    """Errors of a separate layers file name that file."""
    path = tmp_path / "rules.toml"
    path.write_text('[[layer]]\nmatch = "X"\nmeans = "edge"\n\n[[layer]]\nmatch = "x"\n')
    with pytest.raises(CatalogueInvalid) as raised:
        load_catalogue(layers=path)
    assert raised.value.where.path == str(path)
    keys = [e.where.key for e in (raised.value, *raised.value.others)]
    assert keys == ["layer[1].profile", "layer[2].means"]
    path.write_text('[[layer]]\nmatch = "X"\nmeans = "edge"\n')
    with pytest.raises(CatalogueInvalid, match="An edge needs a profile"):
        load_catalogue(layers=path)
    with pytest.raises(CatalogueInvalid, match="does not exist"):
        load_catalogue(layers=tmp_path / "none.toml")
