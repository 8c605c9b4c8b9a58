"""Tuplets that stop in the middle: a run of tuplet notes whose sum is no plain value.

A triplet may be a quarter and an eighth, hold rests, mix values, or be completed by the next bar;
a second voice may share another voice's tuplet with nothing of its own beside it. What is wrong is
a run that is followed by ordinary notes, or by nothing at all, where only a fraction of a tuplet
has gone by. A position is *plain* when its denominator is a power of two.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.check.bar_lengths import BROKEN, Verdict
from rhythm.check.coverage import explains
from rhythm.check.survey import PartBar, SurveyedVoice
from rhythm.exact.values import is_power_of_two
from rhythm.score.bar_roles import Role
from rhythm.score.model import Piece

__all__ = ["is_plain", "lacking", "odd_ratio", "tuplet_run"]


def is_plain(position: mpq) -> bool:
    """Can halving notes reach this position?"""
    return is_power_of_two(int(position.denominator))


def _is_tuplet(piece: Piece) -> bool:
    actual, normal = piece.ratio
    if piece.tremolo and actual == 2 * normal:
        return False
    return actual != normal


def tuplet_run(
    columns: Sequence[Sequence[PartBar]],
    index: int,
    which: int,
    stretch: SurveyedVoice,
    verdict: Verdict,
) -> tuple[mpq, mpq] | None:
    """Where an incomplete run of a voice starts and ends in this bar, None where there is none.

    ``index`` is the bar, ``which`` the part. Where written values and durations contradict each
    other nothing is said. An upbeat may start midway, and its complement or the first half of a
    split bar may end so.
    """
    if not stretch.tuplets:
        return None
    slot, target = columns[index][which], verdict.targets[which]
    for remark in slot.bar.remarks:
        if not remark.settled and (
            remark.kind == "contradiction"
            or (remark.kind in BROKEN and explains(slot, target, remark) is not stretch)
        ):
            return None
    before = _neighbour(columns, index - 1, which, stretch.voice)
    after = _neighbour(columns, index + 1, which, stretch.voice)
    role = verdict.role
    if role.kind == "upbeat" and not (role.partners or slot.bar.implicit):
        # Most of a first bar is no upbeat that starts midway in a tuplet, but lacks a note of it.
        role = Role(role.kind, role.shift if 2 * verdict.common <= slot.metre else mpq(0))
    # A voice that stops where another goes on inside a tuplet leaves the rest of it to that one.
    leads = stretch.written == stretch.end and not any(
        piece.offset == stretch.end or piece.end == stretch.end
        for other in slot.voices.values()
        if other is not stretch
        for piece, _ in (*other.shown, *other.unseen)
    )
    return _broken_run(stretch, before, after, target, role, leads)


def lacking(stretch: SurveyedVoice, start: mpq, end: mpq) -> mpq:
    """The least that completes the run from ``start`` to ``end``: so many of its smallest notes."""
    run = [piece for piece, _ in stretch.shown if start <= piece.offset and piece.end <= end]
    unit = min(piece.duration for piece in run)
    most = max(piece.ratio[0] for piece in run)
    counts = (count for count in range(1, most) if is_plain(end - start + count * unit))
    return unit * next(counts, 1)


def odd_ratio(
    stretch: SurveyedVoice, start: mpq, end: mpq, target: mpq
) -> tuple[Piece, tuple[int, int], mpq] | None:
    """The one note of the run whose ratio is not that of all others, theirs, and what it adds.

    None where there is no such note, or the voice would not end at ``target`` with their ratio.
    """
    run = [piece for piece, _ in stretch.shown if start <= piece.offset and piece.end <= end]
    ratios = Counter(piece.ratio for piece in run).most_common()
    if len(ratios) != 2 or ratios[0][1] < 2 or ratios[1][1] != 1:
        return None
    (actual, normal), odd = ratios[0][0], ratios[1][0]
    piece = next(piece for piece in run if piece.ratio == odd)
    added = piece.duration * mpq(odd[0] * normal, odd[1] * actual) - piece.duration
    whole = is_plain(end + added) and stretch.end + added == target
    return (piece, (actual, normal), added) if whole else None


def _neighbour(
    columns: Sequence[Sequence[PartBar]], index: int, which: int, voice: str
) -> SurveyedVoice | None:
    """The same voice in another bar."""
    if 0 <= index < len(columns):
        return columns[index][which].voices.get(voice)
    return None


def _broken_run(
    stretch: SurveyedVoice,
    before: SurveyedVoice | None,
    after: SurveyedVoice | None,
    target: mpq,
    role: Role,
    leads: bool,
) -> tuple[mpq, mpq] | None:
    shift = role.shift
    pieces = [piece for piece, _ in stretch.shown]
    if all(is_plain(shift + piece.end) for piece in pieces):
        return None
    open_ended = role.kind in ("split", "complement")
    begin: mpq | None = None
    for index, piece in enumerate(pieces):
        if not _is_tuplet(piece):
            begin = None
            continue
        if begin is None:
            begin = piece.offset
        last = index + 1 == len(pieces)
        if is_plain(shift + piece.end):
            begin = None
            continue
        if not last and (_is_tuplet(pieces[index + 1]) or pieces[index + 1].offset != piece.end):
            continue
        if last and piece.end < target and not leads:
            continue
        if last and (
            (open_ended and piece.end == target)
            or (after is not None and is_plain(piece.end + _opening(after)))
        ):
            continue
        if not begin and before is not None and is_plain(piece.end + _closing(before)):
            continue
        return begin, piece.end
    return None


def _opening(stretch: SurveyedVoice) -> mpq:
    """How long the tuplet run at the start of a voice's bar is."""
    reached = mpq(0)
    for piece, _ in stretch.shown:
        if piece.offset != reached or not _is_tuplet(piece):
            break
        reached = piece.end
        if is_plain(reached):
            break
    return reached


def _closing(stretch: SurveyedVoice) -> mpq:
    """How long the run at the end of a voice's bar is, from the last plain position on."""
    end = stretch.end
    for piece, _ in reversed(stretch.shown):
        if not _is_tuplet(piece) or is_plain(end):
            break
        end = piece.offset
    return stretch.end - end
