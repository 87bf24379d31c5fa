"""Bytes into whole lines: encoding, line ends, and the unfinished last line that waits."""

import codecs
import re

LONGEST_LINE = 64 * 1024
"""Bytes of a line beyond which it is not read as a row."""

BLANKS = " \r\n\0\ufeff"
"""What is cut from both ends of a line: also the NULs that a crash leaves before the next row."""


_FIRST_FILLED = re.compile(rb"[\r\n\0 \t]*[^\r\n\0 \t][^\r\n]*[\r\n]")


def has_first_line(head: bytes) -> bool:
    """Whether the first line that holds something is whole: it tells the encoding."""
    return _FIRST_FILLED.match(head) is not None


def line_end(head: bytes) -> str | None:
    """How lines end, from the first line on: "\\n" (also behind "\\r") or "\\r"; None: wait."""
    flat = head.replace(b"\0", b"")
    feed, back = flat.find(b"\n"), flat.find(b"\r")
    if back < 0 or 0 <= feed < back:
        return "\n" if feed >= 0 else None
    behind = flat[back + 1 : back + 2]
    if not behind:
        return None
    return "\n" if behind in (b"\n", b"\r") else "\r"


def sniff_encoding(head: bytes, pinned: str | None = None) -> str:
    """The codec of a file from its byte order mark or the look of its first line.

    UTF-8 stands for Windows-1252 as well: a line that is no UTF-8 is read as that.

    Raises:
        LookupError: the pinned encoding is unknown.

    Example:
        >>> sniff_encoding("Time;Pc\\n".encode("utf-16"))
        'utf-16-le'
    """
    if pinned is not None:
        name = codecs.lookup(pinned).name
        if name in ("utf-16", "utf-32"):
            big = head.startswith((codecs.BOM_UTF16_BE, codecs.BOM_UTF32_BE))
            return f"{name}-{'be' if big else 'le'}"
        return {"utf-8-sig": "utf-8", "ascii": "utf-8"}.get(name, name)
    if head.startswith(codecs.BOM_UTF8):
        return "utf-8"
    if head.startswith(codecs.BOM_UTF16_LE):
        return "utf-16-le"
    if head.startswith(codecs.BOM_UTF16_BE):
        return "utf-16-be"
    line = _FIRST_FILLED.match(head)
    first = head if line is None else line[0]
    pairs = len(first) // 2
    odd, even = first[1::2].count(0), first[0::2].count(0)
    if pairs and odd > 0.6 * pairs and even < 0.2 * pairs:
        return "utf-16-le"
    if pairs and even > 0.6 * pairs and odd < 0.2 * pairs:
        return "utf-16-be"
    return "utf-8"


def _width(encoding: str) -> int:
    return 2 if encoding.startswith("utf-16") else 4 if encoding.startswith("utf-32") else 1


def whole_lines(chunk: bytes, encoding: str, ends: str) -> int:
    """How many bytes of the chunk are whole lines.

    A line may end within a pair of bytes: a logger that was killed in the middle of a character
    goes on behind its first half.
    """
    mark = ends.encode(encoding)
    return chunk.rfind(mark) + len(mark) if mark in chunk else 0


def first_line(chunk: bytes, encoding: str, ends: str) -> int:
    """How many bytes the first whole line of the chunk has; 0 if there is none."""
    mark = ends.encode(encoding)
    return chunk.find(mark) + len(mark) if mark in chunk else 0


def decode(whole: bytes, encoding: str, ends: str) -> tuple[list[str], bool]:
    """Whole lines as text, and whether some of them were Windows-1252 instead of UTF-8."""
    if encoding != "utf-8":
        lines = whole.decode(encoding, "replace").split(ends)[:-1]
        if _width(encoding) > 1 and len(lines) != whole.count(ends.encode(encoding)):
            lines = _one_by_one(whole, encoding, ends)
        return lines, False
    try:
        return whole.decode("utf-8").split(ends)[:-1], False
    except UnicodeDecodeError:
        lines = []
        for line in whole.split(ends.encode())[:-1]:
            try:
                lines.append(line.decode("utf-8"))
            except UnicodeDecodeError:
                lines.append(line.decode("cp1252", "replace"))
        return lines, True


def _one_by_one(whole: bytes, encoding: str, ends: str) -> list[str]:
    """Lines of which one has half a character too much: it must not turn those behind it."""
    parts = whole.split(ends.encode(encoding))[:-1]
    odd = [len(part) % _width(encoding) for part in parts]
    # NULs before a row, left by a crash, need not be pairs.
    return [
        (part[more:] if part.startswith(b"\0" * max(more, 1)) else part).decode(encoding, "replace")
        for part, more in zip(parts, odd, strict=True)
    ]


def too_long(line: str, encoding: str) -> bool:
    """Whether a line is beyond what is read as a row, counted in the bytes of the file."""
    width = _width(encoding)
    if len(line) * max(width, 4) <= LONGEST_LINE:
        return False
    return len(line) * width > LONGEST_LINE or (
        width == 1 and len(line.encode("utf-8", "replace")) > LONGEST_LINE
    )
