"""From somebody's own layer names to a time: options, proposals, and rules that are written."""

from __future__ import annotations

import io
import shlex
import tomllib
from pathlib import Path

import pytest
from support.foreign_layers import HABITS, Pen, drawn

from edgetime.cli.commands import layers as command
from edgetime.tooling.layers import MEANINGS, Meaning


@pytest.mark.parametrize("habit", HABITS, ids=lambda h: h.__name__)
def test_two_commands_lead_from_a_first_drawing_to_a_time(habit, run, tmp_path):
    """The proposal is the one written by hand, and an estimate follows from it."""
    path, wanted = drawn(habit, tmp_path)
    before = run("estimate", path.name)
    done = run("layers", path.name, "--write", "--format", "json")
    assert done.code == 0, done.err
    document = done.json()
    assert {p["layer"]: p["rule"] for p in document["proposals"]} == wanted.rules
    assert (document["file"], document["written"]) == ("layers.toml", True)
    found = run("takeoff", path.name, "--format", "json").json()["drawings"][0]["parts"]
    assert len(found) == wanted.parts == document["parts"]
    assert sum(len(p["cutouts"]) for p in found) == wanted.cutouts
    assert sum(len(p["holes"]) for p in found) == wanted.holes
    after = run("estimate", path.name, "--format", "json")
    assert (before.code, after.code) == (4, 0)
    assert after.json()["total_s"] > 0.0
    again = run("layers", path.name, "--format", "json").json()
    assert (again["proposals"], again["written"]) == ([], False)


def test_the_written_file_keeps_comments_and_order(run):
    """Only what is new is added, at the end; all else stays as it was typed."""
    pen = Pen()
    pen.rectangle("PLATTE", 200, 200, 2400, 620)
    pen.doc.saveas("own.dxf")
    text = (
        '# ours\nadd_to_shipped = true\n\n[[layer]]\nmatch = "X*"   # as agreed\nmeans = "ignore"\n'
    )
    Path("layers.toml").write_text(text, encoding="utf-8")
    assert run("layers", "own.dxf", "--write").code == 0
    made = Path("layers.toml").read_text(encoding="utf-8")
    for line in text.splitlines():
        assert line in made.splitlines()
    rules = tomllib.loads(made)["layer"]
    assert rules == [
        {"match": "X*", "means": "ignore"},
        {"match": "PLATTE", "means": "outline"},
    ]


def test_windows_line_ends_stay(run):
    """A file of another system keeps its line ends."""
    pen = Pen()
    pen.rectangle("PLATTE", 200, 200, 2400, 620)
    pen.doc.saveas("own.dxf")
    Path("layers.toml").write_bytes(b"add_to_shipped = true\r\n# ours\r\n")
    assert run("layers", "own.dxf", "--write").code == 0
    made = Path("layers.toml").read_bytes()
    assert made.count(b"\n") == made.count(b"\r\n")


def test_rules_written_inline_get_company(run):
    """A shop that writes its rules as inline tables gets more of them."""
    pen = Pen()
    pen.rectangle("PLATTE", 200, 200, 2400, 620)
    pen.doc.saveas("own.dxf")
    text = 'layer = [\n  { match = "X", means = "ignore" }, # one\n]\n'
    Path("layers.toml").write_text(text, encoding="utf-8")
    assert run("layers", "own.dxf", "--write").code == 0
    made = Path("layers.toml").read_text(encoding="utf-8")
    assert "# one" in made
    assert tomllib.loads(made)["layer"][1] == {"match": "PLATTE", "means": "outline"}


