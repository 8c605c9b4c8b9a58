"""Putting right what the ledger finds wrong, without dropping or shortening a note.

Two ways: ``metre`` lets the signature follow what a bar holds and restores it afterwards;
``rests`` keeps the signature and fills what is missing with rests in readable values. Both also
write rounded ticks exactly, respell values that contradict their duration, complete tuplets and
their brackets, and close ties that lead nowhere. A bar in which nothing was wrong keeps its
source, so it is written as it was (only the bar in which a signature is restored shows it anew).

What cannot be put right by that is refused whole: an overfull bar under ``rests``, a content that
no signature holds, notes of one voice that overlap.
"""

from __future__ import annotations

from rhythm.check.ledger import check
from rhythm.check.mend_lengths import mend_lengths
from rhythm.check.mend_marks import mend_marks
from rhythm.check.mend_ties import mend_ties
from rhythm.check.mend_tuplets import mend_tuplets
from rhythm.exact.errors import MusicError, Place, RequestError
from rhythm.score.model import Score

__all__ = ["WAYS", "mend"]

WAYS = ("metre", "rests")


def mend(score: Score, how: str = "metre") -> Score:
    """A corrected score that passes :func:`~rhythm.check.ledger.check`.

    ``how`` is ``metre`` or ``rests``. Raises :class:`~rhythm.exact.errors.RequestError` for
    another word and :class:`~rhythm.exact.errors.MusicError` for what cannot be mended so.
    """
    if how not in WAYS:
        raise RequestError(f"cannot mend by {how!r}", legal="mend by " + " or ".join(WAYS))
    mended = mend_lengths(mend_tuplets(mend_ties(mend_marks(score))), how)
    for fault in check(mended).faults:
        raise MusicError(
            f"{fault.message}: this is not put right by {'a signature' if how == 'metre' else how}",
            place=Place(score.path, fault.part, fault.number, fault.voice),
            legal=fault.fix or "move or shorten notes by hand",
        )
    return mended
