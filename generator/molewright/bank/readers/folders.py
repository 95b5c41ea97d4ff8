"""Folders of bank files come in; their entries, file by file, and their fingerprint go out. No entry is understood here.

The first folder is a whole set of banks; the others are people's own entries, read beside it: they add and never replace.
"""

from __future__ import annotations

import errno
import hashlib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from molewright.errors import Mistake, Where, nearest
from molewright.machine.bounded_reading import read_at_most
from molewright.reading.fields import Faults
from molewright.reading.yaml_text import MOST_BYTES, Branch, Listing, read_tree

MOST_ENTRIES = 3000  # of a file
MOST_ARCHETYPE_FILES = 200  # of a folder
ARCHETYPES = "archetypes"
NEEDED = (
    "substances.yaml",
    "reactions.yaml",
    "indicators.yaml",
    "apparatus.yaml",
    "materials.yaml",
    "contexts.yaml",
    "hazards.yaml",
    "slips.yaml",
)
"""Files that a whole set of banks cannot do without."""
OPTIONAL = (
    "acids.yaml",
    "ions.yaml",
    "solubility_products.yaml",
    "faults.yaml",
    "back_reasons.yaml",
    "edta.yaml",
    "redox.yaml",
    "precipitation.yaml",
    "equations.yaml",
    "elements.yaml",
    "topics.yaml",
)
"""Files that it may lack: what is not known there is not judged."""


@dataclass(frozen=True, slots=True)
class Found:
    """An entry as it stands in a file, and whether the folder is somebody's own."""

    branch: Branch
    own: bool


class Folders:
    """The folders that one bank is read from; faults of whole files are kept in `faults`. Raises Mistake for no folder."""

    def __init__(self, whole: Path, own: tuple[Path, ...], faults: Faults) -> None:
        self.whole = whole
        self.own = own
        self.faults = faults
        self.unread: set[str] = set()  # names of files that could not be read
        self._refused: set[Path] = set()  # links that are not followed
        _require_folder(
            whole, "a folder that holds substances.yaml and the rest", "Copy the folder 'banks' and change the copy."
        )
        lacking = [name for name in NEEDED if not (whole / name).exists()]
        if len(lacking) >= len(NEEDED) // 2:
            raise Mistake(
                f"no whole set of banks is here: {', '.join(lacking)} are not there",
                where=Where(str(whole)),
                expected="a folder that holds all",
                do=f"Entries of your own are read so: --entries {whole}",
            )
        for folder in own:
            _require_folder(
                folder,
                "a folder with entries of your own, such as archetypes/mine.yaml",
                "DEVELOPERS.md tells how to write one.",
            )
            if is_whole(folder):
                raise Mistake(
                    "this is a whole set of banks",
                    expected="a folder with entries of your own only",
                    where=Where(str(folder)),
                    do=f"Read it instead of the built-in ones: --banks {folder}",
                )
        for folder in (whole, *own):
            self._refuse_strangers(folder)

    def entries(self, name: str) -> Iterator[Found]:
        """The entries of a file of this name, of every folder that has it."""
        if name in NEEDED or (self.whole / name).exists():
            yield from self._of(self.whole / name, name, False)
        for folder in self.own:
            if (folder / name).exists() and folder / name not in self._refused:
                yield from self._of(folder / name, f"{folder.as_posix()}/{name}", True)

    def archetypes(self) -> Iterator[Found]:
        """The entries of every file of archetypes, folder by folder, in the order of the files' names."""
        for folder in (self.whole, *self.own):
            own = folder is not self.whole
            if folder / ARCHETYPES in self._refused:
                continue
            paths = sorted(
                path
                for path in (folder / ARCHETYPES).glob("*.yaml")
                if path not in self._refused and not path.name.startswith(".")
            )
            if len(paths) > MOST_ARCHETYPE_FILES:
                raise Mistake(
                    f"{len(paths)} files of archetypes",
                    expected=f"at most {MOST_ARCHETYPE_FILES}",
                    where=Where(str(folder / ARCHETYPES)),
                )
            for path in paths:
                shown = f"{ARCHETYPES}/{path.name}"
                yield from self._of(path, f"{folder.as_posix()}/{shown}" if own else shown, own)

    def _of(self, path: Path, shown: str, own: bool) -> Iterator[Found]:
        before = len(self.faults.found)
        tree = self.faults.attempt(Where(shown), lambda: read_tree(path, shown))
        members: tuple[Branch, ...] = ()
        if isinstance(tree, Listing):
            members = tree.members
        elif tree is not None:
            self.faults.found.append(
                Mistake("the file is not a list of entries", expected="lines of '- ...'", where=tree.where)
            )
        if len(members) > MOST_ENTRIES and tree is not None:
            self.faults.found.append(
                Mistake(f"{len(members)} entries in a file", expected=f"at most {MOST_ENTRIES}", where=tree.where)
            )
        if len(self.faults.found) > before:
            self.unread.add(path.name)
            return
        for branch in members:
            yield Found(branch, own)

    def _refuse_strangers(self, folder: Path) -> None:
        """Tell what would be passed over in silence: a file whose name is misspelt, a link that leads nowhere or elsewhere."""
        own = folder is not self.whole
        waiting = sorted(_names_in(folder))
        entries = 0
        while waiting:
            name = waiting.pop(0)
            told = _stranger(folder, name, own)
            if told is not None:
                self._refused.add(folder / name)
                self.faults.found.append(told.at(Where(f"{folder.as_posix()}/{name}" if own else name)))
            elif name == ARCHETYPES:
                waiting += [f"{ARCHETYPES}/{inner}" for inner in sorted(_names_in(folder / name))]
            else:
                entries += 1
        if own and not entries and not self.faults.found:
            raise Mistake(
                "no entry is in this folder",
                expected="archetypes/mine.yaml, contexts.yaml or another file of the banks",
                where=Where(str(folder)),
            )


