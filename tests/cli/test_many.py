"""One command over many scores: where they go, what is said, what one bad file does."""

import json
import shutil
from pathlib import Path

import pytest
from remetre_cli.main import run

from rhythm.formats import read

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "examples"


@pytest.fixture
def remetre(tmp_path, monkeypatch, capfd):
    """Run ``remetre`` beside a folder ``songs/``; gives exit code, standard output and error."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "songs" / "more").mkdir(parents=True)
    shutil.copy(EXAMPLES / "lantern-song.musicxml", tmp_path / "songs" / "lantern.musicxml")
    shutil.copy(EXAMPLES / "ferry-steps.musicxml", tmp_path / "songs" / "more" / "ferry.musicxml")

    def call(*arguments):
        capfd.readouterr()
        with pytest.raises(SystemExit) as done:
            run([str(argument) for argument in arguments])
        said = capfd.readouterr()
        return done.value.code, said.out, said.err

    return call


def written(folder):
    return {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}


def test_a_folder_of_scores_goes_into_a_folder_with_a_line_each_and_a_total(remetre, tmp_path):
    code, out, err = remetre("restate", "songs/", "--to", "compound", "-o", "out/")
    assert (code, err) == (0, "")
    assert written(tmp_path / "out") == {"lantern.musicxml", "more/ferry.musicxml"}
    lines = out.splitlines()
    assert lines[0].startswith("out/lantern.musicxml: 14 bars of 12/8")
    assert lines[1].startswith("out/more/ferry.musicxml: 17 bars of 6/8")
    assert lines[2:] == ["2 scores, 31 bars in out"]
    assert str(read(tmp_path / "out" / "lantern.musicxml").bars[0].metre) == "12/8"


def test_one_bad_file_is_said_and_does_not_stop_the_others(remetre, tmp_path):
    (tmp_path / "songs" / "broken.musicxml").write_text("<score-partwise>")
    code, out, err = remetre("faircopy", "songs", "-o", "out")
    assert code == 2
    assert err.startswith("remetre faircopy: songs/broken.musicxml: ")
    assert err.count("\n") == 1
    assert out.endswith("2 scores, 31 bars in out; 1 could not be read or written\n")
    assert written(tmp_path / "out") == {"lantern.musicxml", "more/ferry.musicxml"}


def test_an_unexpected_error_in_one_file_is_that_files_alone(remetre, tmp_path, monkeypatch):
    from rhythm.notate import faircopy

    whole = faircopy.faircopy.outcome

    def fails_on_one(score, **asked):
        if len(score.bars) == 17:
            raise KeyError("voice")
        return whole(score, **asked)

    monkeypatch.setattr(faircopy.faircopy, "outcome", fails_on_one)
    code, out, err = remetre("faircopy", "songs", "-o", "out")
    assert code == 70
    assert "songs/more/ferry.musicxml: a defect of this program" in err
    assert out.endswith("1 score, 14 bars in out; 1 met a defect of this program\n")


def test_a_total_counts_the_bars_that_are_heard_and_the_pages(remetre):
    code, out, _ = remetre("midi", "songs", "-o", "heard")
    assert code == 0
    assert out.splitlines() == [
        "wrote heard/lantern.mid: 14 bars of 4/4",
        "wrote heard/more/ferry.mid: 17 bars of 2/4",
        "2 scores, 31 bars in heard",
    ]
    _, out, _ = remetre("page", "songs", "--kind", "pdf", "-o", "paper")
    assert out.endswith("ferry.pdf: 17 bars of 2/4, 1 page\n2 scores, 31 bars, 2 pages in paper\n")


def test_the_manners_of_a_folder_are_told_one_by_one(remetre, tmp_path):
    (tmp_path / "songs" / "cut.musicxml").write_text("<score")
    code, out, err = remetre("manner", "songs")
    assert code == 2 and "songs/cut.musicxml: " in err
    lines = out.splitlines()
    assert lines.index("songs/lantern.musicxml") < lines.index("songs/more/ferry.musicxml")
    assert lines[-1] == "2 scores, 31 bars; 1 could not be read or written"


def test_several_scores_do_not_go_into_one_file(remetre, tmp_path):
    code, out, err = remetre("faircopy", "songs", "-o", "one.musicxml")
    assert (code, out) == (2, "")
    assert "name a folder, as in -o out/" in err
    assert not (tmp_path / "one.musicxml").exists()


def test_scores_of_one_name_do_not_overwrite_each_other(remetre, tmp_path):
    shutil.copy(EXAMPLES / "orchard-lanes.musicxml", tmp_path / "lantern.musicxml")
    code, _, err = remetre("faircopy", "songs/lantern.musicxml", "lantern.musicxml", "-o", "out")
    assert code == 2
    assert err.count("two scores would be written as out/lantern.musicxml") == 2
    assert written(tmp_path / "out") == set()


def test_nothing_in_a_folder_is_replaced_without_force(remetre, tmp_path):
    remetre("faircopy", "songs", "-o", "out")
    (tmp_path / "out" / "lantern.musicxml").write_text("mine")
    code, _, err = remetre("faircopy", "songs", "-o", "out")
    assert code == 2
    assert "--force replaces it" in err
    assert (tmp_path / "out" / "lantern.musicxml").read_text() == "mine"
    assert remetre("faircopy", "songs", "-o", "out", "--force")[0] == 0


def test_a_folder_is_never_written_over_its_own_scores(remetre, tmp_path):
    before = (tmp_path / "songs" / "lantern.musicxml").read_bytes()
    code, _, err = remetre("faircopy", "songs", "-o", "songs", "--force")
    assert code == 2
    assert "this is the score being read" in err
    assert (tmp_path / "songs" / "lantern.musicxml").read_bytes() == before


@pytest.mark.parametrize(
    ("words", "file"),
    [
        ("restate lantern.musicxml --to 3/4 --manner m.xml -o m.xml", "m.xml"),
        ("faircopy lantern.musicxml --manner m.xml -o link.xml", "m.xml"),
        ("faircopy lantern.musicxml --manner m.html -o x.mxl --page m.html", "m.html"),
        ("page lantern.musicxml --before m.html -o m.html", "m.html"),
        ("faircopy songs --manner o/lantern.musicxml -o o", "o/lantern.musicxml"),
        ("faircopy lantern.musicxml --manner o/lantern.musicxml -o o", "o/lantern.musicxml"),
        ("exercises lantern.musicxml --plan plan.txt --answers plan.txt", "plan.txt"),
        ("exercises lantern.musicxml --manner m.xml --key m.xml", "m.xml"),
    ],
)
def test_what_an_option_reads_is_never_replaced_even_by_force(remetre, tmp_path, words, file):
    score = tmp_path / "songs" / "lantern.musicxml"
    (tmp_path / "o").mkdir()
    for copy in ("lantern.musicxml", "m.xml", "m.html", "o/lantern.musicxml"):
        shutil.copy(score, tmp_path / copy)
    (tmp_path / "plan.txt").write_text('[[exercise]]\nvary = "dotting"\n')
    (tmp_path / "link.xml").symlink_to("m.xml")
    before = (tmp_path / file).read_bytes()
    code, _, err = remetre(*words.split(), "--force")
    assert (code, (tmp_path / file).read_bytes()) == (2, before)
    assert "this is a file being read" in err


def test_a_folder_takes_the_kind_that_is_asked_for(remetre, tmp_path):
    assert remetre("restate", "songs", "--to", "compound", "--kind", "mxl", "-o", "out")[0] == 0
    assert written(tmp_path / "out") == {"lantern.mxl", "more/ferry.mxl"}


def test_many_scores_are_told_of_as_json_a_line_each(remetre):
    code, out, _ = remetre("restate", "songs", "--to", "compound", "--json")
    told = [json.loads(line) for line in out.splitlines()]
    assert code == 0
    assert [each["file"] for each in told] == [
        "songs/lantern.musicxml",
        "songs/more/ferry.musicxml",
    ]
    assert [each["bars"] for each in told] == [14, 17]


def test_a_title_cannot_command_the_terminal(remetre, tmp_path):
    name = "songs/lan\x07\x9btern.musicxml"
    shutil.copy(EXAMPLES / "lantern-song.musicxml", tmp_path / name)
    code, out, err = remetre("check", name, "songs/lantern.musicxml")
    assert code == 0
    assert not {"\x07", "\x9b"} & set(out + err)
    code, out, err = remetre("faircopy", name, "-o", "no/x.musicxml")
    assert code == 2
    assert not {"\x07", "\x9b"} & set(out + err)


@pytest.mark.parametrize(
    ("verb", "kind", "beginning"),
    [
        (["midi"], "mid", b"MThd"),
        (["page", "--kind", "svg"], "svg", b"<svg"),
        (["guises", "--most", "2", "--first", "2"], "html", b"<!doctype html"),
        (["exercises", "--most", "1", "-q"], "musicxml", b"<?xml"),
    ],
    ids=lambda value: value[0] if isinstance(value, list) else None,
)
def test_what_writes_one_file_of_a_score_writes_one_of_each(
    verb, kind, beginning, remetre, tmp_path
):
    (tmp_path / "broken.musicxml").write_text("no score")
    out = tmp_path / "out"
    song = EXAMPLES / "ferry-steps.musicxml"
    words = [song, str(tmp_path / "broken.musicxml"), "-o", f"{out}/"]
    code, _, said = remetre(*verb[:1], *words, *verb[1:])
    assert (code, said.count("broken.musicxml")) == (2, 1)
    assert [path.name for path in out.iterdir()] == [f"{song.stem}.{kind}"]
    assert next(out.iterdir()).read_bytes().lower().startswith(beginning.lower())
