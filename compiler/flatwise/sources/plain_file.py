"""The bytes of a file that others may have made: regular files only, and no more than a limit."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

#: don't follow a link in the last step, and don't wait for the other end of a pipe
_PLAIN = sum(getattr(os, name, 0) for name in ("O_NOFOLLOW", "O_NONBLOCK", "O_NOCTTY"))


def read_plain_file(path: Path, limit: int) -> bytes:
    """All bytes of the regular file at `path`, whose links have been followed; at most `limit`.

    The path may have changed since it was checked, so the open file is checked again: it must be a regular one and
    still the one that the path names without a link.  Raises OSError with the reason, in words, in `strerror`.
    """
    with open(path, "rb", opener=lambda name, mode: os.open(name, mode | _PLAIN)) as file:
        status = os.fstat(file.fileno())
        if not stat.S_ISREG(status.st_mode):
            raise OSError(errno.EINVAL, "it is not a regular file", str(path))
        if os.path.realpath(path) != str(path) or not os.path.samestat(os.stat(path), status):
            raise OSError(errno.ESTALE, "it was exchanged while it was read", str(path))
        data = file.read(limit + 1)
    if len(data) > limit:
        raise OSError(errno.EFBIG, f"it has more than {limit:,} bytes", str(path))
    return data
