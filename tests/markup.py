"""Small MusicXML files for tests, written as text.

``partwise("<note>...", ...)`` makes one part, one string a bar; ``note("C4", 4, "quarter")`` one
note. Everything a helper does not say is said by the literal markup around it.
"""

from __future__ import annotations

__all__ = ["attributes", "backup", "forward", "head", "note", "parts", "partwise"]


def note(
    pitch: str,
    duration: int | str = "",
    type: str = "",
    *,
    dots: int = 0,
    ratio: str = "",
    voice: str = "1",
    staff: str = "",
    before: str = "",
    after: str = "",
    ties: str = "",
    inside: str = "",
    beams: str = "",
    attributes: str = "",
) -> str:
    """A note. ``pitch`` is C4, F#5, Bb3, ``rest``, ``bar`` (a whole-bar rest) or ``x`` (unpitched).

    ``ratio`` is 3:2; ``ties`` start, stop or both; ``inside`` stands in its notations, ``before``
    ahead of the pitch (chord, grace, cue) and ``after`` behind everything (lyrics).
    """
    if pitch == "rest":
        sound = "<rest/>"
    elif pitch == "bar":
        sound = '<rest measure="yes"/>'
    elif pitch == "x":
        sound = "<unpitched/>"
    else:
        step, accidental, octave = pitch[0], pitch[1:-1], pitch[-1]
        alter = f"<alter>{accidental.count('#') - accidental.count('b')}</alter>"
        sound = f"<pitch><step>{step}</step>{alter if accidental else ''}"
        sound += f"<octave>{octave}</octave></pitch>"
    kinds = [kind for kind in ("stop", "start") if kind in ties]
    inner = "".join(f'<tied type="{kind}"/>' for kind in kinds) + inside
    actual, _, normal = ratio.partition(":")
    modified = (
        f"<time-modification><actual-notes>{actual}</actual-notes>"
        f"<normal-notes>{normal}</normal-notes></time-modification>"
    )
    return "".join(
        (
            f"<note{' ' + attributes if attributes else ''}>{before}{sound}",
            f"<duration>{duration}</duration>" if duration != "" else "",
            "".join(f'<tie type="{kind}"/>' for kind in kinds),
            f"<voice>{voice}</voice>" if voice else "",
            f"<type>{type}</type>" if type else "",
            "<dot/>" * dots,
            modified if ratio else "",
            f"<staff>{staff}</staff>" if staff else "",
            "".join(
                f'<beam number="{level}">{word}</beam>'
                for level, word in enumerate(filter(None, beams.split(",")), 1)
            ),
            f"<notations>{inner}</notations>" if inner else "",
            f"{after}</note>",
        )
    )


def backup(ticks: int) -> str:
    """A backup."""
    return f"<backup><duration>{ticks}</duration></backup>"


def forward(ticks: int) -> str:
    """A forward."""
    return f"<forward><duration>{ticks}</duration></forward>"


def attributes(time: str = "4/4", divisions: int | str = 4) -> str:
    """An ``attributes`` with divisions and a plain signature; either may be left out as ""."""
    beats, _, unit = time.partition("/")
    return (
        "<attributes>"
        + (f"<divisions>{divisions}</divisions>" if divisions != "" else "")
        + (f"<time><beats>{beats}</beats><beat-type>{unit}</beat-type></time>" if time else "")
        + "</attributes>"
    )


def head(*ids: str) -> str:
    """A part list."""
    listed = "".join(
        f'<score-part id="{id}"><part-name>{id}</part-name></score-part>' for id in ids
    )
    return f"<part-list>{listed}</part-list>"


def partwise(*bars: str, divisions: int | str = 4, time: str = "4/4") -> bytes:
    """A score of one part. A bar that starts with ``<measure`` is taken as it stands."""
    return parts(bars, divisions=divisions, time=time)


def parts(*contents: tuple[str, ...], divisions: int | str = 4, time: str = "4/4") -> bytes:
    """A score of several parts, each a tuple of bars."""
    ids = [f"P{number}" for number in range(1, len(contents) + 1)]
    made = []
    for id, bars in zip(ids, contents, strict=True):
        first = attributes(time, divisions) if time or divisions != "" else ""
        measures = []
        for number, bar in enumerate(bars, 1):
            if bar.startswith("<measure"):
                opening, _, rest = bar.partition(">")
                measures.append(f"{opening}>{first}{rest}")
            else:
                measures.append(f'<measure number="{number}">{first}{bar}</measure>')
            first = ""
        made.append(f'<part id="{id}">{"".join(measures)}</part>')
    return f'<score-partwise version="4.0">{head(*ids)}{"".join(made)}</score-partwise>'.encode()