def _names_in(folder: Path) -> list[str]:
    """What lies in a folder, but for hidden files. Raises Mistake where it cannot be read."""
    try:
        return [path.name for path in folder.iterdir() if not path.name.startswith((".", "__"))]
    except OSError as broken:
        if broken.errno == errno.ENOMEM:
            raise MemoryError from broken
        raise Mistake(
            f"the folder cannot be read ({broken.strerror or broken})",
            where=Where(folder.as_posix()),
            do="Check its name and its permissions.",
        ) from None


def _stranger(folder: Path, name: str, own: bool) -> Mistake | None:
    """Why a file of a folder would not be read as its owner meant it; None for one that is, and for one that is no bank's.

    In a whole set of banks only what looks like YAML is told; in people's own folders everything.
    """
    path, known = folder / name, (*NEEDED, *OPTIONAL)
    archetype = name.startswith(f"{ARCHETYPES}/")
    if own and path.is_symlink():
        try:
            target = path.resolve(strict=True)
        except (OSError, RuntimeError):  # a circle is a RuntimeError up to Python 3.12
            return Mistake("a link that leads nowhere", expected="the file itself")
        if not target.is_relative_to(folder.resolve()):
            return Mistake("a link that leaves the folder", expected="the file itself", do="Copy it here.")
    if name == ARCHETYPES and path.is_dir():
        return None
    if archetype and name.endswith(".yaml") and not path.is_dir():
        return None
    if name in known:
        return None
    if not own and not path.is_dir() and not _YAML.search(name):
        return None
    if not own and path.is_dir() and not any(path.glob("*.y*ml")):
        return None
    if archetype:
        what = "a folder" if path.is_dir() else "a file"
        return Mistake(
            f"{what} that is not read",
            expected=f"files '{ARCHETYPES}/....yaml', in no further folder",
            near=[f"{ARCHETYPES}/{_YAML.sub('.yaml', path.name)}"] if _YAML.search(path.name) else (),
        )
    kind = "folder" if path.is_dir() else "file"
    near = nearest(name, (ARCHETYPES,) if path.is_dir() else known)
    return Mistake(
        f"no {kind} of the banks is called so",
        expected=f"one of: {', '.join(known)}; or a file in {ARCHETYPES}/",
        near=near,
        do="" if _YAML.search(name) or near else "Keep what is no entry in another folder.",
    )


_YAML = re.compile(r"\.ya?ml.*$", re.IGNORECASE)


def is_whole(folder: Path) -> bool:
    """Whether a folder holds every file that a whole set of banks needs."""
    try:
        return all((folder / name).is_file() for name in NEEDED)
    except OSError:  # a name that no file can have
        return False


def _require_folder(folder: Path, expected: str, remedy: str) -> None:
    try:
        if folder.is_dir():
            return
        why = "it is a file" if folder.exists() else "there is none"
    except OSError as broken:
        why = broken.strerror or str(broken)
    raise Mistake(f"no folder of banks is here ({why})", expected=expected, where=Where(str(folder)), do=remedy)


def fingerprint(*folders: Path) -> str:
    """Eight characters that change when any bank or wording file does; the same wherever the folders lie."""
    digest = hashlib.sha256()
    for folder in folders:
        for path in sorted([*folder.glob("*.yaml"), *folder.glob("*/*.yaml")]):
            digest.update(path.relative_to(folder).as_posix().encode() + b"\0")
            raw = read_at_most(path, MOST_BYTES) if path.is_file() else b""
            digest.update((raw or b"").replace(b"\r\n", b"\n") + b"\0")
    return digest.hexdigest()[:8]
