"""Changes to XML that know what they change: durations, ties, bars, voices, parts.

Each takes the root and a source of chance and changes the tree in place.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from random import Random

from lxml import etree

__all__ = ["damage_tree"]

Element = etree._Element
Change = Callable[[Element, Random], None]

_NUMBERS = (
    "0", "1", "2", "3", "5", "7", "-1", "-480", "0.5", "1e9", "1e999", "nan", "inf", "", " 4 ",
    "+4", "4.000001", "16777216", "99999999999999999999", "1/3", "four", "²", "٣", "0x10",
    "1" * 4301,
)  # fmt: skip
_WORDS = (
    "start", "stop", "continue", "both", "yes", "no", "whole", "breve", "long", "maxima", "1024th",
    "eighth", "quarter", "G", "F", "percussion", "x", "", "é", "\u202e", "&amp;", "a\u0301",
    "<b>", "begin", "end", "up", "down", "none", "Z", "P1", "P2", "forward", "backward",
)  # fmt: skip
_TIMED = ("duration", "divisions", "beats", "beat-type", "actual-notes", "normal-notes", "voice")
_SNIPPETS = (
    "<note><rest/><duration>{n}</duration></note>",
    "<note><pitch><step>C</step><octave>4</octave></pitch><duration>{n}</duration></note>",
    "<note><chord/><pitch><step>E</step><octave>4</octave></pitch><duration>{n}</duration></note>",
    "<note><grace/><pitch><step>D</step><octave>5</octave></pitch><type>eighth</type></note>",
    "<note><cue/><pitch><step>F</step><octave>4</octave></pitch><duration>{n}</duration></note>",
    "<note print-object='no'><rest/><duration>{n}</duration><voice>2</voice></note>",
    "<backup><duration>{n}</duration></backup>",
    "<forward><duration>{n}</duration></forward>",
    "<attributes><divisions>{n}</divisions></attributes>",
    "<attributes><time><beats>{n}</beats><beat-type>8</beat-type></time></attributes>",
    "<attributes><time><senza-misura/></time></attributes>",
    "<attributes><staves>{n}</staves></attributes>",
    "<attributes><clef number='2'><sign>F</sign><line>4</line></clef></attributes>",
    "<attributes><transpose><chromatic>{n}</chromatic></transpose></attributes>",
    "<barline location='right'><repeat direction='backward' times='{n}'/></barline>",
    "<barline location='left'><repeat direction='forward'/></barline>",
    "<barline location='left'><ending number='{n}' type='start'/></barline>",
    "<direction><direction-type><dynamics><f/></dynamics></direction-type><offset>{n}</offset>"
    "</direction>",
    "<direction><direction-type><wedge type='crescendo'/></direction-type></direction>",
    "<sound tempo='{n}' dacapo='yes'/>",
    "<sound segno='a'/>",
    "<harmony><root><root-step>C</root-step></root><kind>major</kind><offset>{n}</offset></harmony>",
    "<print new-system='yes'/>",
    "<measure number='X1' implicit='yes'/>",
    "<tie type='start'/>",
    "<dot/>",
    "<beam number='1'>begin</beam>",
    "<notations><tied type='start'/><tuplet type='start'/><slur type='stop' number='{n}'/>"
    "</notations>",
    "<time-modification><actual-notes>{n}</actual-notes><normal-notes>2</normal-notes>"
    "</time-modification>",
    "<lyric number='{n}'><syllabic>single</syllabic><text>la</text></lyric>",
)  # fmt: skip


def damage_tree(root: Element, chance: Random) -> None:
    """One to five changes."""
    for _ in range(chance.choice((1, 1, 1, 2, 2, 3, 5))):
        chance.choices(_CHANGES, _WEIGHTS)[0](root, chance)


def _some(root: Element, chance: Random, *names: str) -> Element | None:
    found = [each for each in root.iter(*names) if isinstance(each.tag, str)]
    return chance.choice(found) if found else None


def _inner(root: Element, chance: Random) -> Element | None:
    found = [each for each in root.iter() if isinstance(each.tag, str) and each is not root]
    return chance.choice(found) if found else None


def _remove(root: Element, chance: Random) -> None:
    element = _inner(root, chance)
    if element is not None and (parent := element.getparent()) is not None:
        parent.remove(element)


def _double(root: Element, chance: Random) -> None:
    element = _inner(root, chance)
    if element is not None:
        element.addnext(deepcopy(element))


def _swap(root: Element, chance: Random) -> None:
    parent = _inner(root, chance)
    if parent is not None and len(parent) > 1:
        first, second = chance.sample(range(len(parent)), 2)
        one, other = parent[first], parent[second]
        parent[first], parent[second] = deepcopy(other), deepcopy(one)


def _transplant(root: Element, chance: Random) -> None:
    element, other = _inner(root, chance), _inner(root, chance)
    if element is not None and other is not None:
        other.append(deepcopy(element))


def _number(root: Element, chance: Random) -> None:
    element = _some(root, chance, chance.choice(_TIMED))
    if element is not None:
        element.text = chance.choice(_NUMBERS)


def _scale(root: Element, chance: Random) -> None:
    element = _some(root, chance, "duration", "divisions", "beats")
    if element is not None and (element.text or "").strip().isdigit():
        number = int((element.text or "").strip()[:12])
        element.text = str(chance.choice((number * 2, number // 2, number + 1, number * 3)))


def _text(root: Element, chance: Random) -> None:
    leaves = [e for e in root.iter() if isinstance(e.tag, str) and not len(e) and e.text]
    if leaves:
        chance.choice(leaves).text = chance.choice((*_NUMBERS, *_WORDS))


def _attribute(root: Element, chance: Random) -> None:
    found = [each for each in root.iter() if isinstance(each.tag, str) and each.attrib]
    if not found:
        return
    element = chance.choice(found)
    name = chance.choice(sorted(map(str, element.attrib)))
    if chance.random() < 0.3:
        del element.attrib[name]
    else:
        element.set(name, chance.choice((*_NUMBERS, *_WORDS)))


def _insert(root: Element, chance: Random) -> None:
    target = _some(root, chance, "measure", "measure", "note", "part", "attributes")
    if target is None:
        return
    number = chance.choice((*_NUMBERS[:6], "4", "8", "1000", "8191"))
    made = etree.fromstring(chance.choice(_SNIPPETS).format(n=number))
    inside = made.tag in ("tie", "dot", "beam", "notations", "time-modification", "lyric")
    if inside != (target.tag == "note") and chance.random() < 0.9:
        target = _some(root, chance, "note" if inside else "measure")
    if target is not None:
        target.insert(chance.randint(0, len(target)), made)


def _move_bar(root: Element, chance: Random) -> None:
    bar = _some(root, chance, "measure")
    part = _some(root, chance, "part")
    if bar is not None and part is not None and not any(each is part for each in bar.iter()):
        part.insert(chance.randint(0, len(part)), bar)


def _comment(root: Element, chance: Random) -> None:
    element = _inner(root, chance)
    if element is not None:
        made: Element = etree.Comment(" x ") if chance.random() < 0.5 else etree.PI("x", "y")
        made.tail, element.text = element.text, " "
        element.insert(0, made)


def _deepen(root: Element, chance: Random) -> None:
    element = _inner(root, chance)
    if element is not None:
        for _ in range(chance.choice((3, 60, 240))):
            element = etree.SubElement(
                element, chance.choice(("note", "notations", "measure", "x"))
            )


def _rename(root: Element, chance: Random) -> None:
    element, other = _inner(root, chance), _inner(root, chance)
    if element is not None and other is not None:
        element.tag = other.tag


def _many(root: Element, chance: Random) -> None:
    element = _some(root, chance, "note", "note", "direction", "measure", "backup", "beam")
    if element is not None:
        for _ in range(chance.choice((5, 30, 120))):
            element.addnext(deepcopy(element))


def _hollow(root: Element, chance: Random) -> None:
    element = _some(root, chance, "measure", "part", "note", "part-list", "attributes")
    if element is not None:
        for child in list(element):
            element.remove(child)


def _turn(root: Element, chance: Random) -> None:
    """Bars over parts where parts stood over bars."""
    if root.tag != "score-partwise":
        return
    parts = root.findall("part")
    bars: list[Element] = []
    for part in parts:
        for index, bar in enumerate(part.findall("measure")):
            while len(bars) <= index:
                bars.append(etree.Element("measure", number=bar.get("number") or "1"))
            inner = etree.SubElement(bars[index], "part", id=part.get("id") or "P1")
            inner.extend(list(bar))
        root.remove(part)
    root.tag = "score-timewise"
    root.extend(bars)


_TABLE: tuple[tuple[Change, int], ...] = (
    (_remove, 5), (_double, 4), (_swap, 4), (_transplant, 3), (_number, 7), (_scale, 7),
    (_text, 6), (_attribute, 5), (_insert, 8), (_move_bar, 2), (_comment, 2), (_deepen, 1),
    (_rename, 2), (_many, 2), (_hollow, 2), (_turn, 1),
)  # fmt: skip
_CHANGES = [change for change, _ in _TABLE]
_WEIGHTS = [weight for _, weight in _TABLE]