def test_a_rule_of_the_option_is_written_first(run):
    """What the user says of a known layer must win over the rule that is there."""
    pen = Pen()
    pen.rectangle("TOP", 200, 200, 2400, 620)
    pen.rectangle("PART", 700, 300, 500, 300)
    pen.doc.saveas("own.dxf")
    Path("layers.toml").write_text('[[layer]]\nmatch = "*"\nmeans = "outline"\n', encoding="utf-8")
    done = run("layers", "own.dxf", "--layer", "PART=cutout:eased", "--profile", "bevel", "--write")
    assert done.code == 0
    made = tomllib.loads(Path("layers.toml").read_text(encoding="utf-8"))
    assert made["layer"][0] == {"match": "PART", "means": "cutout", "profile": "eased"}
    assert made["default_profile"] == "bevel"
    assert run("check", ".").code == 0


def test_options_give_a_time_without_any_file(run):
    """One command: rules and profiles from the command line, nothing written."""
    pen = Pen()
    pen.rectangle("0", 200, 200, 2400, 620)
    pen.rectangle("IN", 700, 300, 500, 300)
    pen.doc.saveas("own.dxf")
    options = ["--layer", "0=outline", "--layer", "IN=cutout", "--profile", "eased"]
    found = run("takeoff", "own.dxf", *options, "--format", "json").json()["drawings"][0]
    # By hand: 2 × (2400 + 620) outside, 2 × (500 + 300) inside.
    assert found["lengths_by_profile_mm"] == {"eased": 6040.0, "unfinished": 1600.0}
    more = [*options, "--cutout-profile", "bevel"]
    found = run("takeoff", "own.dxf", *more, "--format", "json").json()["drawings"][0]
    assert found["lengths_by_profile_mm"] == {"bevel": 1600.0, "eased": 6040.0}
    codes = {f["code"] for f in found["findings"]}
    assert not codes & {"cutout-profile-missing", "outline-profile-missing", "layer-unmatched"}
    plain, worked = (
        run("estimate", "own.dxf", *o, "--format", "json").json() for o in (options, more)
    )
    assert plain["total_s"] < worked["total_s"]
    assert plain["digest"] != worked["digest"]
    assert not Path("layers.toml").exists()


@pytest.mark.parametrize(
    "words",
    [
        ["takeoff"], ["estimate"], ["wear"], ["survive"], ["advise"], ["price"], ["shift"],
        ["compare", "--with", "stack=fast-metal"], ["feed", "--tool", "metal-1", "--trial",
        "1 m/min=4000 m", "--trial", "2 m/min=2000 m"],
    ],
    ids=lambda w: w[0],
)  # fmt: skip
def test_every_command_that_reads_a_drawing_takes_layer_options(words, run):
    """The first command line works everywhere, once the options say what layers mean."""
    pen = Pen()
    pen.rectangle("0", 200, 200, 1200, 620)
    pen.doc.saveas("own.dxf")
    name, *more = words
    done = run(name, "own.dxf", *more, "--layer", "0=outline", "--profile", "eased")
    assert done.code == 0, done.err


def test_forecast_and_ledger_take_layer_options(run):
    """Drawings named in a list are read by the options, too."""
    pen = Pen()
    pen.rectangle("0", 200, 200, 1200, 620)
    pen.doc.saveas("own.dxf")
    Path("jobs.csv").write_text("date,drawing\n2030-01-07,own.dxf\n", encoding="utf-8")
    options = ["--layer", "0=outline", "--profile", "eased"]
    line = ["forecast", "--pipeline", "jobs.csv", "--from", "2030-01-01"]
    assert run(*line).code != 0
    assert run(*line, *options).code == 0
    assert run("ledger", "receive", "polish-1", "--ledger", "b.sqlite", "--anyway").code == 0
    post = ["ledger", "post", "own.dxf", "--ledger", "b.sqlite"]
    assert run(*post).code == 4
    # What is lacking now is a mounted wheel for the profile that the option gave.
    refused = run(*post, *options)
    assert refused.code == 5
    assert "metal-1/eased" in refused.err


