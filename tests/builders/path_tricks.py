"""Names of files that lead elsewhere, and a folder in which they might."""

import os
import random
from pathlib import Path

SECRET = "Canary 8471"
"""Stands in the file that nothing may read."""

SECRET_FILE = f"""\
[coefficients]
start_froude = {{ value = 0.33, from = "{SECRET}" }}
"""
SECRET_SHEET = f"{SECRET},{SECRET}\n1,2\n"

TRICKS = [
    "../outside/secret{end}", "{folder}/outside/secret{end}", "link{end}", "linked/secret{end}",
    "loop{end}", "pipe{end}", "sub", "sub/../../outside/secret{end}", "./sub/sound{end}",
    "sound{end}", "SOUND{end}", "sub/sound{end}", "sub//sound{end}", "", ".", "..", "/", "~",
    "~/secret{end}", "file:///etc/passwd", "file://{folder}/outside/secret{end}", "/etc/passwd",
    "/dev/zero", "/dev/stdin", "/dev/tty", "/proc/self/environ", "/proc/self/mem", "sound\0{end}",
    "\0", "x" * 300 + "{end}", "sub/" * 900 + "sound{end}", "../" * 400 + "etc/passwd", "CON",
    "con{end}", "C:\\secret{end}", "C:/secret{end}", "\\\\server\\share\\secret{end}",
    "..\\outside\\secret{end}", "%2e%2e/outside/secret{end}", "..%2foutside%2fsecret{end}",
    "sound{end}\n", " sound{end}", "sound{end}/", "sound{end}/../../outside/secret{end}",
    "big{end}", "empty{end}", "sound{end}.bak", "$HOME/secret{end}", "`touch evil`",
    "$(touch evil){end}", "| touch evil", "; touch evil",
    "https://example.org/secret{end}", "-rf", "*{end}",
    "s?und{end}", "\u202e{end}", "\u017found{end}", "sound\u2024toml", "💧{end}",
    "..;/outside/secret{end}",
]  # fmt: skip


def lay_out_tricks(folder: Path, home: Path, sound: str, end: str) -> None:
    """Put what the names lead to into a folder: ``home`` is where the file that names them lies."""
    outside = folder / "outside"
    outside.mkdir()
    (outside / f"secret{end}").write_text(
        SECRET_SHEET if end == ".csv" else SECRET_FILE, encoding="utf-8"
    )
    (home / "sub").mkdir()
    for place in (home, home / "sub"):
        (place / f"sound{end}").write_text(sound, encoding="utf-8")
    (home / f"empty{end}").touch()
    (home / f"big{end}").write_text("# " + "x" * 600_000, encoding="utf-8")
    if os.name == "posix":
        (home / f"link{end}").symlink_to(outside / f"secret{end}")
        (home / "linked").symlink_to(outside)
        (home / f"loop{end}").symlink_to(home / f"loop{end}")
        os.mkfifo(home / f"pipe{end}")


def path_trick(rng: random.Random, folder: Path, end: str) -> str:
    """Return a name that a file might give of another one."""
    return rng.choice(TRICKS).replace("{folder}", str(folder)).replace("{end}", end)
