"""The scenes that each question could be set in come in; one for each goes out, so that none comes twice while that can be had."""

from __future__ import annotations

from collections.abc import Sequence


class FreshScenes:
    """Questions taken one by one, each with the scenes that it could have; whether one more still gets a scene of its own."""

    def __init__(self) -> None:
        self._could: list[tuple[str, ...]] = []
        self._holder: dict[str, int] = {}  # scene, and the question that has it

    def take(self, scenes: Sequence[str]) -> bool:
        """One more question; whether it gets a scene that no other has, for which others may move to another of theirs."""
        self._could.append(tuple(scenes))
        return self._seated(len(self._could) - 1, set())

    def fits(self, scenes: Sequence[str]) -> bool:
        """Whether one more question with these scenes would get one of its own. It is not taken."""
        before = dict(self._holder)
        found = self.take(scenes)
        self._could.pop()
        self._holder = before
        return found

    def _seated(self, number: int, seen: set[str]) -> bool:
        for scene in self._could[number]:
            if scene in seen:
                continue
            seen.add(scene)
            if scene not in self._holder or self._seated(self._holder[scene], seen):
                self._holder[scene] = number
                return True
        return False

    @property
    def scenes(self) -> tuple[str, ...]:
        """The scene of each question in the order they were taken; "" for one that has none of its own."""
        held = {number: scene for scene, number in self._holder.items()}
        return tuple(held.get(number, "") for number in range(len(self._could)))
