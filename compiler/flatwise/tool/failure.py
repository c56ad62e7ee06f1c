"""What stops the tool itself, in words: what the system refused, and what is a fault in flatwise."""

from __future__ import annotations

import errno
import os
from pathlib import Path

from flatwise import __version__

_IN_THE_WAY = "a file is in the way where a folder is needed; move it or choose another folder"
_WAYS = {
    "ENOSPC": "the disk is full; free some room and try again",
    "EDQUOT": "the disk quota is used up; free some room and try again",
    "EFBIG": "the system does not let a file grow that large; choose another disk or raise the limit",
    "EROFS": "the file system is read-only; choose another folder",
    "EACCES": "this place may not be written or read by you; change its rights or choose another folder",
    "EPERM": "this place may not be changed by you; choose another folder",
    "ENOTDIR": _IN_THE_WAY,
    "EEXIST": _IN_THE_WAY,
    "ENAMETOOLONG": "the name is too long for this file system; choose a shorter one",
}


def reason(error: OSError) -> str:
    """What the system said, in one sentence with the way out and the place."""
    known = errno.errorcode.get(error.errno or 0, "")
    name = str(error.filename or "")
    where = f" ({name if len(name) <= 200 else name[:100] + '…' + name[-99:]})" if name else ""
    return (_WAYS.get(known) or error.strerror or str(error)) + where + "."


def report(error: Exception) -> str:
    """An unexpected exception, for whoever looks after flatwise: short, and without folders of this machine."""
    import platform
    import traceback

    import flatwise_grammar

    packages = [Path(__file__).parent, Path(flatwise_grammar.__file__).parent]
    frames = traceback.extract_tb(error.__traceback__)
    ours = [frame for frame in frames if any(Path(frame.filename).is_relative_to(each) for each in packages)] or frames
    place = f"{Path(ours[-1].filename).name} line {ours[-1].lineno}, in {ours[-1].name}" if ours else "an unknown place"
    said = str(error)
    for package in packages:
        said = said.replace(str(package.parent) + os.sep, "")
    return (
        "flatwise: this is a fault in flatwise, not in the job, which was not written.\n"
        "Please report it with these lines and the job file:\n"
        f"  flatwise {__version__}, Python {platform.python_version()}, {platform.system()}\n"
        f"  {type(error).__name__}: {said}\n"
        f"  at {place}"
    )
