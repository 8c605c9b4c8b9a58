"""Starting up is cheap: what is imported when is pinned down here."""

import subprocess
import sys

import pytest

import rhythm

HEAVY = {"lxml", "music21", "numpy", "partitura", "rich", "sympy", "verovio"}


def imported_by(code):
    """The modules that a fresh interpreter holds after ``code``, beyond those it starts with."""
    lines = f"""
import sys
before = set(sys.modules)
try:
    exec({code!r})
except SystemExit:
    pass
print("\\n".join(sorted(set(sys.modules) - before)))
"""
    done = subprocess.run([sys.executable, "-c", lines], capture_output=True, text=True, check=True)
    names = done.stdout.splitlines()
    assert names
    return names


def ours(names):
    return {name for name in names if name.split(".")[0] in ("rhythm", "remetre_cli")}


def test_importing_the_library_imports_none_of_its_parts():
    names = imported_by("import rhythm")
    assert ours(names) == {"rhythm"}
    assert not HEAVY & set(names)


@pytest.mark.parametrize("request_", ["--help", "--version", "restate --help", "page --help"])
def test_asking_for_help_imports_no_score_library(request_):
    names = imported_by(f"from remetre_cli.main import run; run({request_.split()!r})")
    assert not HEAVY & {name.split(".")[0] for name in names}


def test_the_list_of_commands_imports_no_command():
    names = imported_by("from remetre_cli.main import run; run(['--help'])")
    assert ours(names) == {"remetre_cli", "remetre_cli.errors", "remetre_cli.main"}


def test_exact_time_needs_gmpy2_alone():
    names = imported_by("import rhythm; rhythm.value, rhythm.Metre, rhythm.TimeMap")
    assert "gmpy2" in names
    assert not HEAVY & {name.split(".")[0] for name in names}
    assert {name.split(".")[1] for name in ours(names) if "." in name} == {"exact"}


def test_public_names_are_sorted_and_about_thirty():
    assert rhythm.__all__ == sorted(rhythm.__all__)
    assert 20 <= len(rhythm.__all__) <= 35


@pytest.mark.parametrize("name", rhythm.__all__)
def test_every_public_name_is_there_with_a_docstring(name):
    found = getattr(rhythm, name)
    assert found.__doc__
    assert name in dir(rhythm)


def test_a_misspelt_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match="restat"):
        rhythm.restat  # noqa: B018
