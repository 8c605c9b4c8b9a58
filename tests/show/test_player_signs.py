"""Ornaments, fermatas, pedal, pizzicato and swing: a small score, its MIDI file, read with mido."""

import warnings
from fractions import Fraction

import mido
import pytest
from gmpy2 import mpq

import rhythm
from rhythm import read
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.show.sound import sound
from tests.midi_files import direction, heard, metas, note, opened, score, timed, tune

QUARTER = Fraction(1)
TREMOLO = '<notations><ornaments><tremolo type="{}">{}</tremolo></ornaments></notations>'
FERMATA = "<notations><fermata/></notations>"
G_MAJOR = "<key><fifths>1</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time>"


def ornament(name, beside="", **says):
    told = "".join(f' {key.replace("_", "-")}="{value}"' for key, value in says.items())
    return f"<notations><ornaments><{name}{told}/>{beside}</ornaments></notations>"


def struck(piece):
    """(start, end, key) in quarters."""
    return [each[:3] for each in heard(rhythm.midi(piece))]


def at_sixty():
    """A sixteenth is 250 ms there, so that the notes of ornaments are thirty-seconds."""
    return direction("<words>x</words>", '<sound tempo="60"/>')


E = Fraction(1, 8)


@pytest.mark.parametrize(
    "sign, found",
    [
        ("mordent", [(0, E, 67), (E, 2 * E, 66), (2 * E, 2, 67)]),
        ("inverted-mordent", [(0, E, 67), (E, 2 * E, 69), (2 * E, 2, 67)]),
        ("turn", [(0, E, 69), (E, 2 * E, 67), (2 * E, 3 * E, 66), (3 * E, 2, 67)]),
        ("inverted-turn", [(0, E, 66), (E, 2 * E, 67), (2 * E, 3 * E, 69), (3 * E, 2, 67)]),
        (
            "delayed-turn",
            [(0, 12 * E, 67), (12 * E, 13 * E, 69), (13 * E, 14 * E, 67), (14 * E, 15 * E, 66),
             (15 * E, 2, 67)],
        ),
    ],
)  # fmt: skip
def test_an_ornament_is_played_with_the_neighbours_of_the_key(sign, found):
    """Common practice, no source: MusicXML's mordent goes down, its inverted one up."""
    piece = tune(at_sixty() + note("G", 2, ornament(sign)) + note("D", 2), head=G_MAJOR)
    assert struck(piece) == [*found, (2, 4, 62)]


def test_a_trill_alternates_from_its_main_note_and_ends_on_it():
    piece = tune(at_sixty() + note("E", 2, ornament("trill-mark")) + note("D", 2), head=G_MAJOR)
    keys = [key for _, _, key in struck(piece)][:-1]
    assert keys == [64, 66] * 7 + [64]  # F is sharp in G major
    from_above = tune(at_sixty() + note("E", 2, ornament("trill-mark", start_note="upper")))
    keys = [key for _, _, key in struck(from_above)]
    assert keys == [65, 64] * 8
    assert struck(from_above)[-1][1] == 2


def test_the_notes_of_a_trill_last_about_as_long_at_any_tempo():
    for tempo, most in (("30", 64), ("60", 32), ("96", 32), ("240", 8)):
        piece = tune(
            direction("<words>x</words>", f'<sound tempo="{tempo}"/>')
            + note("E", 4, ornament("trill-mark"))
        )
        tones = sound(piece).tones
        assert 62 <= tones[0].until - tones[0].at <= 125
        assert most - 2 <= len(tones) <= most


def test_an_accidental_beside_the_sign_and_one_in_the_bar_alter_the_neighbour():
    flat = "<accidental-mark>flat</accidental-mark>"
    piece = tune(note("G", 2, ornament("inverted-mordent", flat)))
    assert [key for _, _, key in struck(piece)] == [67, 68, 67]
    sharp = note("A").replace("<octave>", "<alter>1</alter><octave>")
    piece = tune(sharp + note("G", 2, ornament("inverted-mordent")))
    assert [key for _, _, key in struck(piece)] == [70, 67, 70, 67]
    both = '<accidental-mark placement="{}">{}</accidental-mark>'
    marks = both.format("above", "flat") + both.format("below", "sharp")
    piece = tune(note("G", 2, ornament("turn", marks)))
    assert [key for _, _, key in struck(piece)] == [68, 67, 66, 67]


