"""Scores small enough to play by hand, and MIDI files as mido finds them."""

import io
from collections import defaultdict
from fractions import Fraction

import mido

from rhythm import read

TIME = "<time><beats>4</beats><beat-type>4</beat-type></time>"
ACCENT = "<notations><articulations><accent/></articulations></notations>"
STACCATO = "<notations><articulations><staccato/></articulations></notations>"
GRACE = (
    "<note><grace/><pitch><step>B</step><octave>4</octave></pitch><voice>1</voice>"
    "<type>eighth</type></note>"
)


def note(step, quarters=1, inside="", voice=1, what="pitch"):
    """A note of the octave of middle C; an unpitched one in the octave above."""
    place = (
        f"<pitch><step>{step}</step><octave>4</octave></pitch>"
        if what == "pitch"
        else f"<unpitched><display-step>{step[0]}</display-step>"
        f"<display-octave>{step[1]}</display-octave></unpitched>"
    )
    kind = {1: "quarter", 2: "half", 4: "whole"}[quarters]
    before, after = (inside, "") if inside.startswith("<instrument") else ("", inside)
    return (
        f"<note>{place}<duration>{quarters}</duration>{before}<voice>{voice}</voice>"
        f"<type>{kind}</type>{after}</note>"
    )


def direction(kind, sound=""):
    return f"<direction><direction-type>{kind}</direction-type>{sound}</direction>"


def score(*parts, head=""):
    """A score of parts, each (what lists it, its bars)."""
    listed = "".join(
        f'<score-part id="P{n}"><part-name>Part {n}</part-name>{told}</score-part>'
        for n, (told, _) in enumerate(parts, start=1)
    )
    music = ""
    for n, (_, bars) in enumerate(parts, start=1):
        inside = "".join(
            f'<measure number="{number}">'
            + (f"<attributes><divisions>1</divisions>{head or TIME}</attributes>" * (number == 1))
            + f"{bar}</measure>"
            for number, bar in enumerate(bars, start=1)
        )
        music += f'<part id="P{n}">{inside}</part>'
    return read(
        f'<score-partwise version="4.0"><part-list>{listed}</part-list>{music}'
        "</score-partwise>".encode()
    )


def tune(*bars, head=""):
    return score(("", bars), head=head)


def opened(data):
    return mido.MidiFile(file=io.BytesIO(data), charset="utf-8")


def timed(file):
    """(track, quarters from the start, message) of all messages."""
    for number, track in enumerate(file.tracks):
        now = 0
        for message in track:
            now += message.time
            yield number, Fraction(now, file.ticks_per_beat), message


def heard(data, drums=False):
    """(start, end, key, velocity) of all that sounds, in quarters; none is let go by another."""
    down, found, ports = {}, [], defaultdict(int)
    file = opened(data)
    everything = sorted(timed(file), key=lambda each: (each[1], each[2].type == "note_on"))
    for track, _, message in timed(file):
        if message.type == "midi_port":
            ports[track] = message.port
    for track, now, message in everything:
        if message.type not in ("note_on", "note_off") or (message.channel == 9) != drums:
            continue
        place = ports[track], message.channel, message.note
        if message.type == "note_on":
            assert place not in down, "a key is struck that is still down"
            down[place] = now, message.velocity
        else:
            start, velocity = down.pop(place)
            found.append((start, now, message.note, velocity))
    assert not down
    return sorted(found)


def metas(data, kind):
    return [(now, message) for _, now, message in timed(opened(data)) if message.type == kind]
