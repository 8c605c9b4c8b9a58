"""The library as a programmer meets it: names, kinds of arguments, what is said of wrong ones."""

import ast
import inspect
import io
import pickle
import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import pytest
from gmpy2 import mpq
from music21 import converter

import rhythm
from rhythm.arguments import _TAKEN
from rhythm.exact.errors import FileError, RequestError
from tests.tiny import melody

ROOT = Path(__file__).parents[2]
SONG = ROOT / "examples" / "lantern-song.musicxml"
VERBS = [
    name
    for name in rhythm.__all__
    if name[0].islower() and name not in ("read", "value", "reckon", "from_music21")
]


@pytest.fixture(scope="module")
def song():
    return rhythm.read(SONG)


@pytest.mark.parametrize("name", ["check", "rebar", "restate"])
def test_a_package_of_a_verbs_name_is_the_verb_and_the_package(name):
    inner = {"check": "ledger", "rebar": "bar_plan", "restate": "fit"}[name]
    keywords = {} if name == "check" else {"to": "3/4"}
    code = f"""
import rhythm.{name}.{inner} as inner
import rhythm, inspect
verb = rhythm.{name}
assert inner is getattr(verb, inner.__name__.rpartition(".")[2])
assert callable(verb) and "score" in inspect.signature(verb).parameters
assert verb.__doc__.startswith("{name}(score")
print(type(verb({str(SONG)!r}, **{keywords!r})).__name__)
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.stderr, done.stdout.strip()) == ("", "Ledger" if name == "check" else "Score")


def test_a_verb_goes_to_a_pool_of_processes():
    assert pickle.loads(pickle.dumps(rhythm.check)) is rhythm.check


def test_completion_shows_only_what_is_ours():
    assert {name for name in dir(rhythm) if not name.startswith("_")} == set(rhythm.__all__)
    named = {name for name in vars(rhythm) if not name.startswith("_")}
    packages = {path.stem for path in (ROOT / "rhythm").iterdir()}
    assert named <= set(rhythm.__all__) | packages


def test_the_version_is_the_one_that_is_installed():
    assert rhythm.__version__.count(".") == 2
    assert f'version = "{rhythm.__version__}"' in (ROOT / "pyproject.toml").read_text()


def test_a_misspelt_name_gets_the_nearest():
    with pytest.raises(AttributeError, match="did you mean restate"):
        rhythm.restat  # noqa: B018


@pytest.mark.parametrize(
    "asked, said",
    [
        ({}, "restate: missing a required argument: 'to'"),
        ({"to": "6/8", "litl": "iamb"}, r"restate takes no 'litl'; did you mean lilt\?"),
        ({"metre": "6/8"}, "restate takes no 'metre'; one of to, by, lilt"),
    ],
    ids=["none", "mistyped", "of another verb"],
)
def test_a_missing_or_mistyped_keyword_is_said_with_those_of_the_verb(asked, said):
    with pytest.raises(TypeError, match=said):
        rhythm.restate(melody("2/4", "1/4 1/4"), **asked)


@pytest.mark.parametrize("name", VERBS)
def test_every_keyword_of_every_verb_says_what_it_may_be(name):
    keywords = list(inspect.signature(getattr(rhythm, name)).parameters)[1:]
    # Where a score is written is looked at by the writer itself.
    unknown = [k for k in keywords if not {k, f"{name}.{k}"} & {*_TAKEN, "path"}]
    assert unknown == []


@pytest.mark.parametrize("kind", [str, Path])
def test_a_path_is_taken_where_a_score_is(kind):
    assert rhythm.check(kind(SONG)).is_right
    assert str(rhythm.restate(kind(SONG), to="compound").bars[0].metre) == "12/8"


WRONG = {
    "a number for a target": (lambda s: rhythm.restate(s, to=12), "to of restate cannot be 12; "),
    "a number for bars": (lambda s: rhythm.restate(s, to="6/8", bars=5), "in quotes: '5', '5-8'"),
    "a list for bars": (lambda s: rhythm.check(s, bars=[5, 6]), "in quotes: '5', '5-8'"),
    "a number for a part": (lambda s: rhythm.vary(s, "retrograde", part=1), "a part's name or id"),
    "a list of metres": (lambda s: rhythm.rebar(s, ["7/8", "5/8"]), "a cycle of metres"),
    "a number for a word": (lambda s: rhythm.restate(s, "6/8", lilt=2), "trochee, iamb, even"),
    "a word for yes": (lambda s: rhythm.faircopy(s, keep="yes"), "True or False"),
    "a list of scores": (lambda s: rhythm.check([s, s]), "one score at a time"),
    "the bytes of a file": (lambda s: rhythm.check(SONG.read_bytes()), "rhythm.read"),
    "a ledger": (lambda s: rhythm.mend(rhythm.check(s)), "a Score or the path of a file"),
    "nothing": (lambda s: rhythm.check(None), "a score is wanted, not None"),
    "a float for a value": (lambda s: rhythm.group(s, "3", unit=0.125), "'dotted quarter'"),
    "a number for a metre": (lambda s: rhythm.Metre(7), "such as '7/8'"),
    "numbers for a metre": (lambda s: rhythm.Metre((7, 8)), "such as '7/8'"),
    "a word for a metre": (lambda s: rhythm.Metre("waltz"), "not a time signature"),
    "a number for a cycle": (lambda s: rhythm.MetrePattern(7), "'7/8 7/8 5/8'"),
    "a number for a map": (lambda s: rhythm.TimeMap(3), "1/8=1/4"),
    "a text file": (lambda s: rhythm.write(s, io.StringIO()), "open for writing bytes"),
}


@pytest.mark.parametrize("case", WRONG)
def test_a_wrong_kind_is_refused_in_one_line_that_names_what_is_legal(case, song):
    call, legal = WRONG[case]
    with pytest.raises(RequestError) as refused:
        call(song)
    assert legal in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_stream_of_music21_is_taken_where_a_score_is_and_a_stream_comes_of_it():
    stream = converter.parse("tinynotation: 4/4 c8 d e4 f2")
    assert rhythm.check(stream).is_right
    lilting = rhythm.restate(stream, to="compound")
    assert [note.quarterLength for note in lilting.recurse().notes] == [1, 0.5, 1.5, 3]
    assert rhythm.rebar.outcome(stream, to="2/4").score.recurse().notes
    assert rhythm.page(stream, before=stream).startswith("<!doctype html>")
    with pytest.raises(RequestError, match="a score is wanted"):
        rhythm.check(stream.recurse().notes[0])


def test_a_stream_of_music21_goes_in_and_out(song):
    stream = rhythm.to_music21(song)
    again = rhythm.from_music21(stream)
    assert [bar.metre for bar in again.bars] == [bar.metre for bar in song.bars]


@pytest.mark.parametrize("text", ["7/8", "C|", "3+2+2/8", "6/4 compound"])
def test_a_metre_is_made_of_its_text(text):
    assert rhythm.Metre(text) == rhythm.Metre.parse(text)
    assert repr(rhythm.Metre(text)) == f"Metre({text!r})"


def test_a_cycle_of_metres_is_made_of_text_or_of_metres():
    metres = [rhythm.Metre("7/8"), "5/8"]
    assert rhythm.MetrePattern("7/8 5/8") == rhythm.MetrePattern(metres)


def test_a_map_is_written_the_same_way_everywhere(song):
    text = "0=0, 1/8=1/4, 1/4=3/8"
    made = rhythm.TimeMap(text)
    assert str(made) == text
    assert eval(repr(made), {"TimeMap": rhythm.TimeMap}) == made
    by_text = rhythm.restate(song, "12/8", mapping=text)
    for same in (made, text.removeprefix("0=0, "), rhythm.TimeMap(text.removeprefix("0=0, "))):
        assert list(rhythm.restate(song, "12/8", mapping=same).events()) == list(by_text.events())


@pytest.mark.parametrize("given", [Fraction(3, 8), mpq(3, 8), "3/8", "dotted quarter"])
def test_fractions_of_any_make_are_exact_values(given):
    found = rhythm.value(given)
    assert found == mpq(3, 8)
    assert type(found) is type(mpq())


def test_a_fraction_serves_wherever_a_value_does(song):
    by_fraction = rhythm.tuplet(song, split=5, span=Fraction(1, 4))
    assert list(by_fraction.events()) == list(rhythm.tuplet(song, split=5, span="1/4").events())
    assert rhythm.reckon(Fraction(3, 4), in_="6/4").left == mpq(3, 4)
    assert rhythm.reckon(tempo=Fraction(84), old=Fraction(1, 12), new="1/8").tempo.after == 126


def test_a_float_is_refused_as_a_type_error_too():
    with pytest.raises(TypeError, match="not an exact value"):
        rhythm.value(0.5)


def test_a_score_is_written_to_an_open_file(song, tmp_path):
    with open(tmp_path / "x.musicxml", "wb") as file:
        rhythm.write(song, file)
    assert (tmp_path / "x.musicxml").read_bytes() == SONG.read_bytes()


def test_what_the_commands_show_the_library_gives(song):
    assert len(rhythm.excerpt(song, bars="5-8").bars) == 4
    assert rhythm.midi(song)[:4] == b"MThd"
    assert len(rhythm.midi(song)) > len(rhythm.midi(song, repeats=False))
    assert rhythm.page(song, before=SONG).startswith("<!doctype html>")
    counted = rhythm.count(song, "takadimi")
    assert sum(len(event.additions) for _, _, event in counted.events()) > 0


def test_a_path_that_leads_nowhere_says_so():
    with pytest.raises(FileError, match="no such file"):
        rhythm.check("nowhere.musicxml")


def test_a_type_checker_sees_every_module_of_a_package_that_is_a_verb():
    told = ast.parse(Path(rhythm.__path__[0], "package_types.py").read_text(encoding="utf-8"))
    listed = {
        node.module: {alias.name for alias in node.names}
        for part in ast.walk(told)
        if isinstance(part, ast.ClassDef)
        for node in part.body
        if isinstance(node, ast.ImportFrom)
    }
    there = {
        f"rhythm.{name}": {path.stem for path in Path(rhythm.__path__[0], name).glob("[a-z]*.py")}
        for name in ("check", "rebar", "restate")
    }
    assert listed == there


def test_what_no_score_can_be_read_from_is_refused_by_its_kind():
    with pytest.raises(RequestError, match="a score cannot be read from int; a path, bytes or"):
        rhythm.read(3)
