"""The command line and environment a sound helper is started with.

Owns where the helper finds the package and what its libraries may write. Starts
nothing itself.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path


def helper_command(choice: str = "") -> list[str]:
    """Build the helper's command line; `choice` is a backend's name or empty."""
    # -P: a module of the same name in the current folder must not be picked up.
    words = [sys.executable, "-P", "-m", "whistlestop.sound.helper"]
    return [*words, choice] if choice else words


def helper_environment(
    inherited: Mapping[str, str], log_path: Path | None
) -> dict[str, str]:
    """Build the helper's environment from the one inherited.

    The package is findable from any folder, and the sound server's client
    library puts what it makes beside the log; without a log, in the home folder.
    """
    root = str(Path(__file__).resolve().parents[2])
    already = inherited.get("PYTHONPATH")
    path = root if not already else root + os.pathsep + already
    environment = {**inherited, "PYTHONPATH": path}
    if sys.platform == "linux":
        environment.update(_tidy_client(environment, log_path))
    return environment


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
