"""House rules that no other tool holds: length of modules, where Any may stand, values by keyword, closed matches, one name a thing."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from shared.for_each import for_each
from shared.modules import MODULES

ROOT = Path(__file__).resolve().parents[1]
MOST_LINES = 400
MOST_FIELDS = 4  # that may be told apart by their order
POSITIONAL = (
    "nodes",
    "render",
)  # rooms whose values are made too often to pay for names: pieces of a sheet, places on a page

# Where a value may have no type that anyone could write down, and what it is.
ANY: dict[str, tuple[str, ...]] = {
    "JSON or YAML, read and not yet checked, or about to be written": (
        "reading.yaml_text",
        "derivation.plans",
        "marking.lookup",
        "papers.answers",
        "papers.record.*",
        "solve.described",
    ),
    "sympy, reportlab, lxml, argparse and the cells of a workbook that is read, which have no types of their own": (
        "derivation.derive",
        "machine.workbooks",
        "render.pdf.fonts",
        "render.docx.package",
        "cli.options",
    ),
    "a number: a float in a filter of candidates, a fraction in what is printed": (
        "bank.algebra",
        "draw.windows",
        "slips.placed_chain",
        "survey.counting",
    ),
    "whatever the interface offers, loaded when it is first asked for": ("",),
    "a table of functions by the type that each of them takes": ("sheet.further_parts",),
}


def own(name: str, patterns: tuple[str, ...]) -> bool:
    return any(name == one or (one.endswith(".*") and name.startswith(one[:-1])) for one in patterns)


@for_each("name", MODULES)
def test_a_module_is_short_enough_to_be_read_at_one_sitting(name: str) -> None:
    assert len(MODULES.source(name).splitlines()) <= MOST_LINES


def test_any_stands_at_the_edges_only() -> None:
    users = {
        name
        for name, tree in MODULES.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.Name) and node.id == "Any"
    }
    edges = tuple(one for several in ANY.values() for one in several)
    assert {name for name in users if not own(name, edges)} == set()
    assert [one for one in edges if not any(own(name, (one,)) for name in users)] == [], "the list is out of date"


# ---------------------------------------------------------------- values by keyword


def settings_of(node: ast.ClassDef) -> dict[str, bool] | None:
    """What a dataclass is told; None for a class that is none."""
    for one in node.decorator_list:
        call = one.func if isinstance(one, ast.Call) else one
        if isinstance(call, ast.Name) and call.id == "dataclass":
            told = one.keywords if isinstance(one, ast.Call) else []
            return {str(word.arg): bool(isinstance(word.value, ast.Constant) and word.value.value) for word in told}
    return None


def fields_of(node: ast.ClassDef) -> int:
    """How many fields are told when a value is made."""
    return sum(
        isinstance(line, ast.AnnAssign) and not (line.value is not None and "init=False" in ast.unparse(line.value))
        for line in node.body
    )


def many_fielded(tree: ast.Module) -> Iterator[tuple[str, bool]]:
    """Dataclasses with many fields, and whether each takes them by keyword only."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ClassDef):
            told = settings_of(node)
            if told is not None and fields_of(node) > MOST_FIELDS:
                yield node.name, told.get("kw_only", False)


def test_the_walk_finds_dataclasses_with_many_fields() -> None:
    lines = "\n".join(f"    f{number}: int" for number in range(5))
    tree = ast.parse(
        f"@dataclass(frozen=True, kw_only=True)\nclass A:\n{lines}\n@dataclass\nclass B:\n{lines}\nclass C:\n{lines}\n"
    )
    assert list(many_fielded(tree)) == [("A", True), ("B", False)]


def test_a_value_with_many_fields_is_made_by_keyword() -> None:
    found = {
        f"{name}.{made}": by_keyword
        for name, tree in MODULES.items()
        if name.partition(".")[0] not in POSITIONAL
        for made, by_keyword in many_fielded(tree)
    }
    assert len(found) > 50, "values with many fields are no longer found"
    assert [made for made, by_keyword in found.items() if not by_keyword] == []


# ---------------------------------------------------------------- matches


def open_matches(tree: ast.Module) -> list[int]:
    """Lines of matches without a last case for whatever else there is."""
    return [
        node.lineno
        for node in ast.walk(tree)
        if isinstance(node, ast.Match)
        and not (isinstance(node.cases[-1].pattern, ast.MatchAs) and node.cases[-1].pattern.pattern is None)
    ]


def test_a_match_that_falls_through_in_silence_is_found() -> None:
    assert open_matches(ast.parse("match a:\n    case A():\n        pass\n")) == [1]
    assert (
        open_matches(ast.parse("match a:\n    case A():\n        pass\n    case _:\n        assert_never(a)\n")) == []
    )


@for_each("name", MODULES)
def test_a_match_says_what_becomes_of_all_the_rest(name: str) -> None:
    assert open_matches(MODULES[name]) == []


# ---------------------------------------------------------------- one name a thing


def second_names(tree: ast.Module) -> list[str]:
    """Imports under another name, and names that are nothing but another imported one."""
    found = [
        ast.unparse(node)
        for node in ast.walk(tree)
        if isinstance(node, ast.Import | ast.ImportFrom) and any(one.asname for one in node.names)
    ]
    imported = {one.name for node in tree.body if isinstance(node, ast.ImportFrom) for one in node.names}
    return found + [
        ast.unparse(node)
        for node in tree.body
        if isinstance(node, ast.Assign)
        and isinstance(node.value, ast.Name)
        and node.value.id in imported - {"Any"}
        and ast.unparse(node.targets[0]) != "__version__"  # the name under which every package tells it
    ]


def test_a_second_name_is_found() -> None:
    assert second_names(ast.parse("from a import b as c\nimport d\nfrom e import f\ng = f\nh = d\n")) == [
        "from a import b as c",
        "g = f",
    ]


@for_each("name", MODULES)
def test_nothing_is_imported_or_kept_under_a_second_name(name: str) -> None:
    assert second_names(MODULES[name]) == []


# ---------------------------------------------------------------- places


WRITTEN = (".py", ".yaml", ".toml", ".md", ".jinja", ".json", ".txt", ".css", ".html")
_OF_A_MACHINE = re.compile(r"(?<![\w/.])/(?:home|root|Users|work|tmp|opt|mnt|workspace)/[\w.-]+")


def test_a_path_of_a_machine_is_found() -> None:
    assert _OF_A_MACHINE.search("see " + "/home" + "/somebody/papers")
    assert not _OF_A_MACHINE.search("https://example.org/home/page")


@for_each("folder", ("generator", "banks", "templates", "tests", "."))
def test_no_path_of_a_machine_is_written_down(folder: str) -> None:
    inside = (ROOT / folder).glob("*" if folder == "." else "**/*")
    texts = {path: path.read_text("utf-8") for path in inside if path.suffix in WRITTEN and path.is_file()}
    assert texts
    assert {
        str(path.relative_to(ROOT)): found[0] for path, text in texts.items() if (found := _OF_A_MACHINE.search(text))
    } == {}
