"""The import table, held by walking the syntax trees: who may know whom, where each library lives, what is imported late."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from fnmatch import fnmatchcase
from functools import cache
from graphlib import CycleError, TopologicalSorter

import pytest

from shared.for_each import for_each
from shared.modules import MODULES

# The rooms from first to last, one line a folder: a module may import its own folder and the folders above it.
ORDER = (
    "version",
    "errors",
    "machine",
    "chem",
    "reading",
    "experiment",
    "bench",
    "bank",
    "answer",
    "draw",
    "derivation",
    "plausibility",
    "slips",
    "further_parts",
    "question",
    "nodes",
    "sheet",
    "render",
    "solve",
    "order",
    "papers",
    "survey",
    "marking",
    "interface",
    "browser",
    "cli",
    "__main__",
)

# Strangers: folders that a folder must not know although they stand above it. `*` is every folder but those named after `but`.
STRANGERS: dict[str, tuple[str, ...]] = {
    "bench": ("experiment.relations",),
    "bank": ("bench",),
    "answer": ("bench", "bank"),
    "draw": ("experiment.relations", "bank.readers"),
    "derivation": ("bench", "draw", "bank.readers"),
    "plausibility": ("experiment.relations", "derivation", "bank.readers"),
    "slips": ("bench", "bank.readers"),
    "further_parts": ("bank.readers",),
    "question": ("bank.readers",),
    "nodes": ("* but errors, chem",),
    "sheet": ("bench", "bank.readers"),
    "render": ("* but errors, machine, chem, nodes",),
    "order": ("* but errors, machine, chem, reading, experiment",),
    "papers": ("bank.readers",),
    "interface": ("* but errors, machine, bank, order, papers, solve, marking",),
    "browser": (
        "* but errors, machine, chem.conventions, reading.yaml_text, experiment.quantity_texts, bank, derivation.plans, render, "
        "solve, order, papers, survey, marking",
    ),
    "cli": ("* but version, errors, machine, bank, order, papers, solve, survey, marking, browser",),
}

HOMES: dict[str, tuple[str, ...]] = {
    "yaml": ("reading.yaml_text",),
    "tomllib": ("reading.toml_text",),
    "sympy": ("derivation.derive", "chem.reaction"),
    "reportlab": ("render.pdf.*",),
    "jinja2": ("machine.templates",),
    "docx": ("render.docx.package",),
    "lxml": ("render.docx.package",),
    "PIL": ("render.docx.*",),
    "periodictable": ("chem.masses",),
    "random": ("draw.stream",),
    "secrets": ("papers.choosing", "browser.door"),
    "starlette": ("browser.application", "browser.door"),
    "uvicorn": ("browser.serving",),
    "openpyxl": ("machine.workbooks",),
    "pypdf": ("machine.filled_forms",),
}
LATE = (
    "yaml",
    "sympy",
    "reportlab",
    "jinja2",
    "docx",
    "lxml",
    "PIL",
    "periodictable",
    "fontTools",
    "openpyxl",
    "pypdf",
    "starlette",
    "uvicorn",
)


def imports(tree: ast.AST) -> Iterator[tuple[str, int]]:
    """Every imported module of a tree with its line, inside functions and TYPE_CHECKING too."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for one in node.names:
                yield one.name, node.lineno
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"a relative import on line {node.lineno}"
            for one in node.names:
                whole = f"{node.module}.{one.name}"
                yield (whole if whole.removeprefix("molewright.") in MODULES else str(node.module)), node.lineno


@cache
def imports_of(name: str) -> tuple[tuple[str, int], ...]:
    """The imports of a module: its tree is walked once for all tests."""
    return tuple(imports(MODULES[name]))


def own_imports(name: str) -> Iterator[tuple[str, int]]:
    for found, line in imports_of(name):
        if found == "molewright" or found.startswith("molewright."):
            yield found.removeprefix("molewright").removeprefix("."), line


def at_import(tree: ast.Module) -> Iterator[ast.AST]:
    """What runs when the module is imported: all but functions and TYPE_CHECKING blocks."""
    waiting: list[ast.AST] = list(tree.body)
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            continue
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            waiting.extend(node.orelse)
            continue
        yield node
        waiting.extend(ast.iter_child_nodes(node))


def within(name: str, folder: str) -> bool:
    return name == folder or name.startswith(f"{folder}.")


def place_of(name: str) -> int:
    """Where the folder of a module stands; the package itself, which holds what people who program call, stands last."""
    folder = name.partition(".")[0]
    assert not folder or folder in ORDER, f"{name} stands in no room of the table: say in ORDER which it may import"
    return ORDER.index(folder) if folder else len(ORDER)


