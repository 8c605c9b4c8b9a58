"""Files that cannot be read or may not be written: one clear line each, and never a traceback."""

from __future__ import annotations

import io
import os
import stat
import threading
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

import rhythm
from rhythm.exact.errors import FileError
from rhythm.formats import files
from rhythm.formats.files import pack, save
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.write.score_writer import to_bytes
from tests.markup import head, note, partwise

GOOD = partwise(note("C4", 16, "whole"))
CONTAINER = "META-INF/container.xml"
LAUGHS = (
    '<?xml version="1.0"?><!DOCTYPE score-partwise [<!ENTITY a "ha">'
    + "".join(f'<!ENTITY {chr(98 + i)} "{f"&{chr(97 + i)};" * 10}">' for i in range(9))
    + "]><score-partwise><work><work-title>&j;</work-title></work></score-partwise>"
)


def archive(members: dict[str, bytes], rootfile: str = "") -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as file:
        if rootfile:
            file.writestr(
                CONTAINER,
                f'<container><rootfiles><rootfile full-path="{rootfile}"/></rootfiles></container>',
            )
        for name, data in members.items():
            file.writestr(name, data)
    return held.getvalue()


BAD: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "the file is empty"),
    "blank": (b" \n\t ", "the file is empty"),
    "PDF": (b"%PDF-1.7\n...", "this is a PDF, not MusicXML"),
    "text": (b"C D E F G", "this is not XML"),
    "MIDI": (b"MThd\x00\x00\x00\x06\x00\x01", "this is not XML"),
    "truncated": (GOOD[:-40], "the XML is broken at line 1"),
    "mismatched": (b"<score-partwise><part></score-partwise>", "the XML is broken at line 1"),
    "HTML": (b"<html><body/></html>", "is not a MusicXML score but <html>"),
    "opus": (b"<opus/>", "is not a MusicXML score but <opus>"),
    "namespace": (
        b'<score-partwise xmlns="urn:x"/>',
        "elements are in the namespace urn:x",
    ),
    "no parts": (f"<score-partwise>{head('P1')}</score-partwise>".encode(), "has no parts"),
    "no measures": (
        f"<score-partwise>{head('P1')}<part id='P1'/></score-partwise>".encode(),
        "has no measures",
    ),
    "wrong encoding": (
        b'<?xml version="1.0" encoding="klingon"?><score-partwise/>',
        "the XML is broken",
    ),
    "bad bytes": (
        b'<?xml version="1.0" encoding="UTF-8"?><score-partwise>\xff\xfe</score-partwise>',
        "the XML is broken",
    ),
    "too deep": (
        b"<score-partwise>" + b"<a>" * 5000 + b"</a>" * 5000 + b"</score-partwise>",
        "elements stand too deep inside one another",
    ),
    "billion laughs": (LAUGHS.encode(), "entity"),
    "entity in an attribute": (
        b'<!DOCTYPE score-partwise [<!ENTITY x "y">]>'
        + GOOD.replace(b'number="1"', b'number="&x;"', 1),
        "uses the entity &x;",
    ),
    "external entity": (
        b'<!DOCTYPE score-partwise [<!ENTITY x SYSTEM "file:///etc/passwd">]>'
        + GOOD.replace(b"<part-name>P1", b"<part-name>&x;"),
        "uses the entity &x;",
    ),
    "archive of nothing": (archive({"readme.txt": b"x"}), "does not say which member"),
    "archive without its score": (archive({}, "score.xml"), "has no member score.xml"),
    "archive that leaves itself": (
        archive({"../../evil.xml": GOOD}, "../../evil.xml"),
        "points outside itself",
    ),
    "archive with an absolute path": (
        archive({"x.xml": GOOD}, "/etc/passwd"),
        "points outside itself",
    ),
    "archive with a drive": (archive({"x.xml": GOOD}, "C:\\x.xml"), "points outside itself"),
    "archive bomb": (archive({"s.xml": b" " * 30_000_000}, "s.xml"), "times its size"),
    "archive cut short": (archive({"s.xml": GOOD}, "s.xml")[:60], "no readable compressed score"),
    "archive in an archive": (
        archive({"s.mxl": archive({"s.xml": GOOD}, "s.xml")}, "s.mxl"),
        "this is not XML",
    ),
}


@pytest.mark.parametrize(("data", "expected"), BAD.values(), ids=BAD)
def test_a_file_that_is_no_score_is_refused_in_one_line(data: bytes, expected: str) -> None:
    with pytest.raises(FileError) as caught:
        read(data, "given.musicxml")
    line = str(caught.value)
    assert expected in line
    assert "\n" not in line and line.startswith("given.musicxml: ") and caught.value.legal


def test_a_declared_entity_that_nothing_uses_is_harmless() -> None:
    data = b'<!DOCTYPE score-partwise [<!ENTITY x "y">]>' + GOOD
    assert len(read(data).bars) == 1


