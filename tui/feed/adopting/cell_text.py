"""The text of the `cell.toml` that is proposed; whatever is in doubt stands in it as a comment."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from tui.feed.adopting.clocks import column_entry
from tui.feed.adopting.proposals import Adoption, Doubt, Proposal, TimeProposal
from tui.settings.channel_names import NUMERIC_CHANNELS, TEXT_CHANNELS
from tui.settings.problems import clean

_ESCAPED = {
    '"': '\\"',
    "\\": "\\\\",
    "\b": "\\b",
    "\t": "\\t",
    "\n": "\\n",
    "\f": "\\f",
    "\r": "\\r",
}

SKELETON = """\
# What follows describes a test. Take the # away and fill in when one starts:
# until then the cell stands idle. Every quantity brings its unit.
#
# [test]
# id = "T001"
# kind = "CU"                  # CU, CD or UU
# standard = "ASTM D4767"      # or ASTM D7181, ISO 17892-9, BS 1377-8 …
# started = "{started}"
#
# [specimen]
# diameter = "50.0 mm"
# height = "100.0 mm"
# mass = "380 g"
# water_content = "31 %"
# particle_density = "2.70 Mg/m3"
# drainage = "radial + one end"    # one end, both ends, radial, radial + …
# membrane = {{ thickness = "0.30 mm" }}
#
# [plan]
# effective_stress = "150 kPa"
# cell_step = "50 kPa"
# excess = "10 kPa"
"""


def quoted(text: str) -> str:
    """A text as TOML writes it, whatever letters it has.

    Example:
        >>> quoted('P"c\\x1b')
        '"P\\\\"c\\\\u001B"'
    """
    return '"' + "".join(_letter(letter) for letter in text) + '"'


def _letter(letter: str) -> str:
    if letter in _ESCAPED:
        return _ESCAPED[letter]
    if letter.isprintable():
        return letter
    code = ord(letter)
    if 0xD800 <= code <= 0xDFFF:
        return "\\uFFFD"  # half of a pair, which TOML cannot hold
    return f"\\u{code:04X}" if code <= 0xFFFF else f"\\U{code:08X}"


def _value(value: Any) -> str:
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{key} = {_value(one)}' for key, one in value.items())} }}"
    if isinstance(value, (list, tuple)):
        return f"[{', '.join(_value(one) for one in value)}]"
    return str(value)


def settings_text(adoption: Adoption) -> str:
    """Of `[cell]`, `[log]` and `[log.channels]`."""
    return "\n".join((*_hardware(adoption), "", *_log(adoption), "", *_channels(adoption))) + "\n"


def cell_text(adoption: Adoption) -> str:
    """The whole file, with a skeleton of the tables of a test."""
    started = adoption.first_row or "2031-02-03T08:00"
    return f"{settings_text(adoption)}\n{SKELETON.format(started=started)}"


def _hardware(adoption: Adoption) -> Iterator[str]:
    yield "# Proposed by porewatch adopt from the logs in this folder."
    if adoption.doubts:
        yield '# A line under "# doubtful" waits for you: settle it, take its # away.'
    yield ""
    yield "[cell]"
    yield f"name = {quoted(adoption.name)}"
    yield '# rating = "1000 kPa"    # as the plate on the cell says'
    yield '# piston = { diameter = "20 mm", load_cell = "internal" }'


def _doubtful(doubts: Sequence[Doubt]) -> Iterator[str]:
    for doubt in doubts:
        yield f"# doubtful: {clean(doubt.what)}"


def _log(adoption: Adoption) -> Iterator[str]:
    yield "[log]"
    open_keys = {doubt.key: doubt for doubt in adoption.other_doubts}
    if doubt := open_keys.get("log.files"):
        yield from _doubtful((doubt,))
        yield f"# files = {quoted(adoption.files)}"
    else:
        yield f"files = {quoted(adoption.files)}"
    if adoption.live is not None:
        yield f"live = {quoted(adoption.live)}"
    if doubt := open_keys.get("log.decimal"):
        yield from _doubtful((doubt,))
        yield '# decimal = ","'
    yield from _time(adoption.time)
    if adoption.phases and _phase_is_sure(adoption):
        yield f"phases = {_phases(adoption.phases)}"


def _phase_is_sure(adoption: Adoption) -> bool:
    return all(one.sure for one in adoption.columns if one.channel == "phase")


def _phases(phases: Mapping[str, str]) -> str:
    inner = ", ".join(f"{quoted(word)} = {quoted(phase)}" for word, phase in phases.items())
    return f"{{ {inner} }}"


def _time(time: TimeProposal) -> Iterator[str]:
    sure = column_entry(time.columns)
    if time.kind != "clock":
        sure["kind"] = time.kind
    if time.format is not None:
        sure["format"] = time.format
    if time.start is not None:
        sure["start"] = time.start
    if not time.doubts:
        if sure:
            yield f"time = {_value(sure)}"
        return
    yield from _doubtful(time.doubts)
    for choice in time.choices or (sure,):
        yield f"# time = {_value(choice)}"


def _channels(adoption: Adoption) -> Iterator[str]:
    order = (*NUMERIC_CHANNELS, *TEXT_CHANNELS)
    named = [one for one in adoption.columns if one.channel is not None]
    named.sort(key=lambda one: order.index(one.channel or ""))
    yield "[log.channels]" if any(one.sure for one in named) else "# [log.channels]"
    loads = [one for one in named if one.channel == "axial_load"]
    for one in named:
        if one in loads and len(loads) > 1:
            if one is loads[0]:
                yield from _several(loads)
            continue
        yield from _doubtful(one.doubts)
        if one.channel == "phase" and not one.sure and adoption.phases:
            yield f"# phases = {_phases(adoption.phases)}    # belongs under [log]"
        yield f"{'' if one.sure else '# '}{one.channel} = {_value(gauge(one))}"


def _several(loads: Sequence[Proposal]) -> Iterator[str]:
    """Several load cells: what is missing is the range of each, which no log tells."""
    yield from _doubtful(tuple(dict.fromkeys(doubt for one in loads for doubt in one.doubts)))
    entries = [gauge(one) | {"range": f"0 to ? {one.unit}"} for one in loads]
    yield f"# axial_load = {_value(entries)}"


def gauge(one: Proposal) -> dict[str, Any]:
    """A proposal as an entry of `[log.channels]`."""
    entry: dict[str, Any] = {"column": one.column.name}
    if one.unit is not None:
        entry["unit"] = one.unit
    if one.sign < 0:
        entry["sign"] = -1
    return entry
