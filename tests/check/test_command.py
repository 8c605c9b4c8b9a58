"""``remetre check`` and ``remetre mend`` as they are used."""

import json
import os
import signal
import subprocess
import sys
import time

import pytest
from lxml import etree
from remetre_cli import many
from remetre_cli.check import Outcome, _lost, row_object
from remetre_cli.main import run

from rhythm.check.ledger import check
from rhythm.formats import read
from tests.corpus import pick
from tests.sheet import bar, sheet, source

RIGHT = source("q q q q", "h h")
SHORT = source("q q q q", "h q", "w")


@pytest.fixture
def remetre(tmp_path, monkeypatch, capfd):
    monkeypatch.chdir(tmp_path)

    def call(*arguments):
        capfd.readouterr()
        with pytest.raises(SystemExit) as done:
            run([str(argument) for argument in arguments])
        said = capfd.readouterr()
        return done.value.code, said.out, said.err

    return call


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "right.musicxml").write_bytes(RIGHT)
    (tmp_path / "short.musicxml").write_bytes(SHORT)
    (tmp_path / "inner").mkdir()
    (tmp_path / "inner" / "deep.xml").write_bytes(RIGHT)
    (tmp_path / "broken.musicxml").write_text("<score-partwise><part>")
    return tmp_path


def test_a_right_score_ends_with_0_and_a_summary(remetre, folder):
    code, out, err = remetre("check", folder / "right.musicxml")
    assert (code, err) == (0, "")
    assert out.splitlines() == [
        "2 bars, 1 voice; 4/4 in 2 bars; 2 whole notes",
        "every bar adds up",
    ]


def test_a_fault_is_shown_in_a_table_and_ends_with_1(remetre, folder):
    code, out, _ = remetre("check", folder / "short.musicxml")
    assert code == 1
    assert out.splitlines()[1:] == [
        "where          at      weight  what",
        "Part 1, bar 2  beat 4  fault   a quarter short of 4/4; holds exactly 3/4; "
        "a quarter rest would fill it",
        "1 fault",
    ]


def test_every_row_may_be_shown(remetre, folder):
    _, out, _ = remetre("check", folder / "short.musicxml", "--rows", "--bars", "1-2")
    rows = [line.split() for line in out.splitlines()[2:4]]
    assert rows == [
        ["1", "Part", "1", "1", "4/4", "1", "1", "1", "0", "right"],
        ["2", "Part", "1", "1", "4/4", "1", "3/4", "3/4", "-1/4", "short"],
    ]


def test_json_has_one_object_a_row_with_the_documented_keys(remetre, folder):
    code, out, _ = remetre("check", folder / "short.musicxml", "--json")
    rows = [json.loads(line) for line in out.splitlines()]
    assert code == 1
    assert [row["verdict"] for row in rows] == ["right", "short", "right"]
    assert list(rows[1]) == [
        "file", "part", "part_name", "bar", "index", "voice", "metre", "length", "written",
        "ticks", "difference", "verdict", "findings",
    ]  # fmt: skip
    assert rows[1]["findings"] == [
        {
            "weight": "fault", "kind": "short", "voice": "1", "position": "3/4",
            "amount": "-1/4", "name": "quarter", "message": "a quarter short of 4/4",
            "fix": "holds exactly 3/4; a quarter rest would fill it",
        }
    ]  # fmt: skip


def test_quiet_says_nothing(remetre, folder):
    assert remetre("check", folder / "right.musicxml", "--quiet") == (0, "", "")
    assert remetre("check", folder / "short.musicxml", "-q") == (1, "", "")
    assert remetre("check", folder / "right.musicxml", folder / "short.musicxml", "-q")[0] == 1


def test_a_folder_gives_a_line_a_file_and_a_total_and_a_bad_file_does_not_stop_it(remetre, folder):
    code, out, err = remetre("check", ".")
    assert code == 2
    assert out.splitlines() == [
        "inner/deep.xml: 2 bars, all right",
        "right.musicxml: 2 bars, all right",
        "short.musicxml: 3 bars, 1 fault in 1 bar; Part 1, bar 2: a quarter short of 4/4; "
        "holds exactly 3/4; a quarter rest would fill it",
        "4 files, 7 bars: 1 fault in 1 file; 1 file could not be read",
    ]
    assert err.startswith("remetre check: broken.musicxml: ")
    assert err.count("\n") == 1


