"""The timeline of what sounds: order, loudness, beats, and the names of what lights up."""

from pathlib import Path

import pytest
from gmpy2 import mpq

from rhythm import read, restate
from rhythm.score.identity import named_events
from rhythm.show.beats import count_in
from rhythm.show.sound import sound
from tests.tiny import melody

EXAMPLES = {path.stem: path for path in (Path(__file__).parents[2] / "examples").iterdir()}


def piece(*bars, part="P1"):
    """A score of whole notes in 4/4, one a bar, with these marks before and behind the note."""
    measures = "".join(
        f'<measure number="{n}">'
        + ("<attributes><divisions>8</divisions><time><beats>4</beats><beat-type>4</beat-type>"
           "</time></attributes>" if n == 1 else "")
        + f"{before}{note or whole('C')}{after}</measure>"
        for n, (before, after, note) in enumerate(bars, start=1)
    )  # fmt: skip
    return read(
        (
            '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/>'
            f'</score-part></part-list><part id="P1">{measures}</part></score-partwise>'
        ).encode()
    )


def whole(step, inside=""):
    return (
        f"<note><pitch><step>{step}</step><octave>4</octave></pitch><duration>32</duration>"
        f"<voice>1</voice><type>whole</type>{inside}</note>"
    )


def quarters(*insides):
    return "".join(
        "<note><pitch><step>C</step><octave>4</octave></pitch><duration>8</duration>"
        f"<voice>1</voice><type>quarter</type>{inside}</note>"
        for inside in insides
    )


def says(**sound_says):
    """A direction for playback."""
    told = " ".join(f'{name}="{value}"' for name, value in sound_says.items())
    return (
        f"<direction><direction-type><words>x</words></direction-type><sound {told}/></direction>"
    )


def words(text):
    return f"<direction><direction-type><words>{text}</words></direction-type></direction>"


def sign(name):
    return f"<direction><direction-type><{name}/></direction-type></direction>"


def line(place, repeat, ending=""):
    named = f'<ending number="{ending}" type="{"start" if place == "left" else "stop"}"/>'
    turned = f'<repeat direction="{repeat}"/>' if repeat else ""
    return f'<barline location="{place}">{named if ending else ""}{turned}</barline>'


def played(score):
    return [bar.bar for bar in sound(score).bars]


PLAIN = ("", "", "")


@pytest.mark.parametrize(
    "bars, order",
    [
        ([PLAIN, ("", words("Fine"), ""), ("", words("D.C. al Fine"), "")], [0, 1, 2, 0, 1]),
        ([PLAIN, ("", says(fine="yes"), ""), ("", says(dacapo="yes"), "")], [0, 1, 2, 0, 1]),
        (
            [PLAIN, (sign("segno"), "", ""), PLAIN, ("", words("D.S."), "")],
            [0, 1, 2, 3, 1, 2, 3],
        ),
        (
            [(sign("segno"), "", ""), PLAIN, (sign("segno"), "", ""), ("", words("D.S."), "")],
            [0, 1, 2, 3, 2, 3],
        ),
        (
            [
                PLAIN,
                (sign("segno"), "", ""),
                ("", words("To Coda"), ""),
                ("", words("D.S. al Coda"), ""),
                (sign("coda"), "", ""),
            ],
            [0, 1, 2, 3, 1, 2, 4],
        ),
        (
            [
                PLAIN,
                (sign("coda"), "", ""),
                ("", words("D.C. al Coda"), ""),
                (sign("coda"), "", ""),
            ],
            [0, 1, 2, 0, 1, 3],
        ),
        (
            [
                (line("left", "forward"), "", ""),
                (line("left", "", "1"), line("right", "backward", "1"), ""),
                (line("left", "", "2"), line("right", "", "2"), ""),
                ("", words("D.C."), ""),
            ],
            [0, 1, 0, 2, 3, 0, 2, 3],
        ),
        (
            [(line("left", "forward"), "", ""), ("", words("Fine") + line("right", "backward"), ""),
             ("", words("D.C. al Fine"), "")],
            [0, 1, 0, 1, 2, 0, 1],
        ),
    ],
    ids=[
        "da capo al fine in words",
        "da capo al fine for playback",
        "dal segno",
        "to the later of two signs",
        "dal segno al coda",
        "two drawn codas",
        "repeats are not taken again, endings are the last",
        "fine under a repeat",
    ],
)  # fmt: skip
def test_bars_come_in_the_order_played(bars, order):
    """Common practice, no source: after a jump back repeats are passed over."""
    assert played(piece(*bars)) == order


def test_a_bar_that_is_played_again_says_so():
    bars = sound(read(EXAMPLES["lantern-song"])).bars
    assert [(bar.bar, bar.turn) for bar in bars[:5]] == [(0, 1), (1, 1), (2, 1), (3, 1), (0, 2)]


def test_moments_are_whole_milliseconds_that_do_not_drift():
    song = read(EXAMPLES["lantern-song"])  # quarter = 96 is 625 ms; 3/8 1/8 1/4 1/4
    tones = sound(song).tones
    assert [(tone.at, tone.until, tone.key) for tone in tones[:4]] == [
        (0, 938, 71), (938, 1250, 69), (1250, 1875, 67), (1875, 2500, 71),
    ]  # fmt: skip
    assert sound(song).length == 17 * 2500
    assert sound(restate(song, "compound")).length == 17 * 2500


