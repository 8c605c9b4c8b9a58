"""Which bar of one part goes with which bar of the others, where the parts do not agree.

Parts of one score have the same bars. Where one has a bar fewer or more, or numbers its bars
otherwise, all that follows would be held against the wrong neighbours and called wrong. So the
bars are aligned first, and what sets the part apart is said once: a bar is missing, a bar line is
missing or one too many, a bar has another number.

Conventions
-----------
The part that most others agree with is the *model*; its bars are the timeline. A part that
differs is aligned to it at the least cost: bars that hold other lengths, or other repeats and
signatures, cost; so does every bar that is left out, joined or divided. Printed numbers decide
unless the music plainly says otherwise (a program that lost a bar numbers the rest afresh).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from gmpy2 import mpq

from rhythm.check.survey import PartBar, SurveyedVoice
from rhythm.exact.frozen import dataclass
from rhythm.score.model import Part

__all__ = ["Misfit", "align", "align_to"]

ZERO = mpq(0)
_GAP, _LINE, _LENGTH, _SIGN, _NUMBER, _MUSIC = 4, 3, 2, 4, 8, 1
_MOST_APART = 48  # bars; what differs by more is no slip but another piece, or half of it
Alike = Callable[[PartBar, PartBar], bool]


@dataclass(frozen=True, slots=True)
class Misfit:
    """What sets a part apart from the others at one bar.

    ``kind`` is ``missing`` (the bar of column ``at`` is not there), ``surplus`` (a bar too many,
    behind it), ``joined`` (a bar line is missing ``offset`` after its start), ``divided`` (a bar
    line too many, there), or ``number`` (the bar is called otherwise than in the other parts).
    ``own`` is the index of the part's bar that the misfit is said at, ``sure`` whether anything in
    the part tells where it is, ``count`` how many bars in a row are missing.
    """

    kind: str
    which: int
    at: int
    own: int
    offset: mpq = ZERO
    sure: bool = True
    count: int = 1


def align(
    parts: Sequence[Sequence[PartBar]], owners: Sequence[Part]
) -> tuple[list[list[PartBar]], list[Misfit]]:
    """The bars of all ``owners`` by column, and what had to be done to bring them there."""
    numbers = [tuple(slot.bar.number for slot in part) for part in parts]
    if len(set(numbers)) <= 1:
        return [list(column) for column in zip(*parts, strict=True)], []
    model = parts[_model(parts, numbers)]
    own = tuple(slot.bar.number for slot in model)
    misfits: list[Misfit] = []
    laid: list[list[PartBar]] = []
    for which, part in enumerate(parts):
        if numbers[which] == own:
            laid.append(list(part))
        elif len(part) == len(model):
            laid.append(list(part))
            misfits += _misnumbered(which, part, model)
        else:
            laid.append(list(_lay(which, part, model, misfits, owners[which])))
    return [list(column) for column in zip(*laid, strict=True)], misfits


def align_to(
    model: Sequence[PartBar], part: Sequence[PartBar], owner: Part, alike: Alike
) -> tuple[list[PartBar], list[Misfit]]:
    """The bars of ``owner``, one for every bar of ``model``, and what had to be done for that.

    ``alike`` tells whether two bars hold the same music: both are of one instrument.
    """
    misfits: list[Misfit] = []
    if len(part) == len(model):
        return list(part), list(_misnumbered(1, part, model))
    return list(_lay(1, part, model, misfits, owner, alike)), misfits


def _model(parts: Sequence[Sequence[PartBar]], numbers: Sequence[tuple[str, ...]]) -> int:
    """The part whose bars most parts have; else the one with most bars that hold their metre."""
    counts = Counter(numbers)

    def weight(which: int) -> tuple[int, mpq, int, int]:
        part = parts[which]
        held = [slot for slot in part if slot.held is not None and slot.metre]
        right = sum(slot.held == slot.metre for slot in held)
        return counts[numbers[which]], mpq(right, max(len(held), 1)), len(part), -which

    return max(range(len(parts)), key=weight)


def _misnumbered(which: int, part: Sequence[PartBar], model: Sequence[PartBar]) -> Iterator[Misfit]:
    """One misfit for every run of bars that are called otherwise than in the model."""
    apart = False
    for at, (slot, other) in enumerate(zip(part, model, strict=True)):
        differs = slot.bar.number != other.bar.number
        if differs and not apart:
            yield Misfit("number", which, at, at)
        apart = differs


def _lay(
    which: int,
    part: Sequence[PartBar],
    model: Sequence[PartBar],
    misfits: list[Misfit],
    owner: Part,
    alike: Alike | None = None,
) -> Iterator[PartBar]:
    """The part's bars, one for every bar of the model."""
    if abs(len(part) - len(model)) > _MOST_APART:
        steps = _by_number(part, model)
    else:
        named, cost = _steps(part, model, _NUMBER, alike)
        free, other = _steps(part, model, 0, alike)
        steps = named if cost <= other + 1 else free
    own = at = 0
    for step in steps:
        if step == "match":
            yield part[own]
            own, at = own + 1, at + 1
        elif step == "missing":
            end = own == len(part)
            last = misfits[-1] if misfits else None
            if (
                last is not None
                and (last.kind, last.which) == (step, which)
                and (last.at + last.count == at)
            ):
                misfits[-1] = replace(last, count=last.count + 1)
            else:
                misfits.append(Misfit(step, which, at, max(own - 1, 0), sure=not end))
            yield PartBar(owner, model[at].bar, absent=True, missing=True)
            at += 1
        elif step == "surplus":
            misfits.append(Misfit(step, which, max(at - 1, 0), own))
            own += 1
        elif step == "joined":
            border = model[at].metre
            misfits.append(Misfit(step, which, at, own, border))
            yield from _cut(part[own], border, model[at + 1])
            own, at = own + 1, at + 2
        else:
            first, second = part[own], part[own + 1]
            border = first.held or ZERO
            misfits.append(Misfit(step, which, at, own, border))
            yield _joined(first, second, border)
            own, at = own + 2, at + 1


