"""Small wrong changes in ``rhythm/formats/``."""

from .row import Row

__all__ = ["ROWS"]

ROWS: list[Row] = [
    Row(
        "rhythm/formats/musicxml/performance.py",
        "number * 90 / 100",
        "number * 127 / 100",
        ("tests/show/test_sound.py::test_playback_dynamics_are_percent_of_ninety",),
        "forte is 100 percent of the loudest",
    ),
    Row(
        "rhythm/formats/musicxml/performance.py",
        '"staccato": mpq(1, 2),',
        '"staccato": mpq(1),',
        ("tests/show/test_sound.py::test_accents_are_louder_and_staccato_is_short",),
        "staccato is long",
    ),
    Row(
        "rhythm/formats/files.py",
        'if data[:4] == b"PK\\x03\\x04":',
        'if data[:4] == b"PK\\x05\\x06":',
        ("tests/formats/test_files.py",),
        "compressed scores not unpacked",
    ),
    Row(
        "rhythm/formats/files.py",
        "resolve_entities=False, no_network=True",
        "resolve_entities=True, no_network=True",
        ("tests/formats/test_files.py",),
        "entities of a stranger expanded",
    ),
    Row(
        "rhythm/formats/files.py",
        'if data[:5] == b"%PDF-":',
        'if data[:5] == b"%pdf-":',
        ("tests/formats/test_files.py",),
        "a PDF called bad XML",
    ),
    Row(
        "rhythm/formats/files.py",
        "if len(scores) == 1:",
        "if scores:",
        ("tests/formats/test_files.py",),
        "one of several scores taken at random",
    ),
    Row(
        "rhythm/formats/files.py",
        "if len(data) > MAX_BYTES:",
        "if len(data) > MAX_BYTES * 10:",
        ("tests/formats/test_files.py",),
        "a file larger than any score read",
    ),
    Row(
        "rhythm/formats/musicxml/read/tied_notes.py",
        "if note.tie_stop and events and are_one(events[-1], event):",
        "if events and are_one(events[-1], event):",
        ("tests/formats/test_reading.py", "tests/formats/test_features.py"),
        "notes joined that no tie joins",
    ),
    Row(
        "rhythm/formats/musicxml/read/tied_notes.py",
        "hidden = all(member.hidden for member in note.members)",
        "hidden = any(member.hidden for member in note.members)",
        ("tests/formats/test_reading.py", "tests/formats/test_features.py"),
        "a chord hidden with one of its notes",
    ),
    Row(
        "rhythm/formats/musicxml/read/tied_notes.py",
        "        note.dots,\n",
        "        0,\n",
        ("tests/formats/test_reading.py", "tests/formats/test_features.py"),
        "dots lost in reading",
    ),
]