def test_patterns_and_several_names_are_taken_together(remetre, folder):
    code, out, _ = remetre("check", "**/d*.xml", "right.musicxml", "right.musicxml")
    assert code == 0
    assert [line.split(":")[0] for line in out.splitlines()] == [
        "inner/deep.xml", "right.musicxml", "2 files, 4 bars",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "names, said",
    [
        (["none.musicxml"], "remetre check: none.musicxml: "),
        (["*.nothing"], "remetre check: *.nothing: no file has such a name"),
        (["inner/empty"], "remetre check: inner/empty: no scores in this folder"),
        (["right.musicxml", "--against", "seven"], "remetre check: "),
        (["right.musicxml", "--part", "Oboe"], "remetre check: there is no part 'Oboe'"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_a_request_that_means_nothing_ends_with_2_and_one_line(names, said, remetre, folder):
    (folder / "inner" / "empty").mkdir()
    code, out, err = remetre("check", *names)
    assert (code, out) == (2, "")
    assert err.startswith(said)
    assert err.count("\n") == 1


def test_standard_input_is_checked(folder):
    done = subprocess.run(
        [sys.executable, "-m", "remetre_cli", "check", "-"],
        input=SHORT, capture_output=True, check=False, env=os.environ,
    )  # fmt: skip
    assert done.returncode == 1
    assert b"a quarter short" in done.stdout


def test_a_plan_is_held(remetre, folder):
    code, out, _ = remetre("check", folder / "short.musicxml", "--against", "4/4")
    assert code == 1
    assert "holds 3/4 where the plan has 4/4; the first departure" in out
    assert remetre("check", folder / "short.musicxml", "--against", "4/4 3/4 4/4")[0] == 0


@pytest.mark.parametrize(
    "names, said",
    [
        (["none.musicxml"], "none.musicxml: "),
        (["*.nothing"], "*.nothing: no file has such a name"),
        (["inner/empty"], "inner/empty: no scores in this folder"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_a_name_that_means_no_file_does_not_stop_the_others(names, said, remetre, folder):
    (folder / "inner" / "empty").mkdir()
    code, out, err = remetre("check", *names, "right.musicxml")
    assert code == 2
    assert out.splitlines() == [
        "right.musicxml: 2 bars, all right",
        "2 files, 2 bars: all right; 1 file could not be read",
    ]
    assert err.startswith(f"remetre check: {said}")
    assert err.count("\n") == 1


def test_where_no_file_can_be_read_nothing_is_called_right(remetre, folder):
    code, out, _ = remetre("check", "broken.musicxml", "*.nothing")
    assert (code, out) == (2, "2 files: none could be read\n")


@pytest.mark.parametrize("option", ["--rows", "--remarks", "--all"])
def test_what_is_shown_of_one_score_alone_is_refused_for_many(option, remetre, folder):
    code, out, err = remetre("check", "right.musicxml", "short.musicxml", option)
    assert (code, out) == (2, "")
    assert "--rows, --remarks and --all are for one score at a time; --json tells all" in err


def test_two_processes_say_what_one_says(remetre, monkeypatch):
    files = pick(8, most_bytes=30_000)
    alone = remetre("check", *files)
    processes = []
    pool = many._pool
    monkeypatch.setattr(many, "_pool", lambda jobs: processes.append(jobs) or pool(jobs))
    monkeypatch.setattr(many, "_WORTH_A_PROCESS", 0)
    monkeypatch.setattr(many, "_processors", lambda: 2)
    assert remetre("check", *files) == alone
    assert len(alone[1].splitlines()) == 9
    assert processes == [2]


def _work(name):
    if "deadly" in name:
        os._exit(1)
    time.sleep("slow" in name and 0.2)
    return name.upper()


def test_a_process_that_dies_costs_its_own_file_alone(monkeypatch):
    monkeypatch.setattr(many, "_WORTH_A_PROCESS", 0)
    monkeypatch.setattr(many, "_processors", lambda: 2)
    files = ["slow", "deadly", "b", "deadly too", "c", "d"]
    assert list(many.spread(_work, files, lambda name: f"{name} was lost")) == [
        "SLOW", "deadly was lost", "B", "deadly too was lost", "C", "D",
    ]  # fmt: skip


def test_a_lost_file_is_one_that_could_not_be_read():
    assert _lost("a.musicxml") == Outcome(2, error="a.musicxml: the process that read it died")


def test_an_interrupt_ends_with_130_and_no_traceback(tmp_path):
    for i in range(60):
        (tmp_path / f"{i:02}.musicxml").write_bytes(source(*["e e e e e e e e"] * 400))
    process = subprocess.Popen(
        [sys.executable, "-m", "remetre_cli", "check", str(tmp_path)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True,
    )  # fmt: skip
    assert process.stdout is not None
    process.stdout.readline()
    os.killpg(process.pid, signal.SIGINT)
    start = time.monotonic()
    _, err = process.communicate(timeout=30)
    assert process.returncode == 130
    assert err.decode().splitlines() == ["remetre check: interrupted"]
    assert time.monotonic() - start < 10


def test_mend_follows_the_content_or_fills_with_rests(remetre, folder):
    for how, metres, done in (
        ("--metre", ["4/4", "3/4", "4/4"], "a signature of its own: 3/4"),
        ("--rests", ["4/4"] * 3, "a quarter rest put in at its end"),
        ("--least", ["4/4"] * 3, "a quarter rest put in at its end"),
    ):
        code, out, err = remetre("mend", "short.musicxml", how, "-o", f"out{how}.musicxml")
        assert (code, err) == (0, "")
        assert out.splitlines()[1:] == [
            f"Part 1, bar 2: {done} (a quarter short of 4/4)",
            "1 fault mended",
        ]
        mended = read(folder / f"out{how}.musicxml")
        assert check(mended).is_right
        assert [str(each.metre) for each in mended.bars] == metres


def test_mend_leaves_an_overfull_bar_under_rests_and_says_why(remetre, folder):
    (folder / "long.musicxml").write_bytes(source("w", "q q q q. s", "h q", "w"))
    code, out, err = remetre("mend", "long.musicxml", "--rests", "-o", "out.musicxml")
    assert (code, err) == (1, "")
    assert out.splitlines()[1:] == [
        "Part 1, bar 3: a quarter rest put in at its end (a quarter short of 4/4)",
        "1 fault mended",
        "Part 1, bar 2: left as it is: a dotted eighth too long for 4/4: rests cannot shorten it",
    ]
    assert [each.number for each in check(read(folder / "out.musicxml")).faults] == ["2"]


def test_mend_touches_only_the_bars_asked_for_and_says_so_as_data(remetre, folder):
    (folder / "two.musicxml").write_bytes(source("w", "h q", "w", "h.", "w"))
    code, out, _ = remetre("mend", "two.musicxml", "--bars", "4", "--json", "-o", "out.musicxml")
    told = json.loads(out)
    assert (code, [each["bar"] for each in told["mended"]], told["left"]) == (0, ["4"], [])
    assert [each.number for each in check(read(folder / "out.musicxml")).faults] == ["2"]


def test_a_score_without_faults_is_written_byte_for_byte(remetre, folder):
    code, out, _ = remetre("mend", "right.musicxml", "-o", "out.musicxml")
    assert (code, out.splitlines()[-1]) == (0, "nothing was at fault")
    canonical = [
        etree.tostring(etree.fromstring((folder / name).read_bytes()), method="c14n")
        for name in ("right.musicxml", "out.musicxml")
    ]
    assert canonical[0] == canonical[1]


def test_hundreds_of_faults_fit_one_screen_unless_all_are_asked_for(remetre, folder):
    bars = ["w", *["h q", "w", "h. h"] * 60, "w"]
    (folder / "many.musicxml").write_bytes(source(*bars))
    code, out, _ = remetre("check", "many.musicxml")
    assert code == 1
    assert len(out.splitlines()) < 24
    assert "60     short" in out and "60     long" in out
    code, out, _ = remetre("check", "many.musicxml", "--all")
    assert sum("fault" in line for line in out.splitlines()) >= 120


def test_the_row_as_json_keeps_exact_values():
    row = check(sheet([bar("e:3/2 e:3/2", "1/4")])).rows[0]
    assert row_object("a", row, {"P1": ""})["written"] == "1/6"
