"""Scores in other formats on the command line: pieces chosen, what was not kept told."""

import io

import pytest
from remetre_cli.main import run

ONE = "X:1\nT:One\nM:2/4\nL:1/8\nK:G\nGA B2|c4|]\n"
BOOK = ONE + "\nX:2\nT:Two\nM:3/4\nL:1/8\nK:G\n!slide!G2 A2 B2|]\n"


def remetre(capsys, *words):
    with pytest.raises(SystemExit) as done:
        run(list(words))
    told = capsys.readouterr()
    return done.value.code, told.out, told.err


def test_a_book_of_tunes_is_listed_and_one_is_chosen(tmp_path, capsys):
    book = tmp_path / "book.abc"
    book.write_text(BOOK)
    code, _, told = remetre(capsys, "check", str(book))
    assert code == 2 and "holds 2 pieces; choose one with --piece: 1 One, 2 Two" in told
    code, said, told = remetre(capsys, "check", str(book), "--piece", "one")
    assert (code, told) == (0, "") and "2 bars" in said
    code, said, told = remetre(capsys, "check", str(book), "--piece", "2")
    assert code == 0 and "1 bar" in said
    assert told == f"{book}: not kept: signs (1)\n"
    code, _, told = remetre(capsys, "check", str(book))
    assert code == 2, "the choice of one run is not the next one's"


def test_every_verb_takes_the_piece(tmp_path, capsys):
    book = tmp_path / "book.abc"
    book.write_text(BOOK)
    for verb in (
        ("restate", "--to", "compound"), ("rebar", "--to", "3/4"), ("faircopy",), ("mend",),
        ("group", "--groups", "3"), ("vary", "--device", "augmentation:2"),
        ("tuplet", "--split", "3", "--span", "1/4"),
    ):  # fmt: skip
        target = tmp_path / f"{verb[0]}.musicxml"
        code, _, told = remetre(
            capsys, verb[0], str(book), *verb[1:], "--piece", "One", "-o", str(target)
        )
        assert code == 0, (verb, told)
        assert target.exists()


def test_a_format_is_known_by_content_on_standard_input_and_in_folders(
    tmp_path, capsys, monkeypatch
):
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(ONE.encode())))
    code, said, _ = remetre(capsys, "check", "-")
    assert code == 0 and "2 bars" in said
    (tmp_path / "tunes").mkdir()
    (tmp_path / "tunes" / "a.abc").write_text(ONE)
    code, said, told = remetre(capsys, "check", str(tmp_path / "tunes"))
    assert (code, told) == (0, "") and "2 bars" in said
