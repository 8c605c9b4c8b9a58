"""Options that several verbs share, said once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

import click

from . import params
from .out import KINDS, reads
from .sources import piece

__all__ = [
    "as_json",
    "bars",
    "count",
    "into",
    "into_kinds",
    "into_many",
    "manner",
    "narrowed",
    "own_manner",
    "page",
    "paper",
    "piece",
    "quiet",
    "sources",
]

if TYPE_CHECKING:
    from rhythm.score.model import Score

Verb = TypeVar("Verb", bound=Callable[..., Any])

_sources = click.argument("scores", metavar="SCORE...", nargs=-1, required=True, type=params.FILE)
bars = click.option("--bars", metavar="BARS", help="Only these bars, as printed: 5, 5-8, 5-8,12.")
as_json = click.option("--json", "as_json", is_flag=True, help="Write JSON, one object a line.")
count = click.option(
    "--count",
    type=params.Word(["numbers", "takadimi", "gordon", "kodaly"]),
    help="Write the syllables of this way of counting under the notes.",
)


def _editor(context: click.Context, option: click.Parameter, whose: str) -> str | Score:
    """The words as they are, or the score of another editor."""
    if whose in ("source", "house"):
        return whose
    from rhythm.formats import read

    reads(whose)
    return read(whose)


def _manner(default: str) -> Callable[[Verb], Verb]:
    return click.option(
        "--manner",
        callback=_editor,
        metavar="WHOSE",
        default=default,
        show_default=True,
        help="How what handbooks leave open is written: as the source's editor did (source), as "
        "our house style has it (house), or as the editor of another SCORE.",
    )


manner = _manner("source")
own_manner = _manner("house")
quiet = click.option(
    "-q", "--quiet", is_flag=True, help="Print nothing; the exit code says how it went."
)


def _kept(name: str) -> Callable[[click.Context, click.Parameter, str | None], None]:
    """Keep what an option says with the command, where ``out`` asks for it."""

    def keep(context: click.Context, _option: click.Parameter, given: str | None) -> None:
        context.meta[f"remetre.{name}"] = given

    return keep


paper = click.option(
    "--paper",
    type=params.Word(["a4", "letter"]),
    default="a4",
    show_default=True,
    expose_value=False,
    callback=_kept("paper"),
    help="The paper of a .pdf.",
)
page = click.option(
    "--page",
    metavar="FILE",
    type=params.FILE,
    expose_value=False,
    callback=_kept("page"),
    help="Write a page too (.html): before over after, to look at, listen to and check.",
)


def sources(verb: Verb) -> Verb:
    """The scores that are read, and which piece of their files."""
    return _sources(piece(verb))


def into(verb: Verb) -> Verb:
    """Where the result goes: -o, --force and --quiet."""
    return into_kinds(KINDS)(verb)


def into_kinds(kinds: Sequence[str], *, many: bool = False) -> Callable[[Verb], Verb]:
    """As :func:`into`, for a verb that writes these kinds; with ``many`` also into a folder."""
    shown = [kind for kind in kinds if kind not in (".xml", ".midi")]
    own = "the kind that was read" if ".musicxml" in kinds else kinds[0].lstrip(".")
    folder = "; a folder where several scores are given" if many else ""
    options = [
        quiet,
        click.option("--force", is_flag=True, help="Replace a file that already exists."),
    ]
    if ".pdf" in kinds:
        options.append(paper)
    if ".musicxml" in kinds:
        options.append(page)
    if many:
        options.append(
            click.option(
                "--kind",
                type=params.Word([kind[1:] for kind in shown]),
                help=f"What to write into a folder.  [default: {own}]",
            )
        )
    options.append(
        click.option(
            "-o",
            "--out",
            "where",
            metavar="FILE",
            type=params.FILE,
            help=f"The file to write, its kind by its ending: {' '.join(shown)}; "
            f"- is standard output{folder}.",
        )
    )

    def add(verb: Verb) -> Verb:
        for option in options:
            verb = option(verb)
        return verb

    return add


into_many = into_kinds(KINDS, many=True)
"""Where the results of one score or many go: -o, --kind, --force and --quiet."""


def narrowed(verb: Verb) -> Verb:
    """Which bars, part and voice to look at."""
    for option in (
        click.option("--voice", metavar="NAME", help="Only this voice."),
        click.option("--part", metavar="NAME", help="Only this part, by its name or id."),
        bars,
    ):
        verb = option(verb)
    return verb
