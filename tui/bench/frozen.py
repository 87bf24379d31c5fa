"""States as bytes and back, for what is put aside in memory or beside the bench.

Nothing of it is code: only our own classes and plain values come to life, whoever wrote the bytes.
"""

import copyreg
import io
import pickle
import zlib
from importlib import import_module
from typing import Any
from zoneinfo import ZoneInfo

_OURS = ("tui.feed.", "tui.bench.", "tui.settings.", "reduce.")
_OTHERS = {
    ("tui.bench.readings", "readings_of"),
    ("collections", "deque"),
    ("datetime", "datetime"),
    ("datetime", "timedelta"),
    ("datetime", "timezone"),
    ("numpy", "dtype"),
    ("numpy", "ndarray"),
    ("numpy._core.numeric", "_frombuffer"),
    ("numpy._core.multiarray", "_reconstruct"),
    ("numpy._core.multiarray", "scalar"),
    ("zoneinfo", "ZoneInfo"),
    ("pathlib", "PosixPath"),
    ("pathlib", "WindowsPath"),
}


class _Writer(pickle.Pickler):
    # A table, not `persistent_id`: that would ask about every single number.
    dispatch_table = copyreg.dispatch_table | {ZoneInfo: lambda zone: (ZoneInfo, (zone.key,))}


class _Reader(pickle.Unpickler):
    def find_class(self, module_name: str, global_name: str) -> Any:
        if (module_name, global_name) not in _OTHERS and not module_name.startswith(_OURS):
            raise pickle.UnpicklingError(f"{module_name}.{global_name} has no place here")
        found = getattr(import_module(module_name), global_name)
        if not isinstance(found, type) and (module_name, global_name) not in _OTHERS:
            raise pickle.UnpicklingError(f"{module_name}.{global_name} is no class")
        return found


def written(state: object) -> bytes:
    """A state as bytes.

    Raises:
        pickle.PicklingError, TypeError, AttributeError: it holds what cannot be kept.
    """
    out = io.BytesIO()
    _Writer(out, protocol=5).dump(state)
    return out.getvalue()


def read(content: bytes) -> Any:
    """The state that was written.

    Raises:
        pickle.UnpicklingError and others: whatever damaged or forged bytes bring about.
    """
    return _Reader(io.BytesIO(content)).load()


def packed(state: object) -> bytes:
    """A state in few bytes; see `written`."""
    return zlib.compress(written(state), 1)


def unpacked(content: bytes) -> Any:
    """The state that was packed; see `read`."""
    return read(zlib.decompress(content))
