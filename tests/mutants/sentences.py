"""Small wrong changes in ``rhythm/sentences/``."""

from .row import Row

__all__ = ["ROWS"]

_CHAIN = "tests/bench/test_chain.py"

ROWS: list[Row] = [
    Row(
        "rhythm/sentences/of_verbs.py",
        'the value\'s pace")), usual="beat",',
        'the value\'s pace")), usual="value",',
        (f"{_CHAIN}::test_what_usually_holds_in_a_sentence_is_what_the_verb_does_by_itself",),
        "a sentence that says what nobody does",
    ),
    Row(
        "rhythm/sentences/of_making.py",
        "Play {part}, {voice}.",
        "Play {part}.",
        (f"{_CHAIN}::test_a_sentence_has_a_blank_for_everything_its_verb_can_be_told",),
        "a blank that stands in no sentence",
    ),
]
