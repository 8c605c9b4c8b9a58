"""Questions in plain words: ``how many sixteenths in a dotted half``, ``does 24*1/32 fit 3/4``.

A question is one of the forms in :data:`FORMS`; each names its parts, which are read as sums
(:mod:`rhythm.exact.expressions`) or signatures, and gives an :class:`Answer`: one sentence, and the
same as data. A sum with ``at 120`` behind it is answered in seconds as well. Text that has none of
the forms is no question and is left to be read as a sum.

Conventions
-----------
Lengths are ``gmpy2.mpq`` in whole notes, seconds ``mpq``. Where no beat is named, a tempo counts
the beats of the signature that is spoken of, and quarters where none is.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from rhythm.exact.errors import RequestError
from rhythm.exact.questions import lengths, tempi
from rhythm.exact.questions.answer import Answer
from rhythm.exact.wording import SIGNATURE, WORD, nearest

__all__ = ["FORMS", "ask"]

_IS = r"(?:is|are|was|were)"
_IN = r"(?:in|into|make up|make|makes|fill|fills|fit in|fit into|fit|go into|does it take to fill)"
_CLOCK = r"(?:an?|one|\S+) (?:minutes?|seconds?)"
_LAST = r"(?:last|lasts|take|takes|be)"


def _bars(metre: str | None, same: str | None, whole: str) -> Answer:
    return lengths.bars_in(metre or same or "", whole)


def _swapped(answer: Callable[[str, str], Answer]) -> Callable[[str, str], Answer]:
    """The same answer where the question names the second thing first."""
    return lambda second, first: answer(first, second)


_BARS_OF = rf"how many (?:bars of ({SIGNATURE}|c\|?)|({SIGNATURE}) bars)"
_LACKS = r"(?:missing|wanting|needed|lacking|left)"
_COUNTED = rf"(?:{WORD}[- ])*(?:{WORD}s|halves|notes)"
"""A value in the plural, as one names what is counted in: ``dotted quarters``."""
_SPOKEN = (
    (re.compile(r"\bmeasure(s?)\b"), r"bar\1"),
    (re.compile(r"\bcounts?\b(?= (?:does|do|is|are|in|per))"), "beats"),
    (
        re.compile(r"\bbeats? (?:are )?(?:there )?(?:per|to (?:the|a|each)) bar (?:of|in)\b"),
        "beats in",
    ),
)

FORMS: tuple[tuple[str, Callable[..., Answer]], ...] = (
    # tempo
    (rf"how many beats (?:are )?(?:there )?in ({_CLOCK}) at (.+)", tempi.beats_in_a_time),
    (rf"how many (.+?) (?:are )?(?:there )?in ({_CLOCK}) at (.+)", tempi.in_a_time),
    (r"how many seconds (?:are |is |does )?(?:there )?(?:in )?(.+?)(?: last| take)? at (.+)",
     tempi.lasts),
    (r"how many milliseconds (?:are |is |does )?(?:there )?(?:in )?(.+?)(?: last| take)? at (.+)",
     tempi.lasts_milliseconds),
    (rf"how long (?:{_IS}|does|do) (?:an?|one|the|each|every) beat(?: {_LAST})? at (.+)",
     tempi.one_beat),
    (rf"how long (?:{_IS}|does|do|will|would) (.+?)(?: {_LAST})? at (.+)", tempi.lasts),
    (rf"at (.+?),? how long (?:{_IS}|does|do|will|would) (.+?)(?: {_LAST})?",
     _swapped(tempi.lasts)),
    (rf"(?:if|when) (.+?) (?:=|{_IS}|equals) ([\d.]+),? (?:what|how much|how fast) {_IS} (.+)",
     tempi.tempo_of),
    (rf"(?:what {_IS} |what's )(?:the tempo of )?(.+?) (?:if|when) (.+?) (?:=|{_IS}|equals)"
     r" ([\d.]+)", lambda new, old, rate: tempi.tempo_of(old, rate, new)),
    (r"(?:what (?:is|are) the (?:new )?tempo )?(?:if|when) (.+?) (?:becomes|turns into|lasts as"
     r" long as) (.+?) at (?:a tempo of )?([\d.]+)", tempi.tempo_change),
    (r"(?:at )?(?:tempo )?([\d.]+),? (?:if |when |and )?(.+?) (?:becomes|turns into) (.+?)"
     r"(?:,? what is the (?:new )?tempo)?",
     lambda rate, old, new: tempi.tempo_change(old, new, rate)),
    (r"(.+?) (?:=|equals) ([\d.]+),? (?:what|how much|how fast) (?:is|are) (.+)", tempi.tempo_of),
    # how many
    (rf"how many bars (?:{_IS}|do|does|in) (.+?) (?:fill |make |take )?in ({SIGNATURE})",
     _swapped(lengths.bars_in)),
    (rf"{_BARS_OF} (?:{_IS} )?(?:there )?{_IN} (.+)", _bars),
    (rf"{_BARS_OF} (?:do|does) (.+?) (?:make|fill|need|take)", _bars),
    (rf"{_BARS_OF} {_IS} (.+)", _bars),
    (rf"how many beats {_IS} (.+?) in ({SIGNATURE})", lengths.beats_of),
    (rf"how many beats (?:does|do) (.+?) (?:get|have|last|take) in ({SIGNATURE})",
     lengths.beats_of),
    (rf"how many beats (?:{_IS}|does|do) (.+?)(?: get| have| last| take)?", lengths.beats_in),
    (rf"(?:what|which) (?:(?:kind of )?(?:note|value) )?(?:gets|has|is) (?:the|one|a) beat in"
     rf" ({SIGNATURE}|c\|?)", lengths.beat_in),
    (rf"what is (?:the|one|a) beat (?:in|of) ({SIGNATURE}|c\|?)", lengths.beat_in),
    (r"how many times (?:does|do) (.+?) (?:go|fit) (?:into|in) (.+)", lengths.how_many),
    (rf"how many (.+?) (?:{_IS} )?(?:there )?{_IN} (.+)", lengths.how_many),
    (r"how many (.+?) (?:does|do|has|have) (.+?) (?:have|hold|contain|last|need|take|make)",
     lengths.how_many),
    (r"how many (.+?) equal (.+)", lengths.how_many),
    (r"(?:which|what) (?:bars?|time signatures?|signatures?|metres?) (?:is|are|do|does|has|have)"
     r" (.+?)(?: fill| make| fit| in (?:a|the|each|one|every) bar)?", lengths.signatures),
    (r"(?:which|what) (?:bar|time signature|signature|metre) holds (.+)", lengths.signatures),
    (r"(?:which|what) bars of (.+) fill (.+)", _swapped(lengths.filled_by)),
    (r"(?:how|in what ways) (?:can|do|could) (.+) be filled with (.+)", lengths.filled_by),
    (rf"fill (.+) with (?:bars of )?({SIGNATURE}(?:(?:,| and| or) {SIGNATURE})*)",
     lengths.filled_by),
    # does it fit
    (r"can (?:i|you|we|one) (?:fit|put|get) (.+?) (?:into|in|inside) (.+)", lengths.fits),
    (r"(?:does|do|will|would|can) (.+?) fit (?:into |in |inside )?(.+)", lengths.fits),
    (r"(.+?) fits? (?:into |in |inside )(.+)", lengths.fits),
    (r"(?:does|do|will|would) (.+?) fill (?:up )?(.+)", lengths.fills),
    (r"(?:does|do) (.+?) (?:make|make up|complete) (.+)", lengths.fills),
    (rf"{_IS} (.+?) (?:enough for|enough to fill) (.+)", lengths.fills),
    # longer, the same
    (rf"{_IS} (.+?) (longer|shorter) than (.+)", lengths.is_longer),
    (rf"(?:which|what) {_IS} longer[,:]? (.+?) or (.+)", lengths.which_is_longer),
    (rf"{_IS} (.+?) (?:the same as|equal to|as long as) (.+)", lengths.same),
    (r"(?:does|do) (.+?) equal (.+)", lengths.same),
    (rf"(?:what {_IS} |what's )?the difference between (.+) and (.+)", lengths.difference),
    (r"how much (?:longer|shorter) is (.+) than (.+)", lengths.difference),
    # what is left
    (rf"(?:what|how much) (?:{_IS} )?(?:left|remains) (?:of|in) (.+?) after (.+)",
     _swapped(lengths.left)),
    (rf"(?:what|how much) {_IS} {_LACKS} (?:to|from) (?:fill |complete |make )?(.+?)"
     r" (?:after|with|when there (?:is|are)) (.+)", _swapped(lengths.left)),
    (rf"(?:what|how much) (?:{_IS} |do i )?(?:{_LACKS}|need) (?:after|with) (.+?)"
     r" (?:to fill|to complete|in|of|to make) (.+)", lengths.left),
    (r"(?:what|which) (?:rests?|notes?|value) (?:fills?|completes?|is (?:needed|missing) in) (.+?)"
     r" after (.+)", _swapped(lengths.left)),
    (r"how much (?:more )?(?:do (?:i|you|we) need|is needed) to (?:fill|complete|make) (.+?)"
     r" after (.+)", _swapped(lengths.left)),
    (r"what (?:does|do) (?:a|one|the|its) dots? (?:do|add) to (.+)", lengths.dotted),
    (r"(?:what|which) (?:part|fraction|share) of (.+?) is (.+)", _swapped(lengths.share)),
    (r"how much of (.+?) (?:is|does|do) (.+?)(?: fill| take)?", _swapped(lengths.share)),
    # tuplets
    (r"(?:what is |how long is )?(\S+) (?:notes? )?in the time of (\S+) (.+)",
     lengths.in_the_time_of),
    (r"(\S+) (.+?) in the time of (\S+)", lambda notes, unit, normal:
     lengths.in_the_time_of(notes, normal, unit)),
    (r"how (?:do i|do you|to|can i) write (\S+) (?:equal )?notes? (?:over|in|on|across) (.+)",
     lengths.spread),
    (r"(\S+) (?:equal )?notes? (?:over|across|on|in) (.+)", lengths.spread),
    (r"divide (.+) (?:into|in|by) (\S+)(?: equal)?(?: notes| parts)?", _swapped(lengths.spread)),
    # cycles
    (r"(?:when|where) (?:do|does|will) (.+?) (?:meet|coincide|line up)(?: again)?",
     lengths.meeting),
    (r"(?:when|where) (?:do|does|will) (.+?) (?:begin|start) together(?: again)?",
     lengths.meeting),
    # how long, and what it is
    (r"(.+) at ((?:.+=\s*)?[\d.]+(?:\s*(?:bpm|beats (?:a|per) minute))?)", tempi.lasts),
    (rf"(.+) in (?:bars of )?({SIGNATURE})", _swapped(lengths.bars_in)),
    (rf"(?:(?:what|how much) {_IS} |what's |express |write |give |convert |change |turn )?(.+?)"
     rf" (?:measured in|in|as|to|into|in terms of) ({_COUNTED})", lengths.measured_in),
    (rf"({_COUNTED}) in ((?:an?|one|the|\d+) .+|{SIGNATURE})", lengths.how_many),
    (rf"(?:what {_IS}|what's|what does|what value {_IS}|how long {_IS}|how much {_IS}|what note"
     rf" {_IS}|what do|how long does|how long do|name)"
     r" (.+?)(?: make| come to| add up to| equal| last| called)?", lengths.named_value),
)  # fmt: skip
"""The forms of questions, the more particular first: a pattern, and what answers it."""

_ASKS = tuple((re.compile(pattern), answer) for pattern, answer in FORMS)
_OPENERS = ("how", "what", "which", "does", "do", "is", "are", "will", "when", "where", "if",
            "fill", "divide", "many", "long", "much", "seconds", "bars", "beats", "bar", "beat",
            "fit", "fits", "longer", "shorter", "than", "into", "left", "after")  # fmt: skip
_ASKING = re.compile(r"\b(?:how|what|what's|which|does|do|is|are|will|when|where|why|who|can)\b")
_LONGEST = 500  # characters


def ask(text: str) -> Answer | None:
    """The answer to a question in words, or None where the text asks none (it may be a sum).

    Raises RequestError for a question that has none of the forms, or whose parts cannot be read;
    a misspelt word gets the nearest one.
    """
    if len(text) > _LONGEST:
        return None
    said = " ".join(text.strip().rstrip("?! ").lower().split())
    said = re.sub(r"(?<=[a-z0-9)])\.+$", "", said)  # a dot behind a note symbol is its dot
    said = re.sub(r"^(?:please |so |and )+|(?: please)$", "", said)
    for spoken, instead in _SPOKEN:
        said = spoken.sub(instead, said)
    problems: list[RequestError] = []
    for pattern, answer in _ASKS:
        found = pattern.fullmatch(said)
        if found is None:
            continue
        try:
            return answer(*found.groups())
        except RequestError as error:
            problems.append(error)
    if problems:
        raise problems[0]
    words = re.findall(r"[a-z']+", said)
    if text.rstrip().endswith("?") or _ASKING.match(said):
        raise RequestError(
            f"cannot answer {text.strip()[:60]!r}",
            legal=nearest(words[:1], _OPENERS)
            or "ask how many, how long at a tempo, does it fit, what is left, which is longer, or"
            " give a sum",
        )
    return None