@pytest.mark.parametrize(
    ("option", "value", "said"),
    [
        ("--layer", "0=outlin", "Did you mean outline?"),
        ("--layer", "0=eased", '--layer "0=edge:eased"'),
        ("--layer", "0=edge", 'Write --layer "0=edge:PROFILE"'),
        ("--layer", "0=edge:easd", "Did you mean eased?"),
        ("--layer", "0=outline:eased", "applies to: cutout, edge"),
        ("--layer", "0=cutout:eased:mild", "Did you mean milled?"),
        ("--layer", "0=cutout:notch=mild", "Did you mean milled?"),
        ("--layer", "0=keep-out:eased", "applies to: cutout, edge"),
        ("--layer", "0=hole:notch=milled", "applies to: cutout"),
        ("--layer", "0=cutout:eased:milled:milled", "'milled' in '0=cutout:eased:milled:milled'"),
        ("--layer", "0=cutout:not=milled", "go profile, method, notch"),
        ("--layer", "outline", "Write LAYER=MEANING"),
        ("--profile", "easd", "Did you mean eased?"),
        ("--cutout-profile", "flat-polsh", "Did you mean flat-polish?"),
    ],
)
def test_a_wrong_layer_option_says_what_was_meant(option, value, said, run):
    """Each slip is a usage error that names the option and the nearest right word."""
    Pen().doc.saveas("own.dxf")
    done = run("estimate", "own.dxf", option, value)
    assert done.code == 2
    assert said in done.err
    assert f"where: {option}" in done.err


def test_the_message_ends_with_the_command_to_run(run):
    """Names are quoted for the shell, and options that the command needs are in it."""
    pen = Pen()
    pen.rectangle("0", 200, 200, 2400, 620)
    pen.doc.header["$INSUNITS"] = 0
    pen.doc.saveas("my first kitchen.dxf")
    done = run("estimate", "my first kitchen.dxf", "--drawing-units", "mm")
    assert done.code == 4
    wanted = "edgetime layers 'my first kitchen.dxf' --drawing-units mm --write"
    remedy = next(row for row in done.err.splitlines() if "what to do" in row)
    assert remedy.endswith(wanted)
    assert "--layer 0=outline" in remedy
    found = run("takeoff", "my first kitchen.dxf", "--drawing-units", "mm", "--format", "json")
    (finding,) = [
        f for f in found.json()["drawings"][0]["findings"] if f["code"] == "layer-unmatched"
    ]
    assert finding["severity"] == "error"
    assert finding["remedy"].endswith(wanted)


def test_in_a_terminal_the_unsure_are_asked(run, monkeypatch):
    """A wrong answer is told and asked again; the default is the proposal."""
    pen = Pen()
    pen.rectangle("Layer1", 200, 200, 2400, 620)
    pen.line("Layer5", (200, 200), (2600, 200))
    pen.doc.saveas("own.dxf")
    monkeypatch.setattr(command, "at_terminal", lambda: True)
    monkeypatch.setattr("sys.stdin", io.StringIO("edge:ogea\nedge:ogee\ny\n"))
    done = run("layers", "own.dxf")
    assert done.code == 0, done.err
    assert "Did you mean ogee?" in done.err
    rules = tomllib.loads(Path("layers.toml").read_text(encoding="utf-8"))["layer"]
    assert rules == [
        {"match": "Layer1", "means": "outline"},
        {"match": "Layer5", "means": "edge", "profile": "ogee"},
    ]


def test_no_in_a_terminal_writes_nothing(run, monkeypatch):
    """The last question decides."""
    pen = Pen()
    pen.rectangle("0", 200, 200, 2400, 620)
    pen.doc.saveas("own.dxf")
    monkeypatch.setattr(command, "at_terminal", lambda: True)
    monkeypatch.setattr("sys.stdin", io.StringIO("bevel\nn\n"))
    done = run("layers", "own.dxf")
    assert (done.code, Path("layers.toml").exists()) == (0, False)
    assert done.err.rstrip().endswith("edgetime layers own.dxf --profile bevel --write")
    assert done.out.strip() == ""


