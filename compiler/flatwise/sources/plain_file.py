"""The bytes of a file that others may have made, regular files only and no more than a limit; and replacing files."""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Mapping
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


def put_all(contents: Mapping[Path, bytes]) -> None:
    """Replace files, each in one step: no reader and no failure sees half of one.

    A file keeps its permissions; a new one is readable by all.  Raises OSError if one can't be written: none is then
    replaced.
    """
    import shutil
    import tempfile

    ready: dict[Path, Path] = {}
    try:
        for path, content in contents.items():
            handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
            ready[path] = beside = Path(name)
            with os.fdopen(handle, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            if path.exists():
                shutil.copymode(path, beside)
            else:
                beside.chmod(0o644)
        for path, beside in ready.items():
            beside.replace(path)
    except BaseException:
        for beside in ready.values():
            beside.unlink(missing_ok=True)
        raise
