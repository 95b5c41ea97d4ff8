"""A wheel that is built carries the plans of the built-in banks, so that the first paper of all need not wait for sympy."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class PlansHook(BuildHookInterface):  # type: ignore[type-arg]
    """Makes the plans with the code and the banks that are built, and has them carried beside the banks."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """A checkout that is installed as it lies (editable) makes its plans itself."""
        if version == "editable":
            return
        sys.path.insert(0, str(Path(self.root) / "generator"))
        from molewright.bank.readers.whole_bank import read_bank
        from molewright.machine.places import CARRIED_PLANS
        from molewright.survey.every_plan import every_plan

        self._folder = tempfile.TemporaryDirectory()
        made = Path(self._folder.name) / CARRIED_PLANS
        made.write_bytes(every_plan(read_bank()))
        build_data["force_include"][str(made)] = f"molewright/_carried/{CARRIED_PLANS}"

    def finalize(self, version: str, build_data: dict[str, Any], artifact_path: str) -> None:
        """The wheel is made: what was made for it is not needed any more."""
        if version != "editable":
            self._folder.cleanup()
