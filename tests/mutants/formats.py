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
]
