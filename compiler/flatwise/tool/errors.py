"""Texts for what stops the tool itself: an error of the operating system, or a bug in flatwise."""

from __future__ import annotations

import errno
import os
from pathlib import Path

from flatwise import __version__

_IN_THE_WAY = "a file is where a folder is needed; move it or choose another folder"
_WAYS_OUT = {
    "ENOSPC": "the disk is full; free some space and try again",
    "EDQUOT": "the disk quota is used up; free some space and try again",
    "EFBIG": "the system does not allow a file of this size; choose another disk or raise the limit",
    "EROFS": "the file system is read-only; choose another folder",
    "EACCES": "you have no permission to read or write here; change the permissions or choose another folder",
    "EPERM": "you have no permission to change this; choose another folder",
    "ENOTDIR": _IN_THE_WAY,
    "EEXIST": _IN_THE_WAY,
    "ENAMETOOLONG": "the name is too long for this file system; choose a shorter one",
}


def system_error(error: OSError) -> str:
    """An error of the operating system in one sentence, with the way out and the path."""
    known = errno.errorcode.get(error.errno or 0, "")
    name = str(error.filename or "")
    where = f" ({name if len(name) <= 200 else name[:100] + '…' + name[-99:]})" if name else ""
    return (_WAYS_OUT.get(known) or error.strerror or str(error)) + where + "."


NO_MEMORY = "the system gives no more memory; close other programs and try again"


def bug_report(error: Exception, job: str = "") -> str:
    """An unexpected exception for the maintainers: short, and without folders of this machine."""
    import platform
    import traceback

    import flatwise_grammar

    packages = [Path(__file__).parents[1], Path(flatwise_grammar.__file__).parent]
    frames = traceback.extract_tb(error.__traceback__)
    ours = [frame for frame in frames if any(Path(frame.filename).is_relative_to(each) for each in packages)] or frames
    place = f"{Path(ours[-1].filename).name} line {ours[-1].lineno}, in {ours[-1].name}" if ours else "an unknown place"
    message = str(error)
    for package in packages:
        message = message.replace(str(package.parent) + os.sep, "")
    return (
        f"flatwise: this is a bug in flatwise, not an error in {f'job {job}' if job else 'the job'}; nothing was "
        "written for it.\n"
        "Please report it with these lines and the job file:\n"
        f"  flatwise {__version__}, Python {platform.python_version()}, {platform.system()}\n"
        f"  {type(error).__name__}: {message}\n"
        f"  at {place}"
    )
