"""The command line: what it writes, what it says, how it ends."""

import inspect
import io
import json
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import mido
import pytest
from remetre_cli.main import COMMANDS, GROUPS, run

import rhythm
from rhythm.formats import read

ROOT = Path(__file__).parents[2]
SONG = ROOT / "examples" / "lantern-song.musicxml"
LANES = ROOT / "examples" / "orchard-lanes.musicxml"


@pytest.fixture
def remetre(tmp_path, monkeypatch, capfd):
    """Run ``remetre`` in an empty folder; gives exit code, standard output, standard error."""
    monkeypatch.chdir(tmp_path)

    def call(*arguments):
        capfd.readouterr()
        with pytest.raises(SystemExit) as done:
            run([str(argument) for argument in arguments])
        said = capfd.readouterr()
        return done.value.code, said.out, said.err

    return call


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_explains_itself(name, remetre):
    code, out, err = remetre(name, "--help")
    assert code == 0
    assert not err
    assert out.startswith(f"Usage: remetre {name} ")


def test_every_command_has_a_module_and_no_module_is_left_out():
    files = {path.stem: path for path in (ROOT / "cli").glob("*.py")}
    files |= {path.parent.name: path for path in (ROOT / "cli").glob("*/__init__.py")}
    modules = set(files)
    assert set(COMMANDS) <= modules
    with_command = {name for name in modules if "\ndef command(" in files[name].read_text()}
    assert with_command == set(COMMANDS)


SAID_BY_THE_SHELL = {"source", "scores", "where", "kind", "force", "quiet", "as_json"}
SAID_BY_THE_SHELL |= {"page", "paper", "piece"}
ONLY_SHOWN = {
    "check": {"every_row", "remarks", "every"},
    "exercises": {"answers", "key", "listed", "track", "ladder"},
    "mend": {"every"},
    "page": {"width"},  # of a drawing
    "restate": {"explained"},
    "vary": {"listed"},
}
ONLY_IN_PYTHON = {"page": {"report", "names"}}
CALLED = {
    "exercises": {"plan_path": "plan"},
    "reckon": {"sum_": "expression", "metre": "in_", "metres": "fill", "cycles": "meet"},
}


@pytest.mark.parametrize(
    "verb",
    [
        "check",
        "exercises",
        "faircopy",
        "group",
        "mend",
        "rebar",
        "page",
        "midi",
        "reckon",
        "restate",
        "tuplet",
        "vary",
    ],
)
def test_every_option_of_a_command_is_a_keyword_of_its_function(verb):
    command = import_module(f"remetre_cli.{verb}").command
    names = {parameter.name for parameter in command.params}
    names -= SAID_BY_THE_SHELL | ONLY_SHOWN.get(verb, set())
    keywords = set(inspect.signature(getattr(rhythm, verb)).parameters) - {"score", "theme"}
    keywords -= ONLY_IN_PYTHON.get(verb, set())
    assert {CALLED.get(verb, {}).get(name, name) for name in names} == keywords


