"""Everything the README and the pages in docs/ show is run, and what they print is compared.

A ``console`` block is a session: a line that starts with ``$ `` is a command, what follows it is
its output. A command without output shown must only succeed; ``...`` alone on a line stands for
any lines. A ``python`` block is run as it is, or as a session where it has ``>>>`` prompts. All
blocks of a page share one folder, in which examples/ lies, and one Python session.
"""

import doctest
import io
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import click
import pytest
from lxml import etree

from tests import reference
from tests.pictures import BARS

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]
BLOCK = re.compile(r"^```(console|python)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
SHELL_SIGNS = set("|<>;&$`*?")


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_what_a_page_shows_is_what_happens(page, tmp_path, monkeypatch, capfd):
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    monkeypatch.chdir(tmp_path)
    session = {"__name__": "__page__"}
    for kind, text in BLOCK.findall(page.read_text(encoding="utf-8")):
        if kind == "python":
            run_python(text, session, page.name)
        else:
            run_console(text, capfd)


def test_the_readme_shows_sessions_and_python():
    kinds = {kind for kind, _ in BLOCK.findall((ROOT / "README.md").read_text(encoding="utf-8"))}
    assert kinds == {"console", "python"}


def test_every_command_named_in_a_sentence_or_a_table_is_one():
    from remetre_cli.main import COMMANDS, main

    wrong, seen = [], 0
    for page in PAGES:
        if page.stem == "changelog":
            continue  # it names what was called otherwise
        for said in re.findall(r"`remetre ([^`\n]+)`", page.read_text(encoding="utf-8")):
            verb, *words = shlex.split(said)
            if verb not in COMMANDS:
                wrong += [f"{page.name}: {said}"] * (not verb.startswith("-") and verb.islower())
                continue
            seen += 1
            command = main.get_command(click.Context(main), verb)
            there = {"--help", "-h", *(opt for p in command.params for opt in p.opts)}
            there |= {opt for p in command.params for opt in p.secondary_opts}
            options = {word for word in words if re.fullmatch(r"--?[a-z][a-z-]*", word)}
            wrong += [f"{page.name}: {said}: {each}" for each in options - there]
    assert wrong == []
    assert seen > 20


def test_every_link_of_a_page_leads_somewhere():
    broken = []
    for page in PAGES:
        text = page.read_text(encoding="utf-8")
        for link in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", text):
            if "://" not in link and not (page.parent / link).exists():
                broken.append(f"{page.name}: {link}")
    assert broken == []


def test_every_page_is_reached_from_the_index():
    text = (ROOT / "docs" / "index.md").read_text(encoding="utf-8")
    left = {page.name for page in PAGES if page.parent.name == "docs"} - {"index.md"}
    assert {name for name in left if f"({name})" not in text} == set()


@pytest.mark.parametrize("name", reference.PAGES)
def test_the_reference_says_what_the_code_says(name):
    """Written anew by ``python -m tests.reference``."""
    assert (ROOT / name).read_text(encoding="utf-8") == reference.PAGES[name]()


def test_no_test_calls_a_command_without_the_program_around_it():
    """A command keeps the first help it is asked for, and alone it has no ``-h``."""
    alone = re.compile(r"\binvoke\((?!\s*main\b)")
    tests = (ROOT / "tests").rglob("*.py")
    assert [path.name for path in tests if alone.search(path.read_text(encoding="utf-8"))] == []


def test_the_pictures_are_drawings_with_notes():
    pictures = list((ROOT / "docs" / "pictures").glob("*.svg"))
    assert {path.stem for path in pictures} >= set(BARS)
    for path in pictures:
        assert etree.parse(path).getroot().tag.endswith("svg")
        if path.stem in BARS:
            assert path.read_text(encoding="utf-8").count("note") > 2


def run_python(text, session, name):
    if ">>>" not in text:
        exec(compile(text, name, "exec"), session)
        return
    test = doctest.DocTestParser().get_doctest(text, session, name, name, 0)
    runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS, verbose=False)
    said = io.StringIO()
    runner.run(test, out=said.write, clear_globs=False)
    session.update(test.globs)
    assert not runner.failures, said.getvalue()


def run_console(text, capfd):
    assert text.startswith("$ "), f"a console block starts with a command: {text!r}"
    for session in re.split(r"^\$ ", text, flags=re.MULTILINE)[1:]:
        command, _, shown = session.partition("\n")
        code, said = run_command(command, capfd)
        if not shown.strip():
            assert code == 0, f"$ {command}\n{said}"
        else:
            assert matches(shown, said), f"$ {command}\n{said}\nbut the page shows\n{shown}"


def run_command(command, capfd):
    """Exit code and everything said; a plain ``remetre`` runs in this process, which is quicker."""
    capfd.readouterr()
    if command.startswith("remetre ") and not SHELL_SIGNS & set(command):
        from remetre_cli.main import run

        code = 0
        try:
            run(shlex.split(command)[1:])
        except SystemExit as done:
            code = done.code
        return code, "".join(capfd.readouterr())
    path = f"{stub_folder()}{os.pathsep}{os.environ['PATH']}"
    done = subprocess.run(
        ["bash", "-c", command],
        env={**os.environ, "PATH": path},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        check=False,
    )
    return done.returncode, done.stdout


def stub_folder():
    """A folder with a ``remetre`` that runs the package under test."""
    folder = Path(".bin").absolute()
    folder.mkdir(exist_ok=True)
    stub = folder / "remetre"
    stub.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m remetre_cli "$@"\n')
    stub.chmod(0o755)
    return folder


def matches(shown, said):
    """Line by line, ends of lines aside; a line ``...`` stands for any lines, even none."""
    lines = [re.escape(line.rstrip()) for line in shown.rstrip().splitlines()]
    pattern = "\n".join(r"(?:.*\n)*?.*" if line == r"\.\.\." else line for line in lines)
    heard = "\n".join(line.rstrip() for line in said.rstrip().splitlines())
    return re.fullmatch(pattern, heard) is not None