def test_xml_s_own_entities_are_text() -> None:
    data = GOOD.replace(b"<part-name>P1", b"<part-name>A &amp; B &#233;")
    assert read(data).parts[0].name == "A & B é"


def test_a_member_may_not_hold_more_than_it_says(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "MAX_BYTES", 1000)
    with pytest.raises(FileError, match="holds more than a score can"):
        read(archive({"s.xml": b"<a/>" * 1000}, "s.xml"))
    with pytest.raises(FileError, match="holds more than a score can"):
        read(b"<a/>" * 1000)


@pytest.mark.parametrize(
    ("make", "expected"),
    [
        (lambda folder: folder / "absent.musicxml", "there is no such file"),
        (lambda folder: folder, "this is a folder"),
        (lambda folder: folder / "a\0b.xml", "cannot be read"),
    ],
    ids=["missing", "folder", "impossible name"],
)
def test_a_path_that_cannot_be_opened_is_said(
    tmp_path: Path, make: Callable[[Path], Path], expected: str
) -> None:
    with pytest.raises(FileError, match=expected):
        read(make(tmp_path))


def test_a_score_is_read_from_path_bytes_file_and_standard_input(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "one.musicxml"
    path.write_bytes(GOOD)
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(GOOD)))
    scores = [read(path), read(str(path)), read(GOOD), read(io.BytesIO(GOOD)), read("-")]
    assert len({score.parts for score in scores}) == 1
    assert [score.path for score in scores[:1]] == [str(path)]


def test_a_compressed_score_is_read_with_or_without_its_table_of_contents() -> None:
    named = archive({"x/a.musicxml": GOOD}, "x/a.musicxml")
    for data in (pack(GOOD), archive({"a.xml": GOOD}), named):
        assert to_bytes(read(data)) == to_bytes(read(GOOD))


def test_packing_gives_the_same_bytes_every_time() -> None:
    assert pack(GOOD) == pack(GOOD)
    with zipfile.ZipFile(io.BytesIO(pack(GOOD))) as file:
        assert file.namelist()[0] == "mimetype"
        assert file.getinfo("mimetype").compress_type == zipfile.ZIP_STORED


def test_saving_keeps_an_existing_file_unless_forced(tmp_path: Path) -> None:
    path = tmp_path / "out.musicxml"
    save(b"one", path)
    with pytest.raises(FileError, match="already exists"):
        save(b"two", path)
    assert path.read_bytes() == b"one"
    save(b"two", path, force=True)
    assert path.read_bytes() == b"two"


def test_the_file_being_read_is_never_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "in.musicxml"
    path.write_bytes(b"one")
    link = tmp_path / "link.musicxml"
    link.symlink_to(path)
    for target in (path, link):
        with pytest.raises(FileError, match="the file being read"):
            save(b"two", target, force=True, source=path)
    assert path.read_bytes() == b"one"


def test_the_file_that_was_read_is_known_from_any_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "inner").mkdir()
    path = tmp_path / "inner" / "in.musicxml"
    path.write_bytes(GOOD)
    monkeypatch.chdir(tmp_path)
    score = rhythm.read("inner/in.musicxml")
    monkeypatch.chdir(tmp_path / "inner")
    with pytest.raises(FileError, match="the file being read"):
        rhythm.write(score, "in.musicxml", force=True)
    assert path.read_bytes() == GOOD


@pytest.mark.parametrize("packing", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA], ids=["bzip2", "lzma"])
def test_a_damaged_member_is_said_however_it_is_packed(packing: int) -> None:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", packing) as file:
        file.writestr("score.musicxml", GOOD)
    data = bytearray(held.getvalue())
    start = data.index(b"score.musicxml") + len(b"score.musicxml")
    data[start + 16 : start + 120] = bytes(104)
    with pytest.raises(FileError, match=r"bad\.mxl: is no readable compressed score"):
        rhythm.read(bytes(data), "bad.mxl")


def test_an_archive_whose_table_points_before_its_beginning_is_said() -> None:
    data = bytearray(pack(GOOD))
    end = data.rindex(b"PK\x05\x06")
    data[end + 12 : end + 16] = (len(data) + 40).to_bytes(4, "little")
    with pytest.raises(FileError, match=r"bad\.mxl: is no readable compressed score"):
        rhythm.read(bytes(data), "bad.mxl")


def test_saving_leaves_nothing_behind_when_it_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(FileError, match="cannot be written: No space left"):
        save(b"data", tmp_path / "out.musicxml")
    assert list(tmp_path.iterdir()) == []


def test_saving_into_a_missing_folder_or_over_a_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="cannot be written"):
        save(b"data", tmp_path / "absent" / "out.musicxml")
    with pytest.raises(FileError, match="this is a folder"):
        save(b"data", tmp_path, force=True)