def barred(room: str, stranger: str, found: str) -> bool:
    """Whether a room must not know a module. `* but these` bars all but the room itself and these."""
    if not stranger.startswith("* but "):
        return within(found, stranger)
    return not any(within(found, one) for one in (room, *stranger.removeprefix("* but ").split(", ")))


def test_the_walk_sees_imports_inside_functions_and_type_checking() -> None:
    tree = ast.parse("if TYPE_CHECKING:\n    from sympy import Expr\ndef f():\n    import yaml\n")
    assert sorted(found.split(".")[0] for found, _ in imports(tree)) == ["sympy", "yaml"]
    assert not [node for node in at_import(tree) if isinstance(node, ast.Import | ast.ImportFrom)]
    assert "bench.perform" in {found for found, _ in own_imports("draw.windows")}


def test_every_room_of_the_table_is_a_folder_and_every_stranger_stands_above() -> None:
    assert {name.partition(".")[0] for name in MODULES if name} == set(ORDER)
    for room, strangers in STRANGERS.items():
        for stranger in strangers:
            named = stranger.removeprefix("* but ").split(", ")
            assert all(any(within(name, one) for name in MODULES) for one in named), f"{room}: no {stranger}"
            assert all(place_of(one) < place_of(room) for one in named), f"{stranger} stands below {room} in any case"


def test_the_table_bars_what_it_says() -> None:
    assert barred("derivation", "bench", "bench.perform")
    assert not barred("derivation", "bench", "benches")
    assert barred("render", "* but errors, chem", "sheet.stem")
    assert not barred("render", "* but errors, chem", "render.pdf.file")


@for_each("name", MODULES)
def test_a_module_imports_only_its_own_folder_and_those_above(name: str) -> None:
    own = place_of(name)
    broken = [f"line {line}: {found}" for found, line in own_imports(name) if found and place_of(found) > own]
    assert not broken, f"{name} imports from below itself: {broken}"


@for_each("room", STRANGERS)
def test_strangers_do_not_know_each_other(room: str) -> None:
    broken = [
        f"{name}, line {line}: {found}"
        for name in MODULES
        if within(name, room)
        for found, line in own_imports(name)
        if found and any(barred(room, stranger, found) for stranger in STRANGERS[room])
    ]
    assert not broken, f"{room} knows a stranger: {broken}"


def test_no_two_modules_import_each_other() -> None:
    graph = {name: {found for found, _ in own_imports(name)} - {name} for name in MODULES}
    try:
        tuple(TopologicalSorter(graph).static_order())
    except CycleError as cycle:
        pytest.fail(f"a circle of imports: {cycle.args[1]}")


@for_each("library", HOMES)
def test_a_library_has_one_home(library: str) -> None:
    users = {name for name in MODULES for found, _ in imports_of(name) if found.partition(".")[0] == library}
    assert users, f"nobody imports {library}: the table is out of date"
    stray = {name for name in users if not any(fnmatchcase(name, home) for home in HOMES[library])}
    assert not stray


@for_each("name", MODULES)
def test_heavy_libraries_are_imported_late(name: str) -> None:
    early = [
        f"line {node.lineno}: {found}"
        for node in at_import(MODULES[name])
        if isinstance(node, ast.Import | ast.ImportFrom)
        for found, _ in imports(node)
        if found.split(".")[0] in LATE
    ]
    assert not early


@for_each("name", MODULES)
def test_no_module_evaluates_text(name: str) -> None:
    calls = {
        node.func.id for node in ast.walk(MODULES[name]) if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }  # fmt: skip
    assert not calls & {"eval", "exec", "compile", "__import__"}
    attributes = {node.attr for node in ast.walk(MODULES[name]) if isinstance(node, ast.Attribute)}
    assert not attributes & {"sympify", "parse_expr", "popen", "literal_eval", "from_string"}


def test_only_the_judge_makes_a_question() -> None:
    makers = {
        name
        for name, tree in MODULES.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Question"
    }
    assert makers == {"question.check"}


def test_help_needs_no_heavy_library(plain_environment: dict[str, str]) -> None:
    script = (
        "import sys\nfrom molewright.cli import main\n"
        "try:\n    main(['--help'])\nexcept SystemExit as end:\n    assert end.code == 0\n"
        f"print('heavy:', [one for one in {LATE!r} if one in sys.modules])\n"
    )
    run = subprocess.run(
        [sys.executable, "-W", "error", "-c", script], capture_output=True, text=True, env=plain_environment, check=True
    )
    assert run.stdout.endswith("heavy: []\n")
    assert "paper" in run.stdout


@for_each("name", [name for name in MODULES if name])
def test_a_module_opens_with_a_line_that_says_what_it_is(name: str) -> None:
    assert len(ast.get_docstring(MODULES[name]) or "") > 20
