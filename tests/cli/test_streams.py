"""Standard streams that are closed, full or not there, and a process that is asked to end."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

THEME = str(Path(__file__).parents[2] / "examples" / "ferry-steps.musicxml")
REMETRE = f"{sys.executable} -m remetre_cli"


def shell(line: str, folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(["sh", "-c", line], cwd=folder, capture_output=True, text=True)


@pytest.mark.parametrize("closed", [">&-", "2>&-", ">&- 2>&-", "<&- >&- 2>&-"])
def test_work_well_done_is_well_done_with_closed_streams(closed: str, tmp_path: Path) -> None:
    line = f"{REMETRE} restate {THEME} --to compound -o out.musicxml {closed}"
    assert shell(line, tmp_path).returncode == 0
    written = (tmp_path / "out.musicxml").read_bytes()
    assert written.startswith(b"<?xml") and written.endswith(b"</score-partwise>\n")
    assert shell(f"{REMETRE} check {THEME} {closed}", tmp_path).returncode == 0


def test_a_score_for_a_closed_standard_output_is_an_error(tmp_path: Path) -> None:
    done = shell(f"{REMETRE} faircopy {THEME} -o - >&-", tmp_path)
    assert (done.returncode, done.stderr.count("\n")) == (2, 1)
    assert "standard output is closed" in done.stderr


def test_a_score_from_a_closed_standard_input_is_an_error(tmp_path: Path) -> None:
    done = shell(f"{REMETRE} check - <&-", tmp_path)
    assert (done.returncode, done.stderr.count("\n")) == (2, 1)


def test_a_full_standard_output_is_an_error_in_one_line(tmp_path: Path) -> None:
    done = shell(f"{REMETRE} check {THEME} > /dev/full", tmp_path)
    assert (done.returncode, done.stderr.count("\n")) == (2, 1)
    assert "No space left" in done.stderr


def test_a_process_that_is_asked_to_end_leaves_no_file_behind(tmp_path: Path) -> None:
    slow = (
        "import os, time\n"
        "def held(handle):\n"
        "    print('begun', flush=True)\n"
        "    time.sleep(60)\n"
        "os.fsync = held\n"
        "from remetre_cli.main import run\n"
        "run()\n"
    )
    words = ["faircopy", THEME, "-o", str(tmp_path / "out.musicxml")]
    process = subprocess.Popen(
        [sys.executable, "-c", slow, *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert process.stdout is not None and process.stdout.readline() == b"begun\n"
    assert list(tmp_path.iterdir())
    process.send_signal(signal.SIGTERM)
    _, said = process.communicate(timeout=30)
    assert (process.returncode, said) == (143, b"remetre faircopy: stopped\n")
    assert not list(tmp_path.iterdir())


def test_file_names_that_are_no_utf_8_are_read_and_written(tmp_path: Path) -> None:
    name = os.fsencode(tmp_path) + b"/\xff\xfe.musicxml"
    Path(os.fsdecode(name)).write_bytes(Path(THEME).read_bytes())
    for verb, out in (
        (["restate", "--to", "compound"], b"/\xfd.musicxml"),
        (["restate", "--to", "compound"], b"/\xfd.mxl"),
        (["restate", "--to", "compound"], b"/\xfd.html"),
        (["midi"], b"/\xfd.mid"),
    ):
        target = os.fsencode(tmp_path) + out
        command = [sys.executable, "-m", "remetre_cli", *verb, name, "-o", target]
        done = subprocess.run(command, capture_output=True)
        assert (done.returncode, done.stderr) == (0, b""), done.stderr
        assert os.path.getsize(target) > 0
    done = subprocess.run([sys.executable, "-m", "remetre_cli", "check", name], capture_output=True)
    assert done.returncode == 0 and done.stdout