def test_answers_are_not_lost_by_a_no(run, monkeypatch):
    """What is offered for later writes what was answered; ? and a bare profile are understood."""
    pen = Pen()
    pen.rectangle("1", 200, 200, 2400, 620)
    pen.line("2", (200, 200), (2600, 200))
    pen.line("3", (200, 100), (2600, 100))
    pen.doc.saveas("own.dxf")
    monkeypatch.setattr(command, "at_terminal", lambda: True)
    monkeypatch.setattr("sys.stdin", io.StringIO("?\nogee\n\nn\n"))
    done = run("layers", "own.dxf")
    for meaning, what in MEANINGS.items():
        assert f"{meaning}: {what}" in done.err or f"{meaning}:PROFILE: {what}" in done.err
    last = done.err.rstrip().splitlines()[-1]
    assert last == "  edgetime layers own.dxf --layer 2=edge:ogee --write"
    assert max(map(len, done.err.splitlines())) <= 80
    assert run(*shlex.split(last)[1:]).code == 0
    text = Path("layers.toml").read_text(encoding="utf-8")
    assert '# --- for own.dxf\n[[layer]]\nmatch = "1"' in text
    assert tomllib.loads(text)["layer"][0] == {"match": "2", "means": "edge", "profile": "ogee"}


def test_a_frame_on_the_layer_of_the_parts_is_told(run):
    """No rule parts a frame from outlines of the same layer."""
    pen = Pen()
    pen.rectangle("0", 0, 0, 4200, 2970)
    pen.rectangle("0", 200, 200, 2400, 620)
    pen.rectangle("0", 700, 300, 500, 300)
    pen.doc.saveas("own.dxf")
    (proposal,) = run("layers", "own.dxf", "--format", "json").json()["proposals"]
    assert proposal["confidence"] == "unsure"
    assert "frame" in proposal["reason"]


def test_a_folder_that_may_not_be_written_is_told(run, monkeypatch):
    """The failure is an input error with the place, and the old file stays."""
    pen = Pen()
    pen.rectangle("0", 200, 200, 2400, 620)
    pen.doc.saveas("own.dxf")

    def refuse(*_args: object, **_more: object) -> None:
        raise PermissionError(13, "Permission denied", "layers.toml")

    monkeypatch.setattr("edgetime.tooling.layers_file.NamedTemporaryFile", refuse)
    done = run("layers", "own.dxf", "--write")
    assert (done.code, Path("layers.toml").exists()) == (3, False)
    assert "cannot be written: Permission denied" in done.err


def _command(err: str) -> list[str]:
    """Return the words of the command that a refusal offers, without the program's name."""
    (line,) = [row for row in err.splitlines() if row.startswith("  for this once: ")]
    name, *words = shlex.split(line.removeprefix("  for this once: "))
    assert name == "edgetime"
    return words


@pytest.mark.parametrize("habit", HABITS, ids=lambda h: h.__name__)
def test_the_command_in_a_refusal_works_as_it_is(habit, run, tmp_path):
    """It repeats the user's own options, and gives a time."""
    path, _ = drawn(habit, tmp_path)
    options = ["--stone", "quartz", "--actual-thickness", "30.4"]
    refused = run("estimate", path.name, *options)
    assert refused.code == 4
    words = _command(refused.err)
    assert words[: len(options) + 2] == ["estimate", path.name, *options]
    done = run(*words, "--format", "json")
    assert done.code == 0, done.err
    assert done.json()["stone"] == "quartz"
    assert not Path("layers.toml").exists()


