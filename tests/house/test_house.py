"""The house is in order: layers, exactness, the top of the tree, the wheel, the test command."""

import ast
import os
import re
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
MODULES = sorted((ROOT / "rhythm").rglob("*.py"))

# Which layers each layer may import; the command line may import them all.
LAYERS = {
    "exact": set(),
    "score": {"exact"},
    "notate": {"exact", "score"},
    "formats": {"exact", "score"},
    "show": {"exact", "score", "formats"},
    "rebar": {"exact", "score", "notate"},
    "restate": {"exact", "score", "notate", "rebar"},
    "devices": {"exact", "score", "notate", "rebar"},
    "check": {"exact", "score", "notate"},
    "practice": {
        *("exact", "score", "notate", "formats", "show"),
        *("rebar", "restate", "devices", "check"),
    },
    "sentences": {"exact"},
}
LAZY = {"mido", "music21", "numpy", "partitura", "rich", "sympy", "verovio"}
PRINTERS = {"click", "rich"}
TOP = {
    *("README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", ".gitignore", ".gitattributes"),
    *("rhythm", "cli", "tests", "examples", "docs", ".ci"),
}


def tree(path):
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


def imports(nodes):
    for node in nodes:
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "the library imports by full names"
            yield node.module


def module_id(path):
    return str(path.relative_to(ROOT))


def test_there_are_modules_to_look_at():
    assert len(MODULES) > 30


def test_every_module_keeps_the_rules_of_the_house():
    """One test for all rules and modules; it names every module that breaks one."""
    assert [said for path in MODULES for rule in RULES for said in rule(path)] == []


def broken_layers(path):
    """A layer imports only layers under it."""
    inside = path.relative_to(ROOT / "rhythm").parts
    if len(inside) == 1:
        return  # the front door and the verbs join the layers
    layer = inside[0]
    for name in imports(ast.walk(tree(path))):
        first, *rest = name.split(".")
        if first == "rhythm" and (not rest or rest[0] not in LAYERS[layer] | {layer}):
            yield f"{module_id(path)}: {layer} imports {name}"
        if first in PRINTERS - {"rich"} or first == "remetre_cli":
            yield f"{module_id(path)}: the library imports {name}"


def eager_imports(path):
    """Packages that are slow to import are imported inside the functions that need them."""
    top = [node for node in tree(path).body if isinstance(node, (ast.Import, ast.ImportFrom))]
    for name in imports(top):
        if name.split(".")[0] in LAZY:
            yield f"{module_id(path)}: imports {name} at its top"


def inexact_time(path):
    """Time is exact: no float, no other rational type. Nothing is printed."""
    nodes = list(ast.walk(tree(path)))
    # How alike two words must be to be offered for each other is no time.
    likeness = {id(n.value) for n in nodes if isinstance(n, ast.keyword) and n.arg == "cutoff"}
    for node in nodes:
        if isinstance(node, ast.Constant) and isinstance(node.value, float):
            if id(node) not in likeness:
                yield f"{module_id(path)}:{node.lineno}: the float {node.value}"
        elif isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("float", "print"):
            yield f"{module_id(path)}:{node.lineno}: a call of {node.func.id}"
    if "fractions" in set(imports(nodes)):
        yield f"{module_id(path)}: imports fractions"


def unlisted_offers(path):
    """A module lists what it offers."""
    defined = {
        getattr(node.targets[0], "id", "")
        for node in tree(path).body
        if isinstance(node, ast.Assign)
    }
    if path.name != "__init__.py" and "__all__" not in defined:
        yield f"{module_id(path)}: no __all__"


RULES = (broken_layers, eager_imports, inexact_time, unlisted_offers)


def test_the_top_of_the_tree_is_as_laid_out():
    done = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    tops = {name.split("/")[0] for name in done.stdout.split("\0") if name}
    assert tops
    assert tops <= TOP


