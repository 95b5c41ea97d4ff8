"""Described experiments come in; each is kept as a kind of question in a folder of own entries, read back before it is written.

What is there already is added to and never changed; a kind of the same name is replaced only where that is asked for.
"""

from __future__ import annotations

import argparse
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from molewright.errors import Mistake, Where

if TYPE_CHECKING:
    from molewright.bank.definitions import Bank
    from molewright.order.lines import OrderLine
    from molewright.solve.as_entry import OwnEntry

_FIRST = {
    "contexts.yaml": "# Scenes of one's own; the guide is banks/README.md.\n",
    "substances.yaml": "# Substances of one's own; the guide is banks/README.md.\n",
    "materials.yaml": "# Materials of one's own; the guide is banks/README.md.\n",
}
_QUESTIONS = 3  # that an entry has to draw before it is kept


def keep_entries(chosen: argparse.Namespace) -> Iterator[str]:
    """Keep every experiment of the files; what was written, a line each. Raises Mistake where one can be kept as no entry."""
    from molewright.order.choices import MASSES
    from molewright.order.experiment_file import read_experiments

    folder: Path = chosen.as_entry
    described = read_experiments(chosen.experiments)
    for line in described.lines:
        bank = _bank(chosen, folder)
        entry = _that_draws(chosen, bank, line, described.masses or MASSES[0])
        yield from _written(entry, folder, chosen.replace)
    yield f"molewright check {folder}"
    yield f"molewright paper {entry.key} --entries {folder}"


def _bank(chosen: argparse.Namespace, folder: Path) -> Bank:
    from molewright.bank.readers.whole_bank import read_bank

    own = [one for one in chosen.entries if one.resolve() != folder.resolve()]
    there = [folder] if any(folder.glob("*.yaml")) or any(folder.glob("archetypes/*.yaml")) else []
    return read_bank(chosen.banks, whole=chosen.banks is not None, own=tuple(dict.fromkeys((*own, *there))))


def _that_draws(chosen: argparse.Namespace, bank: Bank, line: OrderLine, masses: str) -> OwnEntry:
    """The entry of an experiment, tried in a copy of the folder: it is read without fault and draws what the experiment tells."""
    from molewright.papers.own_entry import drawn_numbers, entries_of

    found = None
    for entry, told in entries_of(bank, line, masses):
        _require_free(chosen, bank, entry)
        with tempfile.TemporaryDirectory() as trial:
            copy = Path(trial) / "entries"
            if chosen.as_entry.exists():
                shutil.copytree(chosen.as_entry, copy, ignore=lambda _, names: [n for n in names if n.startswith(".")])
            for name, text in _files(entry, chosen.as_entry).items():
                (copy / name).parent.mkdir(parents=True, exist_ok=True)
                (copy / name).write_text(text, "utf-8")
            try:
                drawn = drawn_numbers(_bank(chosen, copy), entry.key, _QUESTIONS)
            except Mistake as mistake:
                found = found or mistake
                continue
        if all(one == told for one in drawn):
            return entry
        found = found or Mistake(
            f"it would tell other numbers than the experiment: {', '.join(sorted(drawn[0] ^ told))}"
        )
    assert found is not None
    raise Mistake(
        f"this experiment can be kept as no entry: {found.found}",
        where=line.where,
        expected="an experiment that can be drawn with other numbers",
        do=found.do or "Its versions may differ all the same: 'moves: yes' in an order.",
    )


def _require_free(chosen: argparse.Namespace, bank: Bank, entry: OwnEntry) -> None:
    """Raises Mistake where the banks or the folder have a kind of this name, and it is not to be replaced."""
    there = chosen.as_entry / "archetypes" / f"{entry.key}.yaml"
    if there.exists() and not chosen.replace:
        raise Mistake(
            "this file is there already",
            where=Where(str(there)),
            do="Say --replace, or give the experiment another name.",
        )
    if entry.key in bank.archetypes and not there.exists():
        raise Mistake(
            f"there is a kind of question called '{entry.key}' already",
            where=Where("command line", entry="--as-entry"),
            expected="another name for the experiment",
        )


def _files(entry: OwnEntry, folder: Path) -> dict[str, str]:
    """Every file as it will be: the entry's own, and those that are added to."""
    found = {f"archetypes/{entry.key}.yaml": entry.archetype}
    shared = {"contexts.yaml": entry.scene, "materials.yaml": entry.material, "substances.yaml": entry.substance}
    for name, text in shared.items():
        there = (folder / name).read_text("utf-8") if (folder / name).exists() else ""
        if text and text.splitlines()[0] not in there.splitlines():
            found[name] = f"{there or _FIRST[name]}{'' if not there or there.endswith(chr(10)) else chr(10)}{text}"
    return found


def _written(entry: OwnEntry, folder: Path, replace: bool) -> Iterator[str]:
    from molewright.machine.files import Staging

    files = _files(entry, folder)
    own = f"archetypes/{entry.key}.yaml"
    before = {name for name in files if (folder / name).exists()}
    with Staging(folder, replace=True) as shared:
        for name in files:
            if name != own:
                shared.add(name, files[name].encode())
    with Staging(folder / "archetypes", replace=replace) as alone:
        alone.add(f"{entry.key}.yaml", files[own].encode())
    for name in files:
        how = "" if name not in before else " (replaced)" if name == own else " (added to)"
        yield f"{folder / name}{how}"
