"""Shop folders: found, written, overlaid on the shipped catalogue."""

from dataclasses import replace
from pathlib import Path

import pytest

from edgetime.errors import InputError
from edgetime.takeoff import take_off
from edgetime.tooling import (
    check_shop,
    find_shop,
    init_shop,
    load_catalogue,
    shipped_folder,
)

KINDS = ("profiles", "tools", "stacks", "machines", "stones")


def without_file(item):
    return replace(item, file="")


def test_init_writes_every_shipped_file_byte_for_byte(tmp_path):
    """A new shop folder holds exactly the shipped files."""
    result = init_shop(tmp_path / "deep" / "shop")
    shipped = shipped_folder()
    expected = {p.relative_to(shipped): p.read_bytes() for p in shipped.rglob("*.toml")}
    found = {
        p.relative_to(result.folder): p.read_bytes()
        for p in result.folder.rglob("*")
        if p.is_file()
    }
    assert found == expected
    assert sorted(result.written) == sorted(result.folder / name for name in expected)
    assert list(result) == list(result.written)
    assert (result.same, result.kept) == ((), ())


def test_untouched_shop_is_the_shipped_catalogue(tmp_path):
    """Writing and loading a shop give what is shipped, record for record, and the same digest."""
    own = load_catalogue(init_shop(tmp_path / "shop").folder)
    shipped = load_catalogue()
    for kind in KINDS:
        ours, theirs = getattr(own, kind), getattr(shipped, kind)
        assert list(ours) == list(theirs)
        assert [without_file(i) for i in ours.values()] == [
            without_file(i) for i in theirs.values()
        ]
        assert all(i.file.startswith(str(tmp_path)) for i in ours.values())
    assert without_file(own.shop) == without_file(shipped.shop)
    assert own.layers.rules == shipped.layers.rules
    assert own.digest == shipped.digest
    assert check_shop(tmp_path / "shop") == []


def test_init_again_overwrites_nothing(tmp_path):
    """A second run restores what was deleted, and keeps what was edited."""
    folder = init_shop(tmp_path).folder
    (folder / "shop.toml").write_text('machine = "large"\n')
    (folder / "stones" / "marble.toml").unlink()
    result = init_shop(folder)
    assert result.written == (folder / "stones" / "marble.toml",)
    assert result.kept == (folder / "shop.toml",)
    assert (folder / "shop.toml").read_text() == 'machine = "large"\n'
    total = len(list(shipped_folder().rglob("*.toml")))
    assert len(result.same) == total - 2
    assert [p.name for p in folder.rglob(".*")] == []


def test_init_leaves_no_half_written_file(tmp_path, monkeypatch):
    """When the last step of writing a file fails, nothing of it is left."""

    def refuse(*_args):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.link", refuse)
    monkeypatch.setattr(Path, "rename", refuse)
    with pytest.raises(InputError, match="No space left on device"):
        init_shop(tmp_path / "shop")
    assert [p for p in (tmp_path / "shop").rglob("*") if p.is_file()] == []


def test_init_works_without_hard_links(tmp_path, monkeypatch):
    """On a file system without hard links the files are moved into place."""

    def refuse(*_args):
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr("os.link", refuse)
    folder = init_shop(tmp_path / "shop").folder
    assert load_catalogue(folder).digest == load_catalogue().digest
    assert [p.name for p in folder.rglob(".*")] == []


def test_init_into_a_file_is_refused(tmp_path):
    """A file in the folder's place is refused with exit code 3."""
    place = tmp_path / "shop"
    place.write_text("x")
    with pytest.raises(InputError, match="This is a file") as raised:
        init_shop(place)
    assert raised.value.exit_code == 3
    assert place.read_text() == "x"


def test_shop_is_found_from_below(tmp_path):
    """The nearest folder upward that holds shop.toml is the shop."""
    outer = tmp_path / "outer"
    inner = outer / "inner"
    deep = inner / "jobs" / "monday"
    deep.mkdir(parents=True)
    assert find_shop(deep) is None or not find_shop(deep).is_relative_to(tmp_path)
    (outer / "shop.toml").write_text("")
    assert find_shop(deep) == outer.resolve()
    (inner / "shop.toml").write_text("")
    assert find_shop(deep) == inner.resolve()
    assert find_shop(inner) == inner.resolve()


def test_folder_named_like_the_shop_file_is_no_shop(tmp_path):
    """Only a file shop.toml makes a shop."""
    (tmp_path / "a" / "shop.toml").mkdir(parents=True)
    assert find_shop(tmp_path / "a") != (tmp_path / "a").resolve()


def test_a_shops_file_replaces_the_shipped_one_whole(shop):
    """The shop's file of the same name is all there is; the rest stays shipped."""
    shop.edit("stones/granite.toml", 'density = "2650 kg/m3" ', 'density = "2.7 t/m3" ')
    own, shipped = load_catalogue(shop.folder), load_catalogue()
    assert own.stones["granite"].density_kg_per_m3 == pytest.approx(2700.0)
    assert own.stones["granite"].file == f"{shop.folder}/stones/granite.toml"
    assert own.stones["marble"] == shipped.stones["marble"]
    assert own.raw[f"{shop.folder}/stones/granite.toml", "density"] == "2.7 t/m3"
    assert ("shipped/stones/granite.toml", "density") not in own.raw
    assert own.digest != shipped.digest


