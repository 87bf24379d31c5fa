"""Which channel each column is: first by name and unit, then by what its values do."""

from collections.abc import Sequence

from tui.feed.adopting.directions import with_directions
from tui.feed.adopting.guesses import by_behaviour, the_only_volume
from tui.feed.adopting.naming import by_name
from tui.feed.adopting.pressure_checks import checked, with_rivals
from tui.feed.adopting.proposals import Proposal, SeenColumn
from tui.feed.channels import self_named
from tui.feed.dialect import Dialect


def channels_of(columns: Sequence[SeenColumn], dialect: Dialect) -> list[Proposal]:
    """A proposal for every column but those of the time, in the order of the header."""
    own = {
        gauge.columns[0]: name for name, gauges in self_named(dialect).items() for gauge in gauges
    }
    named = [by_name(column, own) for column in columns if not column.is_time]
    told = by_behaviour(the_only_volume(named))
    return with_directions(checked(with_rivals(told)), own)