@pytest.mark.parametrize("kind", ["Trill", "Mordent", "InvertedMordent", "Turn", "InvertedTurn"])
def test_music21_plays_the_same_neighbours(kind):
    """music21 realizes ornaments of its own accord; a trill of ours has more notes than its."""
    import music21

    name = {"Trill": "trill-mark", "InvertedMordent": "inverted-mordent",
            "InvertedTurn": "inverted-turn"}.get(kind, kind.lower())  # fmt: skip
    for step, midi in (("E", 64), ("G", 67), ("A", 69)):
        their = music21.note.Note(step + "4", quarterLength=2.0)
        sign = getattr(music21.expressions, kind)()
        key = music21.key.KeySignature(1)
        before, main, after = sign.realize(their, keySig=key)
        theirs = [n.pitch.midi for n in [*before, *([main] if main else []), *after]]
        piece = tune(at_sixty() + note(step, 2, ornament(name)), head=G_MAJOR)
        ours = [key for _, _, key in struck(piece)]
        assert midi in ours
        assert set(ours) == set(theirs) and ours[: min(3, len(theirs))] == theirs[:3]


def test_a_measured_tremolo_is_struck_as_its_marks_say():
    """MusicXML 4.0, element tremolo: its marks come on top of the note's own beams."""
    piece = tune(note("C", 1, TREMOLO.format("single", 2)) + note("D", 2))
    quarter = Fraction(1, 4)
    assert struck(piece) == [*((i * quarter, (i + 1) * quarter, 60) for i in range(4)), (1, 3, 62)]
    eighth = note("C", 1, TREMOLO.format("single", 1)).replace("quarter", "eighth")
    assert len(struck(tune(eighth))) == 4  # its ticks are a quarter: strokes are sixteenths


def test_a_tremolo_between_two_notes_has_them_in_turns():
    pair = "".join(
        f"<note><pitch><step>{step}</step><octave>4</octave></pitch><duration>1</duration><voice>1"
        f"</voice><type>half</type><time-modification><actual-notes>2</actual-notes><normal-notes>1"
        f"</normal-notes></time-modification>{TREMOLO.format(end, 2)}</note>"
        for step, end in (("C", "start"), ("E", "stop"))
    )
    piece = tune(pair + note("D", 2))
    quarter = Fraction(1, 4)
    assert struck(piece) == [
        *((i * quarter, (i + 1) * quarter, (60, 64)[i % 2]) for i in range(8)), (2, 4, 62),
    ]  # fmt: skip
    lit = [tone.events for tone in sound(piece).tones]
    assert lit[:3] == [("0-0-0",), ("0-0-1",), ("0-0-0",)]


def test_a_fermata_holds_everybody_twice_as_long():
    back = "<backup><duration>4</duration></backup>"
    piece = tune(
        note("C", 2) + note("D", 2, FERMATA) + back + note("E", 1, "", 2) + note("F", 1, "", 2)
        + note("G", 1, "", 2) + note("A", 1, FERMATA, 2),
        note("C", 4),
    )  # fmt: skip
    data = rhythm.midi(piece)
    assert [(now, message.tempo) for now, message in metas(data, "set_tempo")] == [
        (0, 500_000), (3, 1_000_000), (4, 500_000),
    ]  # fmt: skip
    found = sound(piece)
    assert [bar.at for bar in found.bars] == [0, 2500] and found.length == 4500
    last = next(tone for tone in found.tones if tone.key == 69)
    assert (last.at, last.until) == (1500, 2500)
    assert [bar.pace for bar in found.bars] == [2000, 2000]


def test_of_a_tied_note_only_the_piece_under_the_fermata_is_held():
    tie = '<tie type="{}"/>'

    def tied(kind, inside=""):
        return note("C", 4, inside).replace("<voice>", tie.format(kind) + "<voice>", 1)

    piece = tune(tied("start"), tied("stop", FERMATA))
    assert [(bar.at, bar.until) for bar in sound(piece).bars] == [(0, 2000), (2000, 6000)]