@pytest.mark.parametrize("stack", ["standard", "fast-metal"])
def test_outlines_without_a_profile_get_the_option_that_is_lacking(stack, run):
    """Where a layer option alone leaves nothing to do, the command names a profile, too."""
    pen = Pen()
    pen.rectangle("0", 200, 200, 2400, 620)
    pen.doc.saveas("my kitchen.dxf")
    options = ["--stack", stack, "--layer", "0=outline", "--", "my kitchen.dxf"]
    refused = run("estimate", *options)
    assert refused.code == 4
    words = _command(refused.err)
    assert words == ["estimate", *options[:4], "--profile", "eased", "--", "my kitchen.dxf"]
    assert run(*words).code == 0
    told = run("estimate", "--format", "json", *options).json()
    assert told["add_options"] == ["--profile", "eased"]


def test_wall_edges_alone_get_no_profile_offered(run):
    """Edges that a layer says to be walls would not get the default profile."""
    pen = Pen()
    pen.rectangle("WALL", 200, 200, 2400, 620)
    pen.doc.saveas("own.dxf")
    refused = run("estimate", "own.dxf")
    assert refused.code == 4
    assert "for this once" not in refused.err


def test_two_drawings_share_one_command(run):
    """The options that either needs are each named once."""
    for name, layer in (("a.dxf", "AAA"), ("b.dxf", "BBB")):
        pen = Pen()
        pen.rectangle(layer, 200, 200 if layer == "AAA" else 1000, 1200, 620)
        pen.doc.saveas(name)
    refused = run("estimate", "a.dxf", "b.dxf")
    words = _command(refused.err)
    assert words.count("--profile") == 1
    assert run(*words).code == 0


def test_every_meaning_and_key_works_as_an_option(run):
    """The table of layers shows what the options said, for each meaning there is."""
    pen = Pen()
    pen.rectangle("TABLE", 200, 200, 2400, 620)
    words = dict.fromkeys((Meaning.EDGE, Meaning.CUTOUT), "eased")
    options = ["--layer", "TABLE=outline", "--profile", "eased"]
    for k, meaning in enumerate(Meaning):
        pen.circle(f"L{k}", 3000.0 + 100.0 * k, 300.0, 35.0)
        said = f"{meaning}:{words[meaning]}" if meaning in words else str(meaning)
        options += ["--layer", f"L{k}={said}{':notch=milled' if meaning == 'cutout' else ''}"]
    pen.doc.saveas("own.dxf")
    found = run("takeoff", "own.dxf", *options, "--format", "json").json()["drawings"][0]
    rows = {row["layer"]: row for row in found["layers"]}
    assert [rows[f"L{k}"]["means"] for k in range(len(Meaning))] == [str(m) for m in Meaning]
    notch = {row["layer"]: row["notch"] for row in found["layers"] if row["notch"] is not None}
    assert notch == {f"L{list(Meaning).index(Meaning.CUTOUT)}": "milled"}
    csv = run("catalogue", "layers", "--format", "csv").out.splitlines()[0]
    assert "notch" in csv.split(",")


def test_a_notch_in_an_option_is_made_as_it_says(run):
    """The same cutout on the edge, made with the outline and cut by the router."""
    pen = Pen()
    pen.rectangle("TOP", 200, 200, 2400, 620)
    pen.rounded("APRON", 800, 100, 600, 500, 60)
    pen.doc.saveas("own.dxf")
    times, digests = [], []
    for notch in ("outline", "milled"):
        options = ["--layer", f"APRON=cutout:eased:notch={notch}", "--profile", "eased"]
        done = run("estimate", "own.dxf", *options, "--format", "json")
        assert done.code == 0, done.err
        times.append({t["operation"] for t in done.json()["tools"]})
        digests.append(done.json()["digest"])
    assert times[1] - times[0] == {"core", "cut"} or times[1] - times[0] == {"cut"}
    assert digests[0] != digests[1]
    made = run("layers", "own.dxf", "--layer", "APRON=cutout:eased:notch=milled", "--write")
    assert made.code == 0, made.err
    (rule,) = tomllib.loads(Path("layers.toml").read_text(encoding="utf-8"))["layer"]
    assert rule == {"match": "APRON", "means": "cutout", "profile": "eased", "notch": "milled"}