def test_a_shop_adds_its_own(shop):
    """A file of a new name is a new entry, and others may refer to it."""
    shop.path("machines/large.toml").rename(shop.folder / "machines" / "hall-2.toml")
    shop.write("shop.toml", 'machine = "hall-2"\n')
    own = load_catalogue(shop.folder)
    assert set(own.machines) == {"small", "medium", "large", "hall-2"}
    assert own.shop.machine == "hall-2"


def test_short_shop_file_takes_the_defaults(shop):
    """What shop.toml leaves out is as in the shipped one, and raw says it is a default."""
    shop.write("shop.toml", 'machine = "large"\n')
    own, shipped = load_catalogue(shop.folder), load_catalogue()
    assumed = replace(own.shop.price, key="price", currency="EUR")
    filled = replace(own.shop, machine="medium", file="", source=shipped.shop.source, price=assumed)
    assert filled == without_file(shipped.shop)
    assert not own.shop.price.stated
    file = f"{shop.folder}/shop.toml"
    assert own.raw[file, "machine"] == "large"
    assert own.raw[file, "thickness"] == "default: 30 mm"
    assert own.raw[file, "stock.saw"] == "default: 2 mm"


def test_short_stack_takes_the_defaults(shop):
    """A stack of a few lines is a whole stack; steps used twice are numbered."""
    shop.write(
        "stacks/short.toml",
        'title = "Short"\nsource = "ours"\n'
        '[[step]]\noperation = "rough"\ntool = "drum-75"\nfeed = "100 in/min"\n'
        'spindle = "6500 rpm"\n'
        '[[step]]\noperation = "rough"\ntool = "drum-75"\nfeed = "2 m/min"\n'
        'spindle = "6500 rpm"\napplies_to = ["shaped"]\n',
    )
    stack = load_catalogue(shop.folder).stacks["short"]
    assert (stack.stones, stack.thicknesses_mm) == ((), ())
    first, second = stack.steps
    assert (first.name, second.name) == ("drum-75", "drum-75-2")
    assert (first.key, second.key) == ("step[1]", "step[2]")
    assert first.feed_mm_per_s == pytest.approx(100.0 * 25.4 / 60.0)
    assert first.engagement_mm == 2.0
    assert first.edge_feed_cap_mm_per_s == float("inf")
    assert second.applies_to == ("shaped",)


def test_layers_can_be_given_apart(shop, tmp_path):
    """A layers file given by itself is used instead of the shop's."""
    path = tmp_path / "rules.toml"
    path.write_text('default_profile = "eased"\n[[layer]]\nmatch = "*"\nmeans = "outline"\n')
    shop.path("layers.toml")
    own = load_catalogue(shop.folder, layers=path)
    assert own.layers.default_profile == "eased"
    assert own.layers.file == str(path)
    assert own.layers.rule_for("anything").means == "outline"
    assert own.digest != load_catalogue(shop.folder).digest


def test_unlimited_jerk_is_a_word(shop):
    """A controller that does not limit jerk says "none"."""
    shop.edit("machines/medium.toml", '["12 m/s3", "12 m/s3", ', '["none", "none", ')
    jerk = load_catalogue(shop.folder).machines["medium"].axis_jerk_mm_per_s3
    assert jerk == (float("inf"), float("inf"), pytest.approx(10_000.0))


def test_unlimited_jerk_is_said_once_for_all_axes(shop):
    """One word in place of the list."""
    shop.edit("machines/medium.toml", '["12 m/s3", "12 m/s3", "10 m/s3"]', '"none"')
    jerk = load_catalogue(shop.folder).machines["medium"].axis_jerk_mm_per_s3
    assert jerk == (float("inf"),) * 3


def test_units_of_the_trade_are_read(shop):
    """Fractions of inches and other units of the same kind are read where they are allowed."""
    shop.edit("machines/medium.toml", '"3600 mm", "2000 mm"', '"12 ft", "78-3/4 in"')
    shop.edit("tools/drum-75.toml", '"75 mm"', '"3 in"')
    own = load_catalogue(shop.folder)
    assert own.machines["medium"].table_mm == pytest.approx((3657.6, 2000.25))
    assert own.tools["drum-75"].diameter_mm == pytest.approx(76.2)


def test_gap_of_layers_reaches_the_take_off(tmp_path, read_text):
    """An outline open by 2 mm is a part once ``gap`` in layers.toml says so."""
    drawing = read_text(
        "0\nSECTION\n2\nENTITIES\n"
        + "".join(
            f"0\nLINE\n8\nEASED\n10\n{x0}\n20\n{y0}\n11\n{x1}\n21\n{y1}\n"
            for x0, y0, x1, y1 in (
                (0, 0, 600, 0),
                (600, 0, 600, 400),
                (600, 400, 0, 400),
                (0, 400, 0, 2),
            )
        )
        + "0\nENDSEC\n0\nEOF\n",
        drawing_units="mm",
    )
    rules = tmp_path / "layers.toml"
    layer = '[[layer]]\nmatch = "EASED"\nmeans = "edge"\nprofile = "eased"\n'
    rules.write_text('source = "test"\n' + layer, encoding="utf-8")
    assert not take_off([drawing], load_catalogue(layers=rules).layers).parts
    rules.write_text('source = "test"\ngap = "2.5 mm"\n' + layer, encoding="utf-8")
    (part,) = take_off([drawing], load_catalogue(layers=rules).layers).parts
    assert part.area_gross_mm2 == pytest.approx(600.0 * 400.0)
