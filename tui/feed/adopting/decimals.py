"""Whether a comma in the numbers of a log could as well part thousands."""

import re
from collections.abc import Sequence

from tui.feed.adopting.clocks import fields_of
from tui.feed.adopting.columns import Looked
from tui.feed.adopting.log_files import SampledLog
from tui.feed.adopting.proposals import Doubt
from tui.feed.plain_text import plain

_NUMBER = re.compile(r"[-+]?\d*[.,]\d+$")
_COULD_PART = re.compile(r"[-+]?[1-9]\d{0,2},\d{3}$")


def decimal_doubt(logs: Sequence[SampledLog], looked: Looked) -> tuple[Doubt, ...]:
    """What is open about the decimal mark."""
    if len(looked.decimals) > 1:
        return (
            Doubt(
                "log.decimal",
                "some columns have decimal points, others decimal commas",
                'write decimal = "." or "," under [log]',
            ),
        )
    if looked.decimals != {","}:
        return ()
    fields = (field for log in logs for row in fields_of(log) for field in row)
    numbers = [field for field in fields if _NUMBER.match(field) and "," in field]
    if not numbers or not all(_COULD_PART.match(field) for field in numbers):
        return ()
    return (
        Doubt(
            "log.decimal",
            f'the comma in "{plain(numbers[0], 20)}" may be a decimal mark or part thousands',
            'write decimal = "," or "." under [log]; thousands are not read',
        ),
    )
