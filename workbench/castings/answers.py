"""Several questions asked one by one: what is refused is kept with its reason."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from workbench.errors import Refusal

T = TypeVar("T")


class Answers:
    """Asks, and keeps in `refused` the sentence of each refusal under the name of the question."""

    def __init__(self) -> None:
        self.refused: dict[str, str] = {}

    def of(self, name: str, question: Callable[[], T]) -> T | None:
        """Give the answer, or None where it is refused."""
        try:
            return question()
        except Refusal as refusal:
            self.refused[name] = str(refusal)
            return None
