"""Mending bars that do not add up: the signature follows the content, or rests fill what lacks.

Every bar gets the length it shall have; then rests at the end of overfull voices are taken back,
holes are filled, the bars after it moved, and signatures written where they change. Rests may be
added, shortened and taken away; notes never.
"""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.check.bar_lengths import Verdict, is_cadenza, judge_lengths
from rhythm.check.coverage import holes_of
from rhythm.check.editor import Draft, whole_bar
from rhythm.check.phrasing import a_value
from rhythm.check.survey import PartBar, SurveyedVoice
from rhythm.exact.errors import MusicError, Place
from rhythm.exact.metre import Metre
from rhythm.exact.metre_of_length import simplest_metre
from rhythm.notate.metric_grid import bar_grid
from rhythm.notate.rests import fill_rest
from rhythm.score.model import Event, Note, Piece, Score

__all__ = ["mend_lengths"]

ZERO = mpq(0)


def mend_lengths(score: Score, how: str) -> Score:
    """``score`` in which every bar and voice adds up, as far as ``how`` can bring that about."""
    job = _Job(score, how)
    for index, verdict in enumerate(job.verdicts):
        job.mend_bar(index, verdict)
    job.show_metres()
    job.draft.resize(job.lengths)
    return job.draft.done()


class _Job:
    """One mending: what every bar shall last and which metre it shall have."""

    def __init__(self, score: Score, how: str) -> None:
        self.draft = Draft.of(score)
        self.how = how
        self.columns = self.draft.columns
        self.verdicts = judge_lengths(self.columns)
        self.lengths: dict[int, mpq] = {}
        self.metres: dict[int, Metre] = {}

    def _place(self, index: int, slot: PartBar, voice: str = "") -> Place:
        return Place(self.draft.score.path, slot.part.id, slot.bar.number, voice)

    def mend_bar(self, index: int, verdict: Verdict) -> None:
        """Settle the length of a bar, and make every part hold it."""
        column = self.columns[index]
        kind = verdict.role.kind
        odd = kind in ("short", "long") and not is_cadenza(self.verdicts, self.columns, index)
        targets = list(verdict.targets)
        if odd and self.how == "rests":
            targets = [slot.metre for slot in column]
        overfull, changed = self._take_back(index, targets)
        if overfull and self.how == "rests":
            which, stretch = overfull[0]
            over = a_value(stretch.end - targets[which])
            raise MusicError(
                f"{over} too long for {column[which].bar.metre}, and rests cannot shorten it",
                place=self._place(index, column[which], stretch.voice),
                legal="let the signature follow the content, or shorten it by hand",
            )
        if overfull:
            longest = max(stretch.end for _, stretch in overfull)
            targets = [max(target, longest) for target in targets]
        changed |= targets != list(verdict.targets)
        for which, slot in enumerate(column):
            changed |= self._fill(index, which, slot, targets[which])
        if changed:
            self.lengths[index] = max(targets)
        if self.how == "metre" and (overfull or odd):
            self._follow(index, column[0], max(targets))

    def _follow(self, index: int, slot: PartBar, length: mpq) -> None:
        """Let the signature say what the bar holds."""
        if length == slot.metre:
            return
        metre = simplest_metre(length, slot.bar.metre)
        if metre is None:
            raise MusicError(
                f"no signature holds {length} of a whole note",
                place=self._place(index, slot),
                legal="fill it with rests, or correct it by hand",
            )
        self.metres[index] = metre

    def _take_back(
        self, index: int, targets: Sequence[mpq]
    ) -> tuple[list[tuple[int, SurveyedVoice]], bool]:
        """Shorten the rests that run past the end; return the voices that still do, and if any."""
        left: list[tuple[int, SurveyedVoice]] = []
        shortened = False
        for which, slot in enumerate(self.columns[index]):
            for stretch in slot.voices.values():
                target = targets[which]
                if stretch.elastic or stretch.end <= target + slot.slack:
                    continue
                beyond = [event for piece, event in stretch.shown if piece.end > target]
                if all(event.is_rest and event.bar == index for event in beyond):
                    self._shorten(index, which, stretch.voice, beyond, target)
                    shortened = True
                else:
                    left.append((which, stretch))
        return left, shortened

    def _shorten(
        self, index: int, which: int, voice: str, beyond: Sequence[Event], target: mpq
    ) -> None:
        bar = self.draft.bars[which][index]
        end = bar.start + target
        gone = {id(event) for event in beyond}
        kept: list[Event] = []
        for event in self.draft.voices[which][voice]:
            if id(event) not in gone:
                kept.append(event)
            elif event.onset < end:
                left = end - event.onset
                whole = left == target
                made = self._rests(index, which, event.onset - bar.start, target, event.notes)
                kept += [whole_bar(event, index, left)] if whole else made
        self.draft.voices[which][voice] = kept
        self.draft.touch(which, [index])

    def _fill(self, index: int, which: int, slot: PartBar, target: mpq) -> bool:
        """Rests where nothing stands, except where a forward passes over the hole on purpose."""
        stretches = [each for each in slot.voices.values() if each.shown or each.unseen]
        if slot.absent or slot.elastic or not any(each.shown for each in stretches):
            return False
        filled = False
        for start, end in holes_of(stretches, target):
            if end < target or slot.reached >= end or end - start <= slot.slack:
                continue
            self._fill_hole(index, which, stretches, start, end)
            filled = True
        return filled

    def _fill_hole(
        self, index: int, which: int, stretches: Sequence[SurveyedVoice], start: mpq, end: mpq
    ) -> None:
        """Rests at the end of the voice that stops where the hole begins."""
        owner = next(
            (e for e in stretches if any(piece.end == start for piece, _ in e.shown)),
            next(e for e in stretches if e.shown),
        )
        last = owner.shown[-1][1]
        tied = any(note.tie_out for note in last.notes)
        if tied or (last.pieces and last.pieces[-1].bar > index):
            raise MusicError(
                "the note at its end is tied on, so no rest can stand after it",
                place=self._place(index, self.columns[index][which], owner.voice),
                legal="let the signature follow the content, or correct it by hand"
                if self.how == "rests"
                else "shorten the other parts or lengthen this one by hand",
            )
        rests = self._rests(index, which, start, end, last.notes)
        events = self.draft.voices[which][owner.voice]
        at = max(i for i, event in enumerate(events) if event.bar <= index) + 1
        events[at:at] = rests
        self.draft.touch(which, [index])

    def _rests(
        self, index: int, which: int, start: mpq, end: mpq, like: Sequence[Note]
    ) -> list[Event]:
        """Rest events from ``start`` to ``end`` of a bar, on the staff of the notes given."""
        bar = self.draft.bars[which][index]
        note = Note("rest", staff=like[0].staff if like else "")
        metre = self.metres.get(index, bar.metre)
        symbols = fill_rest(bar_grid(metre, max(bar.length, end), bar.shift), start, end)
        if sum((each.end - each.start for each in symbols), ZERO) != end - start:
            self.draft.respell(which, index)
            return [Event(bar.start + start, end - start, index, (note,))]
        return [
            Event(
                bar.start + each.start,
                each.end - each.start,
                index,
                (note,),
                (Piece(index, each.start, each.end - each.start, each.type, each.dots),),
            )
            for each in symbols
        ]

    def show_metres(self) -> None:
        """Write the new signatures where they begin, and the old one again after them."""
        if not self.metres:
            return
        for which, bars in enumerate(self.draft.bars):
            old = [bar.metre for bar in bars]
            new = [self.metres.get(index, metre) for index, metre in enumerate(old)]
            for index, bar in enumerate(bars):
                turns = index > 0 and new[index] != new[index - 1]
                shows = bar.shows_metre or (turns and index - 1 in self.metres)
                shows = shows or (index in self.metres and (turns or not index))
                if index in self.metres or shows != bar.shows_metre:
                    bars[index] = bar.replace(metre=new[index], shows_metre=shows)
                    self.draft.touch(which, [index])