def test_the_developers_map_names_what_there_is_and_nothing_else():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    start = text.index("```\nrhythm/")
    drawn = text[start : text.index("```", start + 3)]
    named = set(re.findall(r"(\w+)\.py", drawn)) | set(re.findall(r"^  (\w+)/", drawn, re.M))
    there = {
        path.stem
        for path in (ROOT / "rhythm").iterdir()
        if path.suffix == ".py" or (path / "__init__.py").exists()
    }
    assert named == there - {"__init__"}
    told = re.findall(r"`((?:cli|docs|tests|[a-z]+)/[\w/]+(?:\.\w+)?)`", text)
    assert len(told) > 30
    lost = [
        path
        for path in told
        if not any((ROOT / top / f"{path}{end}").exists() for top in ("", "rhythm")
                   for end in ("", ".py"))
    ]  # fmt: skip
    assert lost == []


def test_the_continuous_check_is_the_readmes_test_command():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    command = next(line for line in readme.splitlines() if line.endswith("-m tests"))
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    assert script[-1] == command
    assert script[0] == "#!/usr/bin/env bash"
    assert os.access(ROOT / ".ci" / "run", os.X_OK)


def test_every_small_wrong_change_fits_the_code_as_it_is():
    """A row that cannot be applied proves nothing: whoever changes its line writes it anew."""
    from tests.mutants.tables import TABLES, rows, stale

    assert set(TABLES) == {*LAYERS, "cli"}
    told = [
        f"tests/mutants/{table}.py: {row.name}: {why}"
        for table in TABLES
        for row in rows(table)
        if (why := stale(row, ROOT) or misplaced(row, table))
    ]
    assert told == []


def misplaced(row, table):
    """Rows stand in the table of their package."""
    folder = "cli/" if table == "cli" else f"rhythm/{table}/"
    return "" if row.file.startswith(folder) else f"does not belong to {folder}"


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """The wheel, built from a copy, since building leaves things behind."""
    tmp_path = tmp_path_factory.mktemp("wheel")
    copy = tmp_path / "copy"
    for folder in ("rhythm", "cli", "docs"):
        shutil.copytree(ROOT / folder, copy / folder, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, copy)
    build = [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "--no-build-isolation"]
    subprocess.run([*build, "-w", str(tmp_path), str(copy)], check=True, capture_output=True)
    (found,) = tmp_path.glob("remetre-*.whl")
    return found


def test_a_wheel_holds_both_packages_and_what_they_need(wheel):
    names = set(zipfile.ZipFile(wheel).namelist())
    sources = {str(path.relative_to(ROOT)) for path in MODULES}
    cli = [
        path for path in (ROOT / "cli").rglob("*") if path.suffix in (".py", ".js", ".css", ".html")
    ]
    sources |= {f"remetre_cli/{path.relative_to(ROOT / 'cli')}" for path in cli}
    themes = {f"remetre_cli/themes/{p.name}" for p in (ROOT / "cli/themes").iterdir()}
    assert themes
    docs = (ROOT / "docs").rglob("*")
    pages = {f"remetre_cli/docs/{p.relative_to(ROOT / 'docs')}" for p in docs if p.is_file()}
    assert pages
    missing = (sources | themes | pages | {"rhythm/py.typed", "remetre_cli/py.typed"}) - names
    assert not missing
    assert not {name for name in names if re.match(r"(tests|cli|docs|examples)/", name)}


def test_the_wheel_works_where_it_is_installed(wheel, tmp_path):
    """Installed apart from the source, it restates, checks, and shows its own pages."""
    site, work = tmp_path / "site", tmp_path / "work"
    work.mkdir()
    install = [sys.executable, "-m", "pip", "install", "-q", "--no-deps", "--target", str(site)]
    subprocess.run([*install, str(wheel)], check=True, capture_output=True)

    def said(*words):
        done = subprocess.run(
            [sys.executable, *words],
            cwd=work,
            env={**os.environ, "PYTHONPATH": str(site)},
            capture_output=True,
            text=True,
            check=True,
        )
        return done.stdout

    found = said("-c", "import rhythm, remetre_cli; print(rhythm.__file__, remetre_cli.__file__)")
    assert found.count(str(site)) == 2
    assert "every bar adds up: 8 of 6/8" in said("-m", "remetre_cli", "demo")
    assert (work / "remetre-demo" / "ropewalk.html").is_file()
    page = (ROOT / "docs" / "recipes.md").read_text(encoding="utf-8")
    assert said("-m", "remetre_cli", "help", "recipes") == page
    assert (site / "bin" / "remetre").is_file() or os.name == "nt"
