"""Write a file whole or not at all, and several files all or none."""

from __future__ import annotations

import errno
import os
import tempfile
from collections.abc import Container, Iterable, Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from pathlib import Path

_waiting: ContextVar[dict[Path, Path] | None] = ContextVar("_waiting", default=None)
"""Files of a block that are written and have not taken their places: place to where it waits."""


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
        OSError: if it cannot be written; it names the file, and what was there before is untouched.
    """
    target, waiting = Path(os.path.realpath(path)), _waiting.get()
    if target.is_dir():  # told now: of files written together none has taken its place yet
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
    try:
        written = _written_beside(target, data)
        if waiting is None:
            _take_places({target: written})
        else:
            earlier = waiting.pop(target, None)
            waiting[target] = written
            _remove([earlier] if earlier else [])
    except OSError as fault:
        raise OSError(fault.errno, fault.strerror or str(fault), str(path)) from None


@contextmanager
def written_together(folder: str | os.PathLike[str]) -> Iterator[Path]:
    """Make a folder for results; what a block writes takes its place at the end, all or none.

    Inside another such block, all or none is a matter of the outer one.

    Args:
        folder: made if it is not there, and gone again if the block raises.

    Yields:
        the folder.

    Raises:
        OSError: if the folder cannot be made or a file cannot be written; no file has then changed.
    """
    place = Path(folder)
    if _waiting.get() is not None:
        place.mkdir(parents=True, exist_ok=True)
        yield place
        return
    there = {place, *place.parents, *_folders_in(place)}
    there = {each for each in there if each.exists()}
    waiting: dict[Path, Path] = {}
    token = _waiting.set(waiting)
    try:
        place.mkdir(parents=True, exist_ok=True)
        yield place
        _take_places(waiting)
    except BaseException:
        _remove(waiting.values())
        _remove_empty([*_folders_in(place), place, *place.parents], there)
        raise
    finally:
        _waiting.reset(token)


def _written_beside(target: Path, data: bytes) -> Path:
    """Return a file in the same folder that holds the data, safe on the disk."""
    handle, name = tempfile.mkstemp(prefix=f".{target.name[:80]}.", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(_mode_for(target))
    except BaseException:
        _remove([Path(name)])
        raise
    return Path(name)


def _take_places(waiting: dict[Path, Path]) -> None:
    try:
        for target, written in waiting.items():
            written.replace(target)
    except BaseException:
        _remove(waiting.values())
        raise


def _remove(files: Iterable[Path]) -> None:
    for file in files:
        file.unlink(missing_ok=True)


def _folders_in(place: Path) -> list[Path]:
    """Return the folders right below a place, which may not be there."""
    with suppress(OSError):
        return [each for each in place.iterdir() if each.is_dir()]
    return []


def _remove_empty(folders: Iterable[Path], there: Container[Path]) -> None:
    """Remove empty folders that were not there before."""
    for folder in folders:
        if folder not in there:
            with suppress(OSError):  # not empty, or gone
                folder.rmdir()


def _mode_for(target: Path) -> int:
    """Return the permissions of the file there now, or those a new file gets."""
    if target.exists():
        return target.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
