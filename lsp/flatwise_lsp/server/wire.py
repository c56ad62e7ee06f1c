"""Messages as they come over a pipe: cut out of a stream of bytes, and read as JSON.

In the place of pygls' loop, which hears nothing more for the rest of a session after one wrong length: what follows
then begins in the middle of a line.  Here a header counts wherever a line ends with it, since no JSON can hold one:
a line break in a string is always escaped.
Source: Language Server Protocol specification 3.17, "Base Protocol"; its headers are those of HTTP (RFC 7230,
section 3.2: names in any case, spaces around the value).
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any, NoReturn

#: bytes that a message may have; a longer one is taken for a wrong length
LONGEST = 100_000_000
#: bytes of a line that are looked at: no header is longer
_TAIL = 200

_LENGTH = re.compile(rb"content-length[ \t]*:[ \t]*(\d{1,12})[ \t]*\r?$", re.I)
_INSIDE = re.compile(rb"content-length[ \t]*:[ \t]*\d{1,12}[ \t]*\r\n", re.I)


class Broken(ValueError):
    """What came in the place of a message and is none."""


def _constant(word: str) -> NoReturn:
    raise ValueError(f"{word} is no JSON")


def read(body: bytes) -> Any:
    """The JSON of a body; Broken where it is none."""
    try:
        return json.loads(body.decode("utf-8"), parse_constant=_constant)
    except (ValueError, RecursionError) as error:
        raise Broken(str(error)) from None


class Wire:
    """Gives the messages of a stream, whatever pieces it comes in."""

    def __init__(self) -> None:
        self._held = bytearray()
        #: bytes of the body that is waited for; None within a header without a length so far
        self._length: int | None = None
        self._in_body = False
        #: how far the body that is waited for has been searched for a header
        self._searched = 0

    @property
    def in_body(self) -> bool:
        """Whether a message has begun and not ended."""
        return self._in_body

    def feed(self, data: bytes) -> Iterator[Any]:
        """Every message that ends in these bytes; Broken (not raised) for one that is no JSON."""
        self._held += data
        while True:
            if not self._in_body:
                if not self._header():
                    return
                continue
            assert self._length is not None
            # where a header stands in a body, the length was wrong and another message has begun
            found = _INSIDE.search(self._held, self._searched, self._length)
            if found is not None:
                self._again(found.start())
                yield Broken("its length goes beyond its end")
                continue
            if len(self._held) < self._length:
                self._searched = max(0, len(self._held) - _TAIL)
                return
            try:
                message = read(bytes(memoryview(self._held)[: self._length]))
            except Broken as broken:
                # its length may be wrong: what it covers is looked through for the next header
                message = broken
                self._again(max(0, self._length - _TAIL))
            else:
                self._again(self._length)
            yield message

    def _again(self, gone: int) -> None:
        """Look for a header from here on."""
        del self._held[:gone]
        self._length, self._in_body, self._searched = None, False, 0

    def _header(self) -> bool:
        """Read header lines up to a body; False where more must come first."""
        start = 0
        while (end := self._held.find(b"\n", start)) >= 0:
            line = bytes(self._held[max(start, end - _TAIL) : end])
            start = end + 1
            if line in (b"\r", b"") and self._length is not None:
                del self._held[:start]
                self._in_body, self._searched = True, 0
                return True
            found = _LENGTH.search(line)
            if found is not None:
                length = int(found[1])
                self._length = length if 0 < length <= LONGEST else None
        del self._held[: max(start, len(self._held) - _TAIL)]
        return False
