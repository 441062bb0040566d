"""Write a file whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def write_text_whole(path: str | os.PathLike[str], text: str) -> None:
    """Write text as UTF-8 with line feeds as given, whole or not at all.

    Args:
        path: where to; its folder must be there. A file of that name is replaced at once.
        text: what to write.

    Raises:
        OSError: if it cannot be written; what was there before is then untouched.
        UnicodeEncodeError: for text that has no UTF-8 form (a lone surrogate).
    """
    write_bytes_whole(path, text.encode("utf-8"))


def write_bytes_whole(path: str | os.PathLike[str], data: bytes) -> None:
    """Write bytes, whole or not at all: to a file beside it, then renamed over it.

    A reader sees the old file or the new one, never a part. A new file gets the permissions any
    new file would; a replaced one keeps its own.

    Args:
        path: where to; its folder must be there.
        data: what to write.

    Raises:
        OSError: if it cannot be written; what was there before is then untouched.
    """
    target = Path(os.path.realpath(path))
    handle, name = tempfile.mkstemp(prefix=f".{target.name[:80]}.", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(_mode_for(target))
        Path(name).replace(target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _mode_for(target: Path) -> int:
    """Return the permissions of the file there now, or those a new file gets."""
    if target.exists():
        return target.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
