"""The reference pages, made from the code: ``python -m tests.reference`` writes them anew.

Every command with every option, every public name with its signature and what it says of itself.
A test holds the pages to the code, so that neither can run ahead of the other.
"""

import inspect
import re
import sys
from pathlib import Path

import click
from remetre_cli.main import GROUPS, main

import rhythm

ROOT = Path(__file__).parents[1]
WIDTH = 100


def commands() -> str:
    """The page of all commands."""
    lines = [
        "# All commands",
        "",
        "This page is made from the program itself. Every command also says all this when it is",
        "called with `--help`. Exit codes: 0 done, or all right; 1 the music is at fault; 2 the",
        "request or the file is at fault; 70 a defect of Remetre; 130 interrupted.",
    ]
    above = click.Context(main, info_name="remetre", **main.context_settings)
    for aim, verbs in GROUPS.items():
        lines += ["", f"## {aim}"]
        for name in verbs:
            command = main.get_command(above, name)
            context = click.Context(command, above, name, terminal_width=WIDTH)
            lines += ["", f"### {name}", "", "```", command.get_help(context), "```"]
    return "\n".join(lines) + "\n"


def library() -> str:
    """The page of all public names."""
    lines = [
        "# All of the library",
        "",
        "This page is made from the code. `import rhythm` gives these names and no others, each",
        "imported when it is first used. A path is taken wherever a score is. Where a verb has an",
        "outcome, `rhythm.restate.outcome(...)` takes the same arguments and gives the score, the",
        "passage that was worked on, and a report.",
    ]
    for name in rhythm.__all__:
        found = getattr(rhythm, name)
        lines += ["", f"## {name}", ""]
        lines += ["```text", signature(name, found), "```"]
        lines += ["", prose(documented(found))]
        if inspect.isclass(found) and not issubclass(found, Exception):
            lines.append("")
            for member, said in members(found):
                lines.append(f"- `{member}`: {said}")
    return "\n".join(lines) + "\n"


def signature(name: str, found: object) -> str:
    """How it is called, a parameter a line where one line would be long."""
    if inspect.isclass(found):
        if issubclass(found, Exception):
            return f"class {name}({', '.join(base.__name__ for base in found.__bases__)})"
        return f"{name}(text)" if name != "Score" else "class Score  # read and the verbs make it"
    shown = inspect.signature(found)
    text = plain(f"{name}{shown}")
    if len(text) <= 88:
        return text
    parameters = [f"    {plain(str(p))}" for p in shown.parameters.values()]
    keyword = [i for i, p in enumerate(shown.parameters.values()) if p.kind is p.KEYWORD_ONLY]
    if keyword:
        parameters.insert(keyword[0], "    *")
    return plain(f"{name}(\n" + ",\n".join(parameters) + f",\n) -> {shown.return_annotation!r}")


def plain(text: str) -> str:
    """A signature whose types are written without quotes."""
    return re.sub(r"(: |-> )(['\"])(.*?)\2(?=[,)\n =]|$)", r"\1\3", text)


def documented(found: object) -> str:
    """What it says of itself; of a package that is called, what its verb says."""
    if inspect.ismodule(found):
        found = found.__wrapped__
    return inspect.getdoc(found) or ""


def members(found: type) -> list[tuple[str, str]]:
    """What a value offers: its own public methods and properties, a line each."""
    result = []
    for name, member in vars(found).items():
        if name.startswith("_"):
            continue
        target = member.__func__ if isinstance(member, (classmethod, staticmethod)) else member
        said = inspect.getdoc(target)
        property_ = hasattr(target, "fget") or hasattr(target, "func")
        if said and (callable(target) or property_):
            call = "()" if callable(target) and not hasattr(target, "func") else ""
            result.append((f"{name}{call}", prose(said.split("\n\n")[0].replace("\n", " "))))
    return sorted(result)


def prose(text: str) -> str:
    """A docstring as Markdown: its references to names without their homes."""
    text = re.sub(r":\w+:`~?([\w.]+)`", lambda m: f"`{m[1].rpartition('.')[2]}`", text)
    return text.replace("``", "`")


PAGES = {"docs/reference-commands.md": commands, "docs/reference-python.md": library}


if __name__ == "__main__":
    for name, make in PAGES.items():
        (ROOT / name).write_text(make(), encoding="utf-8")
        sys.stdout.write(f"wrote {name}\n")