def test_a_fermata_is_held_each_time_it_is_played():
    again = '<barline location="right"><repeat direction="backward"/></barline>'
    piece = tune(note("C", 4, FERMATA) + again)
    assert [bar.until - bar.at for bar in sound(piece).bars] == [4000, 4000]


def pedal(kind):
    return direction(f'<pedal type="{kind}"/>')


def controls(data, control):
    return [
        (now, message.value)
        for _, now, message in timed(opened(data))
        if message.type == "control_change" and message.control == control
    ]


def test_the_pedal_goes_down_up_and_changes():
    piece = tune(
        pedal("start") + note("C", 2) + pedal("change") + note("D", 2),
        note("E", 2) + pedal("stop") + note("F", 2),
        direction("<words>x</words>", '<sound damper-pedal="yes"/>') + note("G", 4),
    )
    data = rhythm.midi(piece)
    assert controls(data, 64) == [(0, 127), (2, 0), (2, 127), (6, 0), (8, 127), (12, 0)]
    held = tune(pedal("sostenuto") + note("C", 2) + note("D", 2) + pedal("stop"), note("E", 4))
    assert controls(rhythm.midi(held), 66) == [(0, 127), (4, 0)]
    found = sound(piece)
    assert found.rings_until() == [1000, 3000, 3000, 4000, 6000]


def test_sostenuto_holds_only_what_sounds_when_it_goes_down():
    piece = tune(
        note("C", 1) + pedal("sostenuto") + note("D", 1) + note("E", 2),
        note("E", 2) + pedal("stop") + note("F", 2),
    )
    assert sound(piece).rings_until() == [500, 3000, 2000, 3000, 4000]


def program(number):
    return (
        '<score-instrument id="I"><instrument-name/></score-instrument><midi-instrument id="I">'
        f"<midi-program>{number}</midi-program></midi-instrument>"
    )


@pytest.mark.parametrize(
    "told, expected",
    [
        (program(41), [(0, 40), (1, 45), (3, 40)]),
        ("", [(0, 48), (1, 45), (3, 40 + 8)]),
        (program(1), [(0, 0)]),
    ],
    ids=["violin", "strings without a name", "a piano has none"],
)
def test_pizzicato_is_another_instrument_until_arco(told, expected):
    """General MIDI Level 1: 41 violin, 46 pizzicato strings, 49 string ensemble."""
    by_words = direction("<words>pizz.</words>"), direction("<words>arco</words>")
    by_sound = (
        direction("<words>x</words>", '<sound pizzicato="yes"/>'),
        direction("<words>x</words>", '<sound pizzicato="no"/>'),
    )
    for plucked, bowed in (by_words, by_sound):
        piece = score((told, [note("C") + plucked + note("D", 2) + bowed + note("E")]))
        data = rhythm.midi(piece)
        programs = [
            (now, m.program) for _, now, m in timed(opened(data)) if m.type == "program_change"
        ]
        assert programs == expected
        assert [tone.plucked for tone in sound(piece).tones] == [False, True, False]


def test_a_part_with_a_pedal_shares_its_channel_with_nobody():
    parts = [(program(1), [pedal("start") + note("C", 4)])]
    parts += [(program(1), [note("E", 4)])] * 17
    data = rhythm.midi(score(*parts))
    channels = [
        {m.channel for m in track if m.type == "note_on"} for track in opened(data).tracks[1:]
    ]
    assert all(channels[0].isdisjoint(other) for other in channels[1:])


EIGHTHS = "".join(
    f"<note><pitch><step>{step}</step><octave>4</octave></pitch><duration>1</duration>"
    "<voice>1</voice><type>eighth</type></note>"
    for step in "CDEFGABC"
)


def swung(swing, music=EIGHTHS, metre=(4, 4)):
    head = (
        f"<attributes><divisions>2</divisions><time><beats>{metre[0]}</beats><beat-type>{metre[1]}"
        "</beat-type></time></attributes>"
    )
    return read(
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part>'
        f'</part-list><part id="P1"><measure number="1">{head}<sound><swing>{swing}</swing>'
        f"</sound>{music}</measure></part></score-partwise>".encode()
    )


