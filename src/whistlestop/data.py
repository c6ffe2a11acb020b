"""Where the files that ship with the program are: one answer for every install.

A wheel carries them inside the package; a checkout and an editable install have
them at the top of the tree. Nothing else in the program looks for them.
"""

from __future__ import annotations

from pathlib import Path

from whistlestop.errors import StoreError

_PACKAGE = Path(__file__).resolve().parent


def folder(name: str) -> Path:
    """Find a shipped folder, such as `sounds` or `sample_circuits`.

    Raises:
        StoreError: The installation is incomplete.
    """
    for place in (_PACKAGE / "_data" / name, _PACKAGE.parents[1] / name):
        if place.is_dir():
            return place
    raise StoreError(
        f"the folder {name} is missing from this installation", "reinstall it"
    )


def sounds_folder() -> Path:
    """The folder of the cue tones."""
    return folder("sounds")


def samples_folder() -> Path:
    """The folder of the sample circuits."""
    return folder("sample_circuits")
