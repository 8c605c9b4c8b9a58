"""Chains: what is said in sentences, kept as text, and done again on other scores."""

from __future__ import annotations

import inspect
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

import rhythm
from rhythm.chain import Step, as_python, as_text, follow, followed, parse
from rhythm.exact.errors import RequestError
from rhythm.sentences import MADE, SENTENCES
from rhythm.writing import proven

ROOT = Path(__file__).parents[2]
SONG = ROOT / "examples/lantern-song.musicxml"
CHAIN = """\
[[step]]
verb = "restate"
to = "12/8"
lilt = "iamb"

[[step]]
verb = "mend"
off = true

[[step]]
verb = "vary"
devices = "displacement:3/8"
"""


# What the bench itself tells a verb: which score stands above, what was told of the way from it.
TOLD_ANYWAY = {"page": {"before", "report", "names"}}


@pytest.mark.parametrize("verb", [*SENTENCES, *MADE])
def test_a_sentence_has_a_blank_for_everything_its_verb_can_be_told(verb: str) -> None:
    sentence = (SENTENCES | MADE)[verb]
    keywords = list(inspect.signature(getattr(rhythm, verb)).parameters)[1:]
    keywords = [each for each in keywords if each not in TOLD_ANYWAY.get(verb, ())]
    named = [blank.name for blank in sentence.blanks]
    assert sorted(named) == sorted(keywords)
    assert sorted(re.findall(r"{(\w+)}", sentence.text + sentence.more)) == sorted(keywords)


def test_every_verb_that_takes_a_score_has_a_sentence() -> None:
    takers = {
        name
        for name in rhythm.__all__
        if callable(getattr(rhythm, name))
        and next(iter(inspect.signature(getattr(rhythm, name)).parameters), "")
        in ("score", "theme")
    }
    # The first hands a score to another library, the others are the chain itself, the door, and
    # what a score's own manner is, which no sentence changes.
    assert takers - set(SENTENCES) - set(MADE) == {"to_music21", "follow", "write", "manner"}
    assert set(SENTENCES) | set(MADE) <= takers


@pytest.mark.parametrize("verb", sorted({*SENTENCES, *MADE} - {"count", "excerpt"}))
def test_a_command_has_no_option_that_no_sentence_says(verb: str) -> None:
    """Where and how to write, and how much to tell, are the door's own business."""
    import importlib

    command = importlib.import_module(f"remetre_cli.{verb}").command
    ours = {blank.name for blank in (SENTENCES | MADE)[verb].blanks}
    other = {
        parameter.name for parameter in command.params if parameter.name not in ours
    } - DOORS_OWN
    assert other <= SAID_OTHERWISE.get(verb, set())


DOORS_OWN = {"source", "scores", "where", "kind", "force", "quiet", "as_json", "page", "paper",
             "piece"}  # fmt: skip
SAID_OTHERWISE = {
    # names of options that the sentence says under another name, and lists that the page shows
    "restate": {"explained"},
    "vary": {"listed"},
    "exercises": {"plan_path", "key", "answers", "listed", "track", "ladder"},
    "page": {"before", "width"},
    "check": {"every", "every_row", "remarks"},
    "mend": {"every"},
}


def test_what_usually_holds_in_a_sentence_is_what_the_verb_does_by_itself() -> None:
    for verb, sentence in (SENTENCES | MADE).items():
        parameters = inspect.signature(getattr(rhythm, verb)).parameters
        for blank in sentence.blanks:
            default = parameters[blank.name].default
            if default is not inspect.Parameter.empty:
                text = "" if default is None else str(default)
                said = text.lower() if isinstance(default, bool) else text
                assert blank.usual == said, f"{verb}: {blank.name}"


def test_a_chain_is_read_as_it_is_written() -> None:
    steps = parse(CHAIN)
    assert [step.verb for step in steps] == ["restate", "mend", "vary"]
    assert parse(as_text(steps)) == steps


def test_a_chain_does_what_the_verbs_do_and_leaves_out_what_is_off(tmp_path: Path) -> None:
    song = rhythm.read(SONG)
    by_hand = rhythm.vary(rhythm.restate(song, "12/8", lilt="iamb"), "displacement:3/8")
    assert proven(follow(song, parse(CHAIN))) == proven(by_hand)
    assert [done.number for done in followed(song, parse(CHAIN))] == [1, 3]
    path = tmp_path / "chain.toml"
    path.write_text(CHAIN, encoding="utf-8")
    assert proven(follow(song, path)) == proven(by_hand)


def test_a_chain_as_python_gives_the_same_bytes(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    steps = parse(CHAIN)
    exec(as_python(steps, str(SONG), "out.musicxml"), {})
    assert Path("out.musicxml").read_bytes() == proven(follow(rhythm.read(SONG), steps))


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ('[[step]]\nverb = "restat"', r"step 1 knows no 'restat'; did you mean restate\?"),
        ('[[step]]\nverb = "mend"\nhwo = "rests"', r"step 1 \(mend\) knows no 'hwo'; did you mean"),
        (
            '[[step]]\nverb = "mend"\n[[step]]\nverb = "restate"\nto = "3/4"\nby = "bart"',
            r"'by' of step 2 \(restate\) cannot be 'bart'; did you mean bar\?",
        ),
        ('[[steps]]\nverb = "mend"', "the chain knows no 'steps'; did you mean step"),
        ('[[step]]\nto = "3/4"', "step 1 names no verb"),
        ("[[step]", "the chain is no TOML"),
        ('[[step]]\nverb = "mend"\noff = "yes"', "'off' of step 1 is 'yes'"),
        ('[[step]]\nverb = "tuplet"\nsplit = "many"\nspan = "1/4"', "a whole number"),
    ],
)
def test_a_wrong_line_names_itself_and_the_nearest_legal_word(text: str, problem: str) -> None:
    with pytest.raises(RequestError, match=problem):
        parse(text, "chain.toml")


def test_a_step_that_the_music_does_not_allow_is_named() -> None:
    with pytest.raises(RequestError, match=r"step 2 \(vary\): there is no device 'wobble'"):
        follow(rhythm.read(SONG), [Step("faircopy"), Step("vary", {"devices": "wobble"})])


def test_the_command_follows_a_chain_on_a_folder(tmp_path: Path) -> None:
    from remetre_cli.main import main

    chain, out = tmp_path / "chain.toml", tmp_path / "out"
    chain.write_text(CHAIN, encoding="utf-8")
    words = ["follow", str(chain), str(ROOT / "examples"), "-o", str(out)]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 0, done.output
    assert len(list(out.iterdir())) == len(list((ROOT / "examples").glob("*.musicxml")))
    single = tmp_path / "one.musicxml"
    assert (
        CliRunner().invoke(main, ["follow", str(chain), str(SONG), "-o", str(single)]).exit_code
        == 0
    )
    assert single.read_bytes() == proven(follow(rhythm.read(SONG), parse(CHAIN)))


def test_guises_are_many_and_each_is_made_by_its_step() -> None:
    from rhythm.every_metre import guises

    song = rhythm.read(SONG)
    found = guises(song, first=4, most=40)
    assert len(found) >= 30
    assert len({(each.head, each.name) for each in found}) == len(found)
    assert all(0 <= each.lilting <= 1 and 0 <= each.moved <= 1 <= each.level for each in found)
    heads = [each.head for each in found]
    assert heads == sorted(heads, key=list(dict.fromkeys(heads)).index)
    theme = rhythm.excerpt(song, bars="1-4")
    for each in found[::9]:
        assert proven(follow(theme, [each.step])) == proven(each.score)
