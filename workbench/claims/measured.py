"""What a threat needs to know of an analysis, whichever figure of the families it is of."""

from __future__ import annotations

from typing import Protocol

from workbench.castings.measuring import SharedError


class WithError(Protocol):
    """A difference that knows how uncertain it is."""

    @property
    def standard_error(self) -> float:
        """Its standard uncertainty, in the unit of the claim."""


class Measured(Protocol):
    """An analysis that says how much of its difference measuring alone leaves open."""

    @property
    def difference(self) -> WithError:
        """Candidate minus reference, the shared error of measuring counted in."""

    @property
    def shared(self) -> SharedError:
        """What measuring alone leaves in the difference."""