def test_a_saved_file_has_ordinary_permissions(tmp_path: Path) -> None:
    path = tmp_path / "out.musicxml"
    save(b"data", path)
    (tmp_path / "plain").write_bytes(b"")
    plain = stat.S_IMODE((tmp_path / "plain").stat().st_mode)
    assert stat.S_IMODE(path.stat().st_mode) == plain


def test_standard_output_takes_the_bytes(
    capfdbinary: pytest.CaptureFixture[bytes],
) -> None:
    save(GOOD, "-")
    assert capfdbinary.readouterr().out == GOOD


def test_a_link_is_followed_and_stays_a_link(tmp_path: Path) -> None:
    there, link = tmp_path / "there.musicxml", tmp_path / "link.musicxml"
    link.symlink_to(there)
    save(b"one", link)
    assert link.is_symlink() and there.read_bytes() == b"one"
    with pytest.raises(FileError, match="already exists"):
        save(b"two", link)
    save(b"two", link, force=True)
    assert link.is_symlink() and there.read_bytes() == b"two"


def test_a_pipe_takes_the_bytes_and_stays_a_pipe(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.musicxml"
    os.mkfifo(pipe)
    taken: list[bytes] = []
    reader = threading.Thread(target=lambda: taken.append(pipe.read_bytes()))
    reader.start()
    save(b"data", pipe, force=True)
    reader.join(10)
    assert taken == [b"data"] and pipe.is_fifo()
    assert list(tmp_path.iterdir()) == [pipe]


def test_a_device_is_not_replaced_by_a_file() -> None:
    save(b"data", "/dev/null", force=True)
    assert Path("/dev/null").is_char_device()


def test_of_two_that_write_one_file_without_force_one_alone_succeeds(tmp_path: Path) -> None:
    target = tmp_path / "out.musicxml"
    start = threading.Barrier(8)
    done: list[int] = []

    def write(which: int) -> None:
        start.wait()
        try:
            save(b"%d" % which * 100_000, target)
        except FileError as error:
            assert "already exists" in str(error)
        else:
            done.append(which)

    for _ in range(10):
        writers = [threading.Thread(target=write, args=(which,)) for which in range(8)]
        for writer in writers:
            writer.start()
        for writer in writers:
            writer.join()
        assert len(done) == 1 and target.read_bytes() == b"%d" % done.pop() * 100_000
        assert list(tmp_path.iterdir()) == [target]
        target.unlink()


def test_a_file_that_comes_up_while_ours_is_written_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "out.musicxml"
    sync = os.fsync

    def meanwhile(handle: int) -> None:
        target.write_bytes(b"theirs")
        sync(handle)

    monkeypatch.setattr(os, "fsync", meanwhile)
    for has_links in (True, False):
        if not has_links:
            monkeypatch.setattr(os, "link", _no_links)
        with pytest.raises(FileError, match="already exists"):
            save(b"ours", target)
        assert target.read_bytes() == b"theirs"
        assert list(tmp_path.iterdir()) == [target]
        target.unlink()


def _no_links(*_: object) -> None:
    raise PermissionError(1, "Operation not permitted")


@pytest.mark.parametrize("name", ["A & B", "x<y>z", 'quoted "so"', "Fußnote"])
def test_a_compressed_score_opens_whatever_it_is_called(name: str, tmp_path: Path) -> None:
    path = tmp_path / f"{name}.mxl"
    rhythm.write(read(GOOD), path)
    assert rhythm.read(path).length == 1


@pytest.mark.parametrize(
    ("member", "named"),
    [
        ("./score.xml", "score.xml"),
        ("music/score.xml", "./music/score.xml"),
        ("music\\score.xml", "music/score.xml"),
        ("my score.xml", "my%20score.xml"),
        ("my%20score.xml", "my score.xml"),
        ("SCORE.XML", "score.xml"),
        ("SCORE.XML", ""),
        ("Score.MusicXML", ""),
    ],
)
def test_a_member_is_found_however_its_name_is_written(member: str, named: str) -> None:
    data = archive({member: GOOD, "cover.png": b"x"}, named)
    assert to_bytes(rhythm.read(data, "odd.mxl")) == to_bytes(read(GOOD))


def test_the_table_of_contents_chooses_among_several_scores() -> None:
    other = partwise(note("D4", 16, "whole"))
    both = {"a.xml": other, "b.xml": GOOD}
    assert to_bytes(read(archive(both, "b.xml"))) == to_bytes(read(GOOD))
    with pytest.raises(FileError, match=r"which member of a\.xml, b\.xml is the score"):
        read(archive(both))


def test_a_name_that_leaves_the_archive_in_disguise_is_refused() -> None:
    for name in ("..%2f..%2fevil.xml", "%2fetc/passwd", "x\\..\\..\\evil.xml"):
        with pytest.raises(FileError, match=r"points outside itself|has no member"):
            read(archive({"x.xml": GOOD}, name))