def _by_number(part: Sequence[PartBar], model: Sequence[PartBar]) -> list[str]:
    """The way through parts of which one lacks whole pages: where the printed numbers lead."""
    ahead = Counter(slot.bar.number for slot in part)
    steps: list[str] = []
    own = at = 0
    while own < len(part) and at < len(model):
        number, other = part[own].bar.number, model[at].bar.number
        step = "match"
        if number != other and len(part) < len(model) and not ahead[other]:
            step = "missing"
        elif number != other and len(part) > len(model):
            step = "surplus"
        steps.append(step)
        if step != "missing":
            ahead[number] -= 1
        own, at = own + (step != "missing"), at + (step != "surplus")
    return [*steps, *["surplus"] * (len(part) - own), *["missing"] * (len(model) - at)]


def _steps(
    part: Sequence[PartBar], model: Sequence[PartBar], number: int, alike: Alike | None
) -> tuple[list[str], int]:
    """The cheapest way through both, and what it costs without its numbers."""
    width = abs(len(part) - len(model)) + 3
    best: dict[tuple[int, int], tuple[int, int, str, tuple[int, int]]] = {
        (0, 0): (0, 0, "", (0, 0))
    }

    def offer(
        there: tuple[int, int], here: tuple[int, int], step: str, cost: int, names: int
    ) -> None:
        so_far = best[here]
        total = so_far[0] + cost + names
        known = best.get(there)
        if known is None or total < known[0]:
            best[there] = (total, so_far[1] + cost, step, here)

    for at in range(len(model) + 1):
        for own in range(max(0, at - width), min(len(part), at + width) + 1):
            here = (at, own)
            if here not in best:
                continue
            if at < len(model) and own < len(part):
                slot, other = part[own], model[at]
                names = number * (slot.bar.number != other.bar.number)
                cost = _differ(slot, other)
                cost += _MUSIC * (alike is not None and not alike(slot, other))
                offer((at + 1, own + 1), here, "match", cost, names)
                if at + 1 < len(model) and _is_joined(slot, other, model[at + 1]):
                    offer((at + 2, own + 1), here, "joined", _LINE, names)
                if own + 1 < len(part) and _is_divided(slot, part[own + 1], other):
                    offer((at + 1, own + 2), here, "divided", _LINE, names)
            if at < len(model):
                offer((at + 1, own), here, "missing", _GAP, 0)
            if own < len(part):
                offer((at, own + 1), here, "surplus", _GAP, 0)
    place = (len(model), len(part))
    cost = best[place][1]
    steps: list[str] = []
    while place != (0, 0):
        steps.append(best[place][2])
        place = best[place][3]
    return steps[::-1], cost


def _differ(slot: PartBar, other: PartBar) -> int:
    held, length = slot.held, other.held
    cost = _LENGTH * (held is not None and length is not None and held != length)
    cost += _SIGN * (slot.bar.shows_metre != other.bar.shows_metre)
    return cost + _SIGN * (_signs(slot) != _signs(other))


def _signs(slot: PartBar) -> tuple[str, ...]:
    left, right = slot.bar.left, slot.bar.right
    return (
        left.repeat if left else "",
        left.ending if left else "",
        right.repeat if right else "",
        right.ending if right else "",
    )


def _is_joined(slot: PartBar, first: PartBar, second: PartBar) -> bool:
    """Does this bar hold two of the model's, with no note over the border?"""
    if slot.held is None or not first.metre or slot.held != first.metre + second.metre:
        return False
    return not any(
        piece.offset < first.metre < piece.end
        for stretch in slot.voices.values()
        for piece, event in stretch.shown
        if not event.is_rest
    )


def _is_divided(first: PartBar, second: PartBar, other: PartBar) -> bool:
    """Do these two short bars make the model's one?"""
    if first.held is None or second.held is None or not other.metre:
        return False
    return first.held < other.metre and first.held + second.held == other.metre


def _cut(slot: PartBar, border: mpq, second: PartBar) -> tuple[PartBar, PartBar]:
    """A bar in which a bar line is missing as the two bars it should be."""
    halves = (PartBar(slot.part, slot.bar), PartBar(slot.part, second.bar))
    for name, stretch in slot.voices.items():
        for seen, entries in ((True, stretch.shown), (False, stretch.unseen)):
            for piece, event in entries:
                late = piece.offset >= border
                half = halves[late].voices.setdefault(name, SurveyedVoice(name))
                half.tuplets = half.tuplets or stretch.tuplets
                moved = replace(piece, offset=piece.offset - border) if late else piece
                (half.shown if seen else half.unseen).append((moved, event))
    for made in halves:
        made.bar = made.bar.replace(remarks=())
        made.settle()
    return halves


def _joined(first: PartBar, second: PartBar, border: mpq) -> PartBar:
    """Two bars between which there is a bar line too many as the one they should be."""
    whole = PartBar(first.part, first.bar)
    for half, by in ((first, ZERO), (second, border)):
        for name, stretch in half.voices.items():
            one = whole.voices.setdefault(name, SurveyedVoice(name))
            one.tuplets = one.tuplets or stretch.tuplets
            one.shown += [(replace(p, offset=p.offset + by), e) for p, e in stretch.shown]
            one.unseen += [(replace(p, offset=p.offset + by), e) for p, e in stretch.unseen]
    whole.settle()
    return whole