def damaged(tmp_path):
    """Files that are no good score, by name."""
    song = SONG.read_bytes()
    (tmp_path / "a.pdf.musicxml").write_bytes(b"%PDF-1.7\n%\xe2\xe3")
    (tmp_path / "cut.musicxml").write_bytes(song[: len(song) // 2])
    (tmp_path / "empty.musicxml").write_bytes(b"")
    (tmp_path / "hollow.musicxml").write_bytes(
        b'<score-partwise version="4.0"><part-list/></score-partwise>'
    )
    (tmp_path / "page.musicxml").write_bytes(b"<html><body/></html>")
    (tmp_path / "there.musicxml").write_bytes(b"old")
    (tmp_path / "own.musicxml").write_bytes(song)


# Arguments after "remetre", the exit code, and words of the one line that is said.
COMPLAINTS = {
    "no such command": (["restat"], 2, "did you mean restate?"),
    "no score named": (["restate"], 2, "SCORE"),
    "no target": (["restate", SONG, "-o", "x.musicxml"], 2, "--to"),
    "no place to write": (["restate", SONG, "--to", "6/8"], 2, "-o FILE"),
    "an impossible metre": (["restate", SONG, "--to", "4/0", "-o", "x.mxl"], 2, "4/0"),
    "no metre at all": (["restate", SONG, "--to", "waltz", "-o", "x.mxl"], 2, "compound"),
    "a target misspelt": (
        ["restate", SONG, "--to", "compund", "-o", "x.mxl"],
        2,
        "did you mean compound",
    ),
    "a word misspelt": (
        ["restate", SONG, "--to", "6/8", "--fit", "exakt", "-o", "x.mxl"],
        2,
        "did you mean exact? there are idiomatic, exact",
    ),
    "an option misspelt": (["restate", SONG, "--lit", "even"], 2, "--lilt"),
    "a device misspelt": (
        ["vary", SONG, "--device", "retrogade", "-o", "x.mxl"],
        2,
        "did you mean retrograde?",
    ),
    "help for no command": (["help", "restat"], 2, "did you mean restate?"),
    "an unknown lilt": (["restate", SONG, "--to", "6/8", "--lilt", "x", "-o", "x.mxl"], 2, "iamb"),
    "no such bar": (
        ["restate", SONG, "--to", "12/8", "--bars", "90", "-o", "x.mxl"],
        2,
        "bars run from 1 to 14",
    ),
    "a missing file": (["restate", "no.xml", "--to", "6/8", "-o", "x.mxl"], 2, "no such file"),
    "a PDF": (["restate", "a.pdf.musicxml", "--to", "6/8", "-o", "x.mxl"], 2, "PDF"),
    "a file cut short": (["restate", "cut.musicxml", "--to", "6/8", "-o", "x.mxl"], 2, "line"),
    "an empty file": (["restate", "empty.musicxml", "--to", "6/8", "-o", "x.mxl"], 2, "empty"),
    "a score without parts": (["restate", "hollow.musicxml", "--to", "6/8", "-o", "x.mxl"], 2, ""),
    "another kind of XML": (["restate", "page.musicxml", "--to", "6/8", "-o", "x.mxl"], 2, "html"),
    "a folder": (["restate", ".", "--to", "6/8", "-o", "x.mxl"], 2, "folder"),
    "an output that exists": (
        ["restate", SONG, "--to", "12/8", "-o", "there.musicxml"],
        2,
        "--force replaces it",
    ),
    "the input as output": (
        ["restate", "own.musicxml", "--to", "12/8", "-o", "own.musicxml", "--force"],
        2,
        "being read",
    ),
    "the score before as output": (
        ["page", SONG, "--before", "own.musicxml", "-o", "own.musicxml", "--force"],
        2,
        ".html",
    ),
    "the plan as output": (
        ["exercises", SONG, "--plan", "plan.toml", "--answers", "plan.toml", "--force"],
        2,
        "end with",
    ),
    "an unknown ending": (["restate", SONG, "--to", "12/8", "-o", "x.doc"], 2, ".musicxml"),
    "a folder that is not there": (["page", SONG, "-o", "no/x.svg"], 2, "no such folder"),
    "sound asked of a page": (["page", SONG, "-o", "x.mid"], 2, ".html, .svg or .pdf"),
    "a device that the music does not allow": (
        ["vary", SONG, "--device", "hemiola", "-o", "x.musicxml"],
        1,
        "two bars of three beats",
    ),
    "a page too wide": (["page", SONG, "--width", "9", "-o", "x.svg"], 2, "from 500 to 20000"),
    "no metre asked for": (
        ["restate", SONG, "-o", "x.mxl"],
        2,
        "--to is missing: compound, simple,",
    ),
    "no score at all": (["check"], 2, "SCORE is missing: name a file, a folder, or -"),
    "a cycle without quotes": (
        ["restate", SONG, "--to", "7/8", "5/8", "-o", "x.mxl"],
        2,
        "5/8 is no file; metres that take turns stand together in quotes, as in '7/8 5/8'",
    ),
    "a metre with another stroke": (
        ["restate", SONG, "--to", "6-8", "-o", "x.mxl"],
        2,
        "--to: '6-8' is not a time signature; did you mean 6/8?",
    ),
    "a file whose name is mistyped": (
        ["check", "ownn.musicxml"],
        2,
        "there is no such file; did you mean own.musicxml?",
    ),
    "an option that is mistyped": (
        ["check", SONG, "--agains", "4/4"],
        2,
        "there is no option --agains; did you mean --against?",
    ),
    "an option without its value": (
        ["restate", SONG, "-o", "x.mxl", "--to"],
        2,
        "--to wants a value; --help says which",
    ),
    "a value for none": (["check", SONG, "--rows=2"], 2, "--rows takes no value"),
    "no shell": (["completion"], 2, "name one of bash, zsh, fish"),
    "a feel for bar lines": (
        ["rebar", SONG, "--to", "compound", "-o", "x.mxl"],
        2,
        "`remetre restate` takes it, here a metre such as 6/8 is wanted",
    ),
    "two kinds at once": (
        ["restate", SONG, "--to", "6/8", "-o", "x.mxl", "--kind", "pdf"],
        2,
        "-o x.mxl says itself what is written",
    ),
    "a number of steps in words": (
        ["exercises", SONG, "--steps", "six", "-o", "x.mxl"],
        2,
        "--steps: 'six' is not a whole number",
    ),
    "nothing to lay on the bench": (["bench", "no.xml"], 2, "there is no such file or folder"),
}


@pytest.mark.parametrize("case", COMPLAINTS)
def test_a_bad_request_gets_one_clear_line_and_no_file(case, remetre, tmp_path):
    damaged(tmp_path)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    arguments, expected, words = COMPLAINTS[case]
    code, out, err = remetre(*arguments)
    assert (code, out) == (expected, "")
    assert words in err
    assert err.startswith("remetre")
    assert err.count("\n") == 1
    assert "Traceback" not in err
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_nothing_asked_shows_what_there_is_by_what_one_wants_to_do(remetre):
    code, _, err = remetre()
    assert code == 2
    assert all(f"{aim}:\n" in err for aim in GROUPS)
    assert all(f"\n  {name} " in err for name in COMMANDS)


def test_help_is_a_command_too(remetre):
    code, out, _ = remetre("help")
    assert code == 0
    assert out.startswith(remetre("--help")[1])
    assert remetre("help", "restate") == remetre("restate", "--help")


def test_help_shows_the_pages_of_the_guide(remetre):
    said = "".join(remetre("help")[1].split())
    assert "first-ten-minutes" in said
    page = (ROOT / "docs" / "recipes.md").read_text(encoding="utf-8")
    assert remetre("help", "recipes") == (0, page, "")
    # A page that has a command's name is asked for as a file is called.
    for name in ("bench", "exercises"):
        assert remetre("help", name)[1].rstrip().endswith(f"remetre help {name}.md")
        page = (ROOT / "docs" / f"{name}.md").read_text(encoding="utf-8")
        assert remetre("help", f"{name}.md") == (0, page, "")


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_a_shell_is_given_what_it_reads_at_its_start(shell, remetre):
    code, out, _ = remetre("completion", shell)
    assert code == 0
    assert f"_REMETRE_COMPLETE={shell}_complete" in out
    # What registers a completion is there in a zsh that has never completed before, too.
    assert ("compinit" in out) == (shell == "zsh")


TYPED = {
    "a command": ("remetre res", "restate"),
    "an option": ("remetre restate x --lil", "--lilt"),
    "a metre": ("remetre restate x --to 12", "12/8"),
    "a target": ("remetre restate x --to com", "compound"),
    "a device": ("remetre vary --device aug", "augmentation"),
    "a word of an option": ("remetre exercises x --count tak", "takadimi"),
    "a page of the guide": ("remetre help rec", "recipes"),
}


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
@pytest.mark.parametrize("typed", TYPED)
def test_every_shell_is_answered(typed, shell, remetre, monkeypatch):
    line, meant = TYPED[typed]
    words = line.split()
    monkeypatch.setenv("_REMETRE_COMPLETE", f"{shell}_complete")
    # fish says the word before the cursor itself, the others how many words stand before it.
    monkeypatch.setenv("COMP_WORDS", line)
    monkeypatch.setenv("COMP_CWORD", words[-1] if shell == "fish" else str(len(words) - 1))
    code, out, _ = remetre()
    assert code == 0
    # Each shell's lines: "plain,word", "plain" over the word, "plain<tab>word" or with what it is.
    assert meant in out.replace(",", " ").split()


def test_bash_itself_completes_a_metre(tmp_path):
    program = tmp_path / "remetre"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m remetre_cli "$@"\n')
    program.chmod(0o755)
    script = """
eval "$("$1" completion bash)"
COMP_WORDS=(remetre restate x --to 12) COMP_CWORD=4
_remetre_completion "$1"
echo "${COMPREPLY[@]}"
"""
    done = subprocess.run(
        ["bash", "-c", script, "bash", program], capture_output=True, text=True, check=True
    )
    assert (done.stdout, done.stderr) == ("12/8\n", "")


def test_an_interruption_while_loading_is_quiet():
    code = """
import sys
class Interrupting:
    def find_spec(self, name, *_):
        if name == "click":
            raise KeyboardInterrupt
sys.meta_path.insert(0, Interrupting())
from remetre_cli.start import start
start()
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (130, "remetre: interrupted\n")


def test_a_restated_score_is_written_where_asked(remetre, tmp_path):
    code, out, err = remetre("restate", SONG, "--to", "compound", "-o", "x.musicxml")
    assert (code, err) == (0, "")
    assert out.splitlines()[0] == "wrote x.musicxml: 14 bars of 12/8"
    assert out.splitlines()[1].startswith("15 of 56 beats lilt, 41 are only stretched")
    assert str(read(tmp_path / "x.musicxml").bars[0].metre) == "12/8"


def test_force_replaces_an_output(remetre, tmp_path):
    (tmp_path / "x.musicxml").write_text("old")
    code, _, _ = remetre("restate", SONG, "--to", "compound", "-o", "x.musicxml", "--force", "-q")
    assert code == 0
    assert str(read(tmp_path / "x.musicxml").bars[0].metre) == "12/8"


def test_a_score_goes_through_pipes(remetre, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(SONG.read_bytes())))
    code, out, err = remetre("restate", "-", "--to", "compound", "--explain", "-o", "-")
    assert code == 0
    assert str(read(out.encode()).bars[0].metre) == "12/8"
    assert "becomes" in err


def test_a_compressed_score_holds_the_same_music(remetre, tmp_path):
    remetre("restate", SONG, "--to", "compound", "-o", "x.mxl")
    remetre("restate", SONG, "--to", "compound", "-o", "x.musicxml")
    events = [list(read(tmp_path / f"x{ending}").events()) for ending in (".mxl", ".musicxml")]
    assert events[0]
    assert [e for _, _, e in events[0]] == [e for _, _, e in events[1]]


def test_explain_alone_writes_nothing_and_shows_map_and_beats(remetre, tmp_path):
    code, out, _ = remetre("restate", SONG, "--to", "compound", "--explain")
    assert code == 0
    assert "4/4 to 12/8, trochee\n" in out
    assert "1/8       1/4\n" in out  # the second eighth of the beat
    assert "1/12 1/12 1/12  1/8 1/8 1/8" in out
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    "ending, beginning",
    [
        (".mid", b"MThd"),
        (".svg", b"<svg"),
        (".pdf", b"%PDF-"),
        (".html", b"<!doctype html>"),
        (".xml", b"<?xml"),
    ],
    ids=["sound", "drawing", "paper", "page", "score"],
)
def test_the_ending_says_what_is_written(ending, beginning, remetre, tmp_path):
    code, _, _ = remetre("restate", SONG, "--to", "compound", "-o", f"x{ending}")
    assert code == 0
    assert (tmp_path / f"x{ending}").read_bytes().startswith(beginning)


def test_a_page_shows_two_scores_one_over_the_other(remetre, tmp_path):
    code, _, _ = remetre("page", SONG, "--before", LANES, "-o", "x.html")
    page = (tmp_path / "x.html").read_text(encoding="utf-8")
    assert code == 0
    assert page.index("orchard-lanes.musicxml, bars 1") < page.index("lantern-song.musicxml, bars")


def test_midi_is_played_with_or_without_repeats(remetre, tmp_path):
    remetre("midi", SONG, "-o", "x.mid")
    remetre("midi", SONG, "--no-repeats", "-o", "y.mid")
    assert (tmp_path / "x.mid").stat().st_size > (tmp_path / "y.mid").stat().st_size


def test_midi_to_practise_with_is_slower_counted_and_clicked(remetre, tmp_path):
    remetre("midi", SONG, "-o", "x.mid")
    remetre("midi", SONG, "--speed", "50%", "--click", "--count-in", "1", "-o", "slow.mid")
    plain, slow = (mido.MidiFile(tmp_path / name) for name in ("x.mid", "slow.mid"))
    bar = 2.5  # seconds: 4/4 at a quarter = 96
    assert slow.length == pytest.approx((plain.length + bar) * 2, abs=0.01)
    assert [track.name for track in slow.tracks if track not in plain.tracks][-1] == "Click"
    code, _, said = remetre("midi", SONG, "--speed", "quick", "-o", "z.mid")
    assert code == 2 and "'quick' is no speed" in said and not (tmp_path / "z.mid").exists()


def test_the_demo_can_be_run_again(remetre, tmp_path):
    first = remetre("demo")
    files = {path.name: path.read_bytes() for path in (tmp_path / "remetre-demo").iterdir()}
    assert set(files) == {
        "ropewalk.musicxml",
        "ropewalk-restated.musicxml",
        "ropewalk.html",
    }
    assert first[0] == 0
    assert first[1].splitlines()[-2:] == [
        "every bar adds up: 8 of 6/8",
        "open remetre-demo/ropewalk.html in a browser to see and hear both",
    ]
    assert remetre("demo") == first
    assert files == {p.name: p.read_bytes() for p in (tmp_path / "remetre-demo").iterdir()}


def test_the_demo_does_not_replace_what_someone_changed(remetre, tmp_path):
    remetre("demo")
    restated_theme = tmp_path / "remetre-demo" / "ropewalk-restated.musicxml"
    restated_theme.write_text("mine")
    code, told, err = remetre("demo", "--to", "7/8")
    assert code == 2 and "wrote" not in told
    assert "already exists; --force replaces it, -o names another folder" in err
    assert restated_theme.read_text() == "mine"
    assert remetre("demo", "--force")[0] == 0


def test_an_interruption_ends_with_130(remetre, monkeypatch):
    def interrupt(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("rhythm.formats.read", interrupt)
    assert remetre("restate", SONG, "--to", "6/8", "-o", "x.xml") == (
        130,
        "",
        "remetre restate: interrupted\n",
    )


def test_a_defect_is_owned_in_one_line(remetre, monkeypatch):
    def fail(*_):
        raise KeyError("voice")

    monkeypatch.setattr("rhythm.formats.read", fail)
    code, _, err = remetre("restate", SONG, "--to", "6/8", "-o", "x.xml")
    assert code == 70
    assert err.startswith("remetre restate: a defect of this program")
    assert err.count("\n") == 1


def test_a_reader_that_goes_away_is_no_error():
    shell = f'"{sys.executable}" -m remetre_cli restate "{SONG}" --to compound -o -'
    done = subprocess.run(
        ["bash", "-c", f"{shell} | head -n 1 > /dev/null; echo ${{PIPESTATUS[0]}}"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.strip() in ("0", "141")
    assert done.stderr.count("\n") <= 1
    assert "Error" not in done.stderr


def test_what_became_of_each_beat_is_told_as_json_without_writing(remetre, tmp_path):
    code, out, err = remetre("restate", SONG, "--to", "compound", "--json")
    assert (code, err) == (0, "")
    assert [(m["from"], m["to"]) for m in json.loads(out)["maps"]] == [("4/4", "12/8")]
    code, out, err = remetre("restate", SONG, "--to", "compound", "--json", "-o", "x.musicxml")
    assert (code, err) == (0, "")
    assert json.loads(out)["beats"]
    assert (tmp_path / "x.musicxml").is_file()
