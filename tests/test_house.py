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

ROOT = Path(__file__).parent.parent
MODULES = sorted((ROOT / "rhythm").rglob("*.py"))

# Which layers each layer may import; the command line may import them all.
LAYERS = {
    "exact": set(),
    "score": {"exact"},
    "notate": {"exact", "score"},
    "formats": {"exact", "score"},
    "show": {"exact", "score"},
    "rebar": {"exact", "score", "notate"},
    "restate": {"exact", "score", "notate", "rebar"},
    "devices": {"exact", "score", "notate", "rebar"},
    "check": {"exact", "score", "notate"},
    "practice": {"exact", "score", "notate", "rebar", "restate", "devices", "check"},
}
LAZY = {"music21", "numpy", "partitura", "rich", "sympy", "verovio"}
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


@pytest.mark.parametrize("path", MODULES, ids=module_id)
def test_a_layer_imports_only_layers_under_it(path):
    inside = path.relative_to(ROOT / "rhythm").parts
    if len(inside) == 1:
        return  # the front door and the verbs join the layers
    layer = inside[0]
    for name in imports(ast.walk(tree(path))):
        first, *rest = name.split(".")
        if first == "rhythm":
            assert rest[0] in LAYERS[layer] | {layer}, f"{layer} imports {name}"
        assert first not in PRINTERS - {"rich"} and first != "remetre_cli"


@pytest.mark.parametrize("path", MODULES, ids=module_id)
def test_heavy_packages_are_imported_inside_functions_alone(path):
    top = [node for node in tree(path).body if isinstance(node, (ast.Import, ast.ImportFrom))]
    assert not LAZY & {name.split(".")[0] for name in imports(top)}


@pytest.mark.parametrize("path", MODULES, ids=module_id)
def test_time_is_exact_so_no_float_and_no_other_rational_type(path):
    nodes = list(ast.walk(tree(path)))
    # How alike two words must be to be offered for each other is no time.
    likeness = {id(n.value) for n in nodes if isinstance(n, ast.keyword) and n.arg == "cutoff"}
    for node in nodes:
        if isinstance(node, ast.Constant) and id(node) not in likeness:
            assert not isinstance(node.value, float)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            assert node.func.id not in ("float", "print")
    assert "fractions" not in set(imports(nodes))


@pytest.mark.parametrize("path", [p for p in MODULES if p.name != "__init__.py"], ids=module_id)
def test_a_module_lists_what_it_offers(path):
    defined = {
        getattr(node.targets[0], "id", "")
        for node in tree(path).body
        if isinstance(node, ast.Assign)
    }
    assert "__all__" in defined


def test_the_top_of_the_tree_is_as_laid_out():
    done = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    tops = {name.split("/")[0] for name in done.stdout.split("\0") if name}
    assert tops
    assert tops <= TOP


def test_the_continuous_check_is_the_readmes_test_command():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    command = next(line for line in readme.splitlines() if line.endswith("-m tests"))
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    assert script[-1] == command
    assert script[0] == "#!/usr/bin/env bash"
    assert os.access(ROOT / ".ci" / "run", os.X_OK)


def test_a_wheel_holds_both_packages_and_what_they_need(tmp_path):
    copy = tmp_path / "copy"  # building leaves things behind
    for folder in ("rhythm", "cli"):
        shutil.copytree(ROOT / folder, copy / folder, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, copy)
    build = [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "--no-build-isolation"]
    subprocess.run([*build, "-w", str(tmp_path), str(copy)], check=True, capture_output=True)
    (wheel,) = tmp_path.glob("remetre-*.whl")
    names = set(zipfile.ZipFile(wheel).namelist())
    sources = {str(path.relative_to(ROOT)) for path in MODULES}
    sources |= {f"remetre_cli/{path.name}" for path in (ROOT / "cli").glob("*.py")}
    themes = {f"remetre_cli/themes/{p.name}" for p in (ROOT / "cli/themes").iterdir()}
    assert themes
    missing = (sources | themes | {"rhythm/py.typed", "remetre_cli/py.typed"}) - names
    assert not missing
    assert not {name for name in names if re.match(r"(tests|cli|docs|examples)/", name)}
