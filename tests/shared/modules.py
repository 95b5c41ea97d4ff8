"""The modules of the package as texts and syntax trees, by their dotted names below the package: what tests of house rules walk."""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping
from pathlib import Path

import molewright

PACKAGE = Path(molewright.__file__).resolve().parent


def name_of(path: Path) -> str:
    """The dotted name of a module; that of a folder is its `__init__`."""
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


class Modules(Mapping[str, ast.Module]):
    """Every module of the package by name; its tree is read when a test asks for it, not when tests are collected."""

    def __init__(self) -> None:
        self._paths = {name_of(path): path for path in sorted(PACKAGE.rglob("*.py"))}
        self._trees: dict[str, ast.Module] = {}

    def source(self, name: str) -> str:
        """The text of a module."""
        return self._paths[name].read_text("utf-8")

    def __getitem__(self, name: str) -> ast.Module:
        if name not in self._trees:
            self._trees[name] = ast.parse(self.source(name))
        return self._trees[name]

    def __contains__(self, name: object) -> bool:
        return name in self._paths

    def __iter__(self) -> Iterator[str]:
        return iter(self._paths)

    def __len__(self) -> int:
        return len(self._paths)


MODULES = Modules()
