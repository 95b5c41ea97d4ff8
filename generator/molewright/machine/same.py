"""An object comes in; a key goes out that is this very object, whatever others are equal to it. What is cached keeps its key alive."""

from __future__ import annotations


class Same:
    """A key for a cache: two are equal where they hold one and the same object, which lives as long as the key does.

    An id alone is no such key: once its object is gone, another one may have it.
    """

    __slots__ = ("held",)

    def __init__(self, held: object) -> None:
        self.held = held

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and other.held is self.held

    def __hash__(self) -> int:
        return id(self.held)
