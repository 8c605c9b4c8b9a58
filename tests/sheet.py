"""MusicXML for tests, bar by bar, close to the file: ``bar("q e e <480 v2 h")``.

A token is a note: an optional pitch (``G``, ``G5``; else C4), a value (``b w h q e s t x`` for
breve to 64th), dots, a ratio (``e:3/2``) and flags: ``~`` tie start, ``_`` tie stop, ``!`` hidden,
``?`` cue, ``+`` chord member, ``[`` and ``]`` tuplet start and stop, ``=n`` ticks other than the
value's. ``r`` before it makes a rest; ``r=n`` is a rest without a type, ``n=n`` a note without one,
``R`` a whole-bar rest that says so. ``<n`` is a backup, ``>n`` a forward, ``v2`` goes on in voice 2
(``v`` in none), ``st2`` on staff 2, ``d960`` changes the divisions (480 at first), ``g`` is a
grace note.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from gmpy2 import mpq

from rhythm.exact.values import symbol_value
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.score.model import Score

TYPES = {
    "b": "breve", "w": "whole", "h": "half", "q": "quarter", "e": "eighth", "s": "16th",
    "t": "32nd", "x": "64th",
}  # fmt: skip
BARLINES = {
    "|:": '<bar-style>heavy-light</bar-style><repeat direction="forward"/>',
    ":|": '<bar-style>light-heavy</bar-style><repeat direction="backward"/>',
    "||": "<bar-style>light-light</bar-style>",
    "|]": "<bar-style>light-heavy</bar-style>",
}
TOKEN = re.compile(
    r"(?P<rest>r)?(?P<pitch>[A-G][#b]?\d?)?(?P<type>[bwhqestx]|n)?(?P<dots>\.*)"
    r"(?::(?P<ratio>\d+/\d+))?(?P<flags>[~_!?+\[\]]*)(?:=(?P<ticks>-?\d+))?(?P<tremolo>%)?"
)


@dataclass(frozen=True)
class Bar:
    """One bar of one part as text, and what stands at its edges."""

    text: str
    time: str = ""
    number: str = ""
    implicit: bool = False
    left: str = ""
    right: str = ""
    ending: str = ""


def bar(text, time="", **about):
    return Bar(text, time, **about)


def sheet(*parts, time="4/4", divisions=480) -> Score:
    """Read a score; each part is a list of bars or of their texts. One part may be given flat."""
    return read(source(*parts, time=time, divisions=divisions), "sheet")


def source(*parts, time="4/4", divisions=480) -> bytes:
    if not isinstance(parts[0], list):
        parts = (list(parts),)
    listed = "".join(
        f'<score-part id="P{i}"><part-name>Part {i}</part-name></score-part>'
        for i in range(1, len(parts) + 1)
    )
    made = "".join(
        f'<part id="P{i}">{_part(bars, time, divisions)}</part>' for i, bars in enumerate(parts, 1)
    )
    return (
        f'<score-partwise version="4.0"><part-list>{listed}</part-list>{made}</score-partwise>'
    ).encode()


def _part(bars, time, divisions):
    writer = _Writer(divisions)
    made = []
    for index, each in enumerate(bars):
        each = Bar(each) if isinstance(each, str) else each
        shown = each.time or (time if index == 0 else "")
        made.append(writer.bar(each, each.number or str(index + 1), shown, index == 0))
    return "".join(made)


class _Writer:
    def __init__(self, divisions):
        self.divisions = divisions
        self.voice = "1"
        self.staff = ""

    def bar(self, each, number, time, first):
        self.voice, self.staff = "1", ""
        head = f"<divisions>{self.divisions}</divisions>" if first and self.divisions else ""
        if time:
            pairs = [term.split("/") for term in re.findall(r"\d+(?:\+\d+)*/\d+", time)]
            inner = "".join(
                f"<beats>{beats}</beats><beat-type>{unit}</beat-type>" for beats, unit in pairs
            )
            if time == "senza":
                inner = "<senza-misura/>"
            head += f"<time>{inner}</time>"
        head = f"<attributes>{head}</attributes>" if head else ""
        body = "".join(self.token(token) for token in each.text.split())
        implicit = ' implicit="yes"' if each.implicit else ""
        left = _barline("left", each.left, each.ending, "start")
        right = _barline("right", each.right, each.ending, "stop")
        return f'<measure number="{number}"{implicit}>{left}{head}{body}{right}</measure>'

    def token(self, token):
        if token[0] in "<>":
            tag = "backup" if token[0] == "<" else "forward"
            return f"<{tag}><duration>{token[1:]}</duration></{tag}>"
        if token.startswith("st"):
            self.staff = token[2:]
            return ""
        if token[0] == "v":
            self.voice = token[1:]
            return ""
        if token[0] == "d" and token[1:].isdigit():
            self.divisions = int(token[1:])
            return f"<attributes><divisions>{token[1:]}</divisions></attributes>"
        if token == "g":
            return self._note("<grace/>", "", "<type>eighth</type>", "")
        if token == "R":
            ticks = f"<duration>{4 * self.divisions}</duration>"
            return self._note("", "", "", ticks, rest='<rest measure="yes"/>')
        return self._value(TOKEN.fullmatch(token), token)

    def _value(self, found, token):
        assert found is not None, token
        flags, type = found["flags"], TYPES.get(found["type"] or "", "")
        actual, normal = map(int, (found["ratio"] or "1/1").split("/"))
        ticks = found["ticks"]
        if ticks is None and self.divisions:
            value = symbol_value(type, len(found["dots"])) * mpq(normal, actual)
            value = value / 2 if found["tremolo"] else value
            ticks = value * 4 * self.divisions
            assert ticks.denominator == 1, token
        shown = f"<type>{type}</type>" + "<dot/>" * len(found["dots"]) if type else ""
        if found["tremolo"]:
            actual *= 2
        if (actual, normal) != (1, 1):
            shown += (
                f"<time-modification><actual-notes>{actual}</actual-notes>"
                f"<normal-notes>{normal}</normal-notes></time-modification>"
            )
        ties = {"_": "stop", "~": "start"}
        tie = "".join(f'<tie type="{word}"/>' for sign, word in ties.items() if sign in flags)
        marks = "".join(f'<tied type="{word}"/>' for sign, word in ties.items() if sign in flags)
        marks += "".join(
            f'<tuplet type="{word}"/>'
            for sign, word in {"[": "start", "]": "stop"}.items()
            if sign in flags
        )
        duration = f"<duration>{ticks}</duration>{tie}" if ticks is not None else tie
        head = "<cue/>" if "?" in flags else ""
        head += "<chord/>" if "+" in flags else ""
        pitch = found["pitch"] or "C4"
        rest = "<rest/>" if found["rest"] else ""
        hidden = ' print-object="no"' if "!" in flags else ""
        notations = f"<notations>{marks}</notations>" if marks else ""
        return self._note(
            head, pitch, shown, duration, rest=rest, hidden=hidden, notations=notations
        )

    def _note(self, head, pitch, shown, duration, *, rest="", hidden="", notations=""):
        if not rest:
            found = re.fullmatch(r"([A-G])([#b])?(\d)?", pitch or "C4")
            alter = {"#": "<alter>1</alter>", "b": "<alter>-1</alter>"}.get(found[2], "")
            octave = found[3] or "4"
            rest = f"<pitch><step>{found[1]}</step>{alter}<octave>{octave}</octave></pitch>"
        voice = f"<voice>{self.voice}</voice>" if self.voice else ""
        staff = f"<staff>{self.staff}</staff>" if self.staff else ""
        return f"<note{hidden}>{head}{rest}{duration}{voice}{shown}{staff}{notations}</note>"


def _barline(location, sign, ending, type):
    inner = BARLINES.get(sign, "")
    if ending and (sign or type == "start"):
        style, _, repeat = inner.partition("<repeat")
        mark = f'<ending number="{ending}" type="{type}"/>'
        inner = style + mark + ("<repeat" + repeat if repeat else "")
    return f'<barline location="{location}">{inner}</barline>' if inner else ""


def faults(ledger) -> list[tuple[str, str, str]]:
    """The faults as (bar, voice, kind)."""
    return [(each.number, each.voice, each.kind) for each in ledger.faults]


def remarks(ledger) -> list[tuple[str, str, str]]:
    """The remarks as (bar, voice, kind)."""
    return [(each.number, each.voice, each.kind) for each in ledger.remarks]
