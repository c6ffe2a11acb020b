"""The command line and environment a sound helper is started with.

Owns where the helper finds the package, what its libraries may write, and what it is
given of the person's environment: keys and tokens lie there too, and a helper that
loads the sound libraries of the machine has no use for them. Starts nothing itself.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Final

# Which variables the libraries read is from memory of their manuals.
_ANY_PROGRAM: Final = frozenset(
    {
        # Commands and shared libraries are found by these; pw-jack and package
        # managers of their own set the latter.
        *("PATH", "LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH", "DYLD_FALLBACK_LIBRARY_PATH"),
        # Settings, cookies and temporary files of the libraries lie under these.
        *("HOME", "XDG_CONFIG_HOME", "XDG_CONFIG_DIRS", "TMPDIR", "TEMP", "TMP"),
        # What a system's message says, and how names of files are encoded.
        *("LANG", "LANGUAGE"),
        # Windows starts no program and finds no library without them.
        *("SYSTEMROOT", "SYSTEMDRIVE", "WINDIR", "COMSPEC", "PATHEXT"),
        *("USERPROFILE", "APPDATA", "LOCALAPPDATA", "PROGRAMDATA"),
    }
)
_LOCALE: Final = ("LC_",)
# The sound server's socket lies in the runtime folder; where there is none, or a
# desktop's portal is asked, the bus leads to it.
_SOUND: Final = frozenset({"XDG_RUNTIME_DIR", "DBUS_SESSION_BUS_ADDRESS"})
_SOUND_FAMILIES: Final = ("PULSE_", "ALSA_", "PIPEWIRE_", "JACK_")
# An interpreter started like this one finds the same packages in the same way.
_PYTHON: Final = ("PYTHON",)
_ENGINE: Final = ("ESPEAK_",)


def helper_command(choice: str = "") -> list[str]:
    """Build the helper's command line; `choice` is a backend's name or empty."""
    # -P: a module of the same name in the current folder must not be picked up.
    words = [sys.executable, "-P", "-m", "whistlestop.sound.helper"]
    return [*words, choice] if choice else words


def helper_environment(
    inherited: Mapping[str, str], log_path: Path | None
) -> dict[str, str]:
    """Build the helper's environment from the one inherited: what it needs of that.

    The package is findable from any folder, and the sound server's client
    library puts what it makes beside the log; without a log, in the home folder.
    """
    families = (*_LOCALE, *_SOUND_FAMILIES, *_PYTHON, *_ENGINE)
    needed = _of(inherited, _ANY_PROGRAM | _SOUND, families)
    root = str(Path(__file__).resolve().parents[2])
    already = inherited.get("PYTHONPATH")
    path = root if not already else root + os.pathsep + already
    environment = {**needed, "PYTHONPATH": path}
    if sys.platform == "linux":
        environment.update(_tidy_client(environment, log_path))
    return environment


def engine_environment(inherited: Mapping[str, str]) -> dict[str, str]:
    """Build the environment of the command that speaks: it opens no device."""
    return _of(inherited, _ANY_PROGRAM, (*_LOCALE, *_ENGINE))


def _of(
    inherited: Mapping[str, str], names: frozenset[str], families: tuple[str, ...]
) -> dict[str, str]:
    """The variables of these names, and those whose names begin like this."""
    return {
        name: value
        for name, value in inherited.items()
        if name in names or name.startswith(families)
    }


def _tidy_client(
    environment: Mapping[str, str], log_path: Path | None
) -> dict[str, str]:
    """Point the PulseAudio client's own files to the folder of the log.

    It makes a cookie, and without XDG_RUNTIME_DIR a link to a temporary folder.
    A file that is there already may be needed to be let in, and stays in use.
    """
    if log_path is None:
        return {}
    tidy: dict[str, str] = {}
    ours = log_path.resolve().parent
    home = Path(environment.get("HOME") or os.devnull)
    config = Path(environment.get("XDG_CONFIG_HOME") or home / ".config") / "pulse"
    cookies = (config / "cookie", home / ".config/pulse/cookie", home / ".pulse-cookie")
    if "PULSE_COOKIE" not in environment and not any(map(os.path.exists, cookies)):
        tidy["PULSE_COOKIE"] = str(ours / "pulse-cookie")
    has_place = "PULSE_RUNTIME_PATH" in environment or "XDG_RUNTIME_DIR" in environment
    if not has_place and not any(config.glob("*-runtime")):
        tidy["PULSE_RUNTIME_PATH"] = str(ours / "pulse-runtime")
    return tidy
