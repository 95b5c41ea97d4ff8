"""The import table, held by walking the syntax trees: who may know whom, where each library lives, what is imported late."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from fnmatch import fnmatchcase
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

import generator

PACKAGE = Path(generator.__file__).resolve().parent

# From first to last: a module may import its own line and the lines above it.
ORDER: tuple[tuple[str, ...], ...] = (
    ("",),  # the package itself holds its version only
    ("errors", "places", "reading", "terminal"),
    ("chem", "chem.*"),
    ("question", "question.procedure", "question.stream", "question.titres", "question.algebra"),
    ("question.kinds",),
    ("question.relations", "question.identity"),
    ("question.relating",),
    ("bank", "bank.definitions"),
    ("bank.yaml_text",),
    ("bank.fields",),
    ("bank.folders",),
    (
        "bank.gathering",
        "bank.choices",
        "bank.entries",
        "bank.slip_reader",
        "bank.fault_reader",
        "bank.edta_reader",
        "bank.ions",
        "bank.may_be",
    ),
    ("bank.operations",),
    ("bank.soundness",),
    ("bank.archetype_reader",),
    ("bank.reader", "bank.experiment"),
    ("question.bench", "question.flask", "question.solutes"),
    ("question.derive",),
    ("question.widened",),
    ("question.further", "question.united"),
    ("question.plans", "question.routes", "question.simultaneous", "question.surroundings", "question.draw"),
    ("question.worked", "question.last_titration", "question.plausible_*", "question.remedies"),
    ("question.slips", "question.plausible"),
    ("question.diagnosis",),
    ("question.judgement", "question.judgement.*"),
    ("question.check",),
    ("sheet", "sheet.nodes"),
    ("sheet.*",),
    ("render", "render.*"),
    ("papercode", "files", "classlist"),
    ("paper", "missing", "solving", "listing", "counting", "survey", "survey_lines"),
    ("marking", "marking.*"),
    ("cli",),
    ("__main__",),
)

# Strangers: whom a module must not know although it stands below them.
STRANGERS: dict[str, tuple[str, ...]] = {
    "bank.*": ("question.stream",),
    "question.bench": ("question.relations", "question.relating", "question.derive", "bank.*", "question.stream"),
    "question.derive": ("question.bench", "question.draw", "bank.*", "question.stream"),
    "question.plans": ("question.bench", "question.draw", "bank.*"),
    "question.routes": ("question.bench", "question.draw", "bank.*"),
    "question.widened": ("question.bench", "question.draw", "bank.*"),
    "question.further": ("question.bench", "question.draw", "bank.*"),
    "question.united": ("question.bench", "question.draw", "bank.*"),
    "question.surroundings": ("question.bench", "bank.*"),
    "question.slips": ("question.bench", "question.draw"),
    "question.flask": ("question.relations", "question.relating", "question.derive", "bank.*"),
    "question.draw": ("question.derive", "question.plans", "question.relations", "question.relating", "question.worked"),
    "question.worked": ("question.bench", "question.draw", "question.stream"),
    "question.*": ("bank.reader", "bank.yaml_text", "bank.fields", "bank.choices", "bank.operations", "bank.experiment"),
    "sheet.nodes": ("question.*", "bank.*", "chem.formula", "chem.reaction"),
    "sheet.*": ("question.bench", "question.plans", "question.draw", "bank.reader", "bank.yaml_text"),
    "render*": ("question*", "bank*", "sheet.[!n]*"),
    "papercode": ("question*", "bank*", "render*"),
    "files": ("question*", "bank*", "render*", "sheet*", "chem*"),
    "classlist": ("question*", "bank*", "render*", "sheet*", "chem*"),
    "paper": ("solving", "listing", "bank.reader", "bank.yaml_text"),
}  # fmt: skip

HOMES: dict[str, tuple[str, ...]] = {
    "yaml": ("bank.yaml_text",),
    "sympy": ("question.derive", "chem.reaction"),
    "reportlab": ("render.pdf*",),
    "jinja2": ("render.latex*",),
    "periodictable": ("chem.masses",),
    "random": ("question.stream",),
    "secrets": ("paper",),
}
LATE = ("yaml", "sympy", "reportlab", "jinja2", "periodictable", "fontTools")


def name_of(path: Path) -> str:
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES: dict[str, ast.Module] = {
    name_of(path): ast.parse(path.read_text("utf-8")) for path in sorted(PACKAGE.rglob("*.py"))
}


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
                yield (whole if whole.removeprefix("generator.") in MODULES else str(node.module)), node.lineno


def own_imports(name: str) -> Iterator[tuple[str, int]]:
    for found, line in imports(MODULES[name]):
        if found == "generator" or found.startswith("generator."):
            yield found.removeprefix("generator").removeprefix("."), line


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


def line_of(name: str) -> int:
    exact = [at for at, line in enumerate(ORDER) if name in line]
    found = exact or [at for at, line in enumerate(ORDER) if any(fnmatchcase(name, pattern) for pattern in line)]
    assert found, f"{name} stands nowhere in the table: say in ORDER whom it may import"
    return found[0]


def test_the_walk_sees_imports_inside_functions_and_type_checking() -> None:
    tree = ast.parse("if TYPE_CHECKING:\n    from sympy import Expr\ndef f():\n    import yaml\n")
    assert sorted(found.split(".")[0] for found, _ in imports(tree)) == ["sympy", "yaml"]
    assert not [node for node in at_import(tree) if isinstance(node, ast.Import | ast.ImportFrom)]
    assert "question.bench" in {found for found, _ in own_imports("question.draw")}


@pytest.mark.parametrize("name", MODULES)
def test_a_module_imports_only_what_stands_above_it(name: str) -> None:
    own = line_of(name)
    broken = [f"line {line}: {found}" for found, line in own_imports(name) if line_of(found) > own]
    assert not broken, f"{name} imports from below itself: {broken}"


@pytest.mark.parametrize("name", MODULES)
def test_strangers_do_not_know_each_other(name: str) -> None:
    barred = [one for room, strangers in STRANGERS.items() if fnmatchcase(name, room) for one in strangers]
    if name == "question.check":  # the judge alone knows both sides
        barred = [one for one in barred if one.startswith("bank.")]
    own = {"question.plans": "question.derive"}.get(name, "")
    broken = [
        f"line {line}: {found}"
        for found, line in own_imports(name)
        if found != own and any(fnmatchcase(found, pattern) for pattern in barred)
    ]
    assert not broken, f"{name} knows a stranger: {broken}"


def test_renderers_know_only_the_nodes_chemistry_places_and_errors() -> None:
    allowed = ("", "errors", "places", "chem*", "render*", "sheet.nodes")
    broken = [
        f"{name}, line {line}: {found}"
        for name in MODULES
        if name.startswith("render")
        for found, line in own_imports(name)
        if not any(fnmatchcase(found, pattern) for pattern in allowed)
    ]
    assert not broken


def test_no_two_modules_import_each_other() -> None:
    graph = {name: {found for found, _ in own_imports(name)} - {name} for name in MODULES}
    try:
        tuple(TopologicalSorter(graph).static_order())
    except CycleError as cycle:
        pytest.fail(f"a circle of imports: {cycle.args[1]}")


@pytest.mark.parametrize("library", HOMES)
def test_a_library_has_one_home(library: str) -> None:
    users = {name for name, tree in MODULES.items() for found, _ in imports(tree) if found.partition(".")[0] == library}
    assert users, f"nobody imports {library}: the table is out of date"
    stray = {name for name in users if not any(fnmatchcase(name, home) for home in HOMES[library])}
    assert not stray


@pytest.mark.parametrize("name", MODULES)
def test_heavy_libraries_are_imported_late(name: str) -> None:
    early = [
        f"line {node.lineno}: {found}"
        for node in at_import(MODULES[name])
        if isinstance(node, ast.Import | ast.ImportFrom)
        for found, _ in imports(node)
        if found.split(".")[0] in LATE
    ]
    assert not early


@pytest.mark.parametrize("name", MODULES)
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
        "import sys\nfrom generator.cli import main\n"
        "try:\n    main(['--help'])\nexcept SystemExit as end:\n    assert end.code == 0\n"
        f"print('heavy:', [one for one in {LATE!r} if one in sys.modules])\n"
    )
    run = subprocess.run(
        [sys.executable, "-W", "error", "-c", script], capture_output=True, text=True, env=plain_environment, check=True
    )
    assert run.stdout.endswith("heavy: []\n")
    assert "paper" in run.stdout


@pytest.mark.parametrize("name", [name for name in MODULES if name])
def test_a_module_opens_with_a_line_that_says_what_it_is(name: str) -> None:
    assert len(ast.get_docstring(MODULES[name]) or "") > 20
