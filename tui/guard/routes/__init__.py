"""Ways to reach a person: the address in a variable of the environment tells which."""

from tui.guard.routes.addresses import Way, way_of
from tui.guard.routes.failures import AddressError, FailedError

__all__ = ["AddressError", "FailedError", "Way", "way_of"]
