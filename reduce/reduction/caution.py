"""One doubt about a test, and where it comes from."""

from dataclasses import dataclass

COMMON_PRACTICE = "common practice"
OF_STANDARD = ("after ", "against ")
"""How the clause of a departure from a standard begins; what was done as it wants is none."""


@dataclass(frozen=True, slots=True)
class Caution:
    """One doubt."""

    what: str
    """With quantity, value and bound."""
    clause: str
    """The standard's word behind it ("after ASTM D4767, …"), or "common practice"."""

    @property
    def departs(self) -> bool:
        """Whether the test did not do what its standard wants."""
        return self.clause.startswith(OF_STANDARD)


def percent(share: float, digits: int = 1) -> str:
    """A ratio as text.

    Example:
        >>> percent(0.0315)
        '3.1 %'
    """
    return f"{100.0 * share:.{digits}f} %"