def test_swing_is_heard_where_the_file_asks_for_it():
    """MusicXML 4.0, element swing: first to second is the ratio of two consecutive notes."""
    ratio = "<first>2</first><second>1</second><swing-type>eighth</swing-type>"
    starts = [each[0] for each in struck(swung(ratio))]
    third = Fraction(2, 3)
    assert starts == [0, third, 1, 1 + third, 2, 2 + third, 3, 3 + third]
    assert struck(swung(ratio))[0][1] == third
    plain = [Fraction(n, 2) for n in range(8)]
    assert [each[0] for each in struck(swung("<straight/>"))] == plain
    sixteenths = ratio.replace("eighth", "16th")
    assert [each[0] for each in struck(swung(sixteenths))] == plain
    assert [click.start * 4 for click in sound(swung(ratio)).clicks][:3] == [0, third, 1]


def test_swing_leaves_triplets_and_compound_beats_alone():
    ratio = "<first>2</first><second>1</second>"
    six = "".join(EIGHTHS.split("</note>")[n] + "</note>" for n in range(6))
    assert [each[0] for each in struck(swung(ratio, six, (6, 8)))] == [
        Fraction(n, 2) for n in range(6)
    ]


def test_a_closing_grace_note_comes_at_the_end_of_its_bar():
    after = (
        "<note><grace/><pitch><step>B</step><octave>4</octave></pitch><voice>1</voice>"
        "<type>eighth</type></note>"
    )
    assert struck(tune(note("C", 4) + after, note("D", 4)))[:2] == [
        (0, Fraction(31, 8), 60), (Fraction(31, 8), 4, 71),
    ]  # fmt: skip


def test_partitura_finds_the_bars_of_a_da_capo_where_we_play_them(tmp_path):
    """It unfolds repeats and jumps itself; ours is what the MIDI file has."""
    again = '<barline location="right"><repeat direction="backward"/></barline>'
    piece = tune(note("C", 4) + again, note("D", 4), note("E", 2) + note("F", 2))
    path = tmp_path / "score.musicxml"
    rhythm.write(piece, path)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import partitura

        part = partitura.load_musicxml(path)[0]
        unfolded = partitura.score.unfold_part_maximal(part)
    theirs = [(Fraction(int(n.start.t), 1), n.midi_pitch) for n in unfolded.notes]
    assert theirs == [(start, key) for start, _, key in struck(piece)]


@pytest.mark.parametrize(
    "bars",
    [
        ["", "Fine", "D.C. al Fine"],
        ["", "segno", "", "D.S."],
        ["", "segno", "To Coda", "D.S. al Coda", "coda"],
        ["", "segno", "Fine", "", "D.S. al Fine"],
        ["To Coda", "", "D.C. al Coda", "coda"],
    ],
    ids=lambda bars: ", ".join(filter(None, bars)),
)
def test_music21_goes_the_same_way_through_a_piece(bars):
    """It expands da capo, dal segno, coda and fine itself."""
    import music21

    made = []
    for step, sign in zip("CDEFG", bars, strict=False):
        drawn = direction(f"<{sign}/>") if sign in ("segno", "coda") else ""
        words = direction(f"<words>{sign}</words>") if sign and not drawn else ""
        made.append(drawn + note(step, 4) + words)
    piece = tune(*made)
    theirs = music21.converter.parseData(to_bytes(piece).decode(), format="musicxml")
    expanded = theirs.parts[0].expandRepeats()
    assert [n.pitch.midi for n in expanded.flatten().notes] == [key for *_, key in struck(piece)]


def test_mido_takes_as_long_to_play_the_file_as_we_say():
    piece = tune(
        at_sixty() + note("C", 2, ornament("trill-mark")) + note("D", 2, FERMATA),
        direction("<words>x</words>", '<sound tempo="90"/>') + note("E", 4),
    )
    import io

    length = mido.MidiFile(file=io.BytesIO(rhythm.midi(piece))).length
    assert abs(length * 1000 - sound(piece).length) < 2
    assert sound(piece).length == int(mpq(6000) + mpq(8000, 3) + mpq(1, 2))