def test_every_struck_event_lights_up_under_its_name():
    steps = read(EXAMPLES["ferry-steps"])
    struck = {n for n, _, _, event in named_events(steps, "a") if not event.is_rest}
    lit = {name for tone in sound(steps, prefix="a").tones for name in tone.events}
    assert struck and lit == struck


def test_the_metre_gives_the_click_its_weights():
    clicks = sound(melody("7/8", "7/8", "7/8")).clicks[:7]
    assert [(click.start * 8, click.weight, click.beat) for click in clicks] == [
        (0, 3, 1), (1, 0, 1), (2, 1, 2), (3, 0, 2), (4, 1, 3), (5, 0, 3), (6, 0, 3),
    ]  # fmt: skip
    clicks = sound(melody("12/8", "3/2")).clicks
    assert [click.weight for click in clicks] == [3, 0, 0, 1, 0, 0, 2, 0, 0, 1, 0, 0]


def test_an_upbeat_begins_on_its_own_beat():
    upbeat = melody("3/4", "1/4", "3/4", upbeat=True)
    found = sound(upbeat)
    assert [(c.weight, c.beat) for c in found.clicks[:3]] == [(1, 3), (0, 3), (3, 1)]
    assert found.tones[0].beat == 3


def test_a_count_in_is_a_bar_and_before_an_upbeat_what_leads_to_it():
    bars = melody("3/4", "1/4", "3/4", upbeat=True).bars
    pace = mpq(2000)
    assert count_in(bars[1], pace) == (((0, 3), (500, 1), (1000, 1)), 1500)
    beats, length = count_in(bars[0], pace)
    assert [weight for _, weight in beats] == [3, 1, 1, 3, 1]
    assert length == 2500


def dynamic(name):
    return f"<direction><direction-type><dynamics><{name}/></dynamics></direction-type></direction>"


def wedge(kind):
    return f'<direction><direction-type><wedge type="{kind}"/></direction-type></direction>'


def loudness(score):
    return [tone.loudness for tone in sound(score).tones]


def test_dynamics_hold_until_the_next_and_hairpins_lead_there():
    score = piece(
        (dynamic("p"), "", ""),
        (wedge("crescendo"), wedge("stop"), quarters("", "", "", "")),
        (dynamic("f"), "", ""),
        (dynamic("sfz"), "", ""),
        PLAIN,
    )
    assert loudness(score) == [49, 49, 60, 72, 84, 96, 108, 96]


def test_playback_dynamics_are_percent_of_ninety():
    """MusicXML 4.0, attribute dynamics of sound: a percentage of the default forte value of 90."""
    assert loudness(piece((says(dynamics="50"), "", ""))) == [45]


def test_accents_are_louder_and_staccato_is_short():
    def articulated(name):
        return f"<notations><articulations><{name}/></articulations></notations>"

    score = piece(
        ("", "", quarters("", articulated("accent"), articulated("staccato"), "")),
    )
    tones = sound(score).tones
    assert [tone.loudness for tone in tones] == [80, 96, 80, 80]
    assert [tone.end - tone.start for tone in tones] == [mpq(1, 4), mpq(1, 4), mpq(1, 8), mpq(1, 4)]


def test_grace_notes_are_squeezed_in_before_their_note():
    grace = (
        "<note><grace/><pitch><step>D</step><octave>4</octave></pitch><voice>1</voice>"
        "<type>eighth</type></note>"
    )
    tones = sound(piece(PLAIN, ("", "", grace + whole("C")))).tones
    assert [(tone.key, tone.start, tone.grace) for tone in tones] == [
        (60, 0, False), (62, mpq(31, 32), True), (60, 1, False),
    ]  # fmt: skip
    first = sound(piece(("", "", grace + whole("C")))).tones
    assert min(tone.start for tone in first) == 0


def test_notes_tied_together_sound_as_one_and_light_both():
    tie = '<tie type="{0}"/>'
    members = (
        "<note><pitch><step>C</step><octave>4</octave></pitch><duration>32</duration>{}<voice>1"
        "</voice><type>whole</type></note><note><chord/><pitch><step>E</step><octave>4</octave>"
        "</pitch><duration>32</duration><voice>1</voice><type>whole</type></note>"
    )
    score = piece(("", "", members.format(tie.format("start"))), ("", "", whole("C", "")), PLAIN)
    assert len(sound(score).tones) == 4
    tied = piece(
        ("", "", members.format(tie.format("start"))),
        ("", "", members.format(tie.format("stop"))),
    )
    found = [(tone.key, tone.start, tone.end, tone.events) for tone in sound(tied).tones]
    assert found == [
        (60, 0, 2, ("0-0-0", "0-0-1")),
        (64, 0, 1, ("0-0-0",)),
        (64, 1, 2, ("0-0-1",)),
    ]


def test_once_through_leaves_repeats_out():
    song = read(EXAMPLES["lantern-song"])
    assert [bar.bar for bar in sound(song, repeats=False).bars] == list(range(14))
