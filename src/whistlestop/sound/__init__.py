"""Sound: cues and soft tones, a port to hand them to, and the process that plays them.

Other packages use `whistlestop.sound.port` and `open_sound`, and nothing else here.
"""

from __future__ import annotations

from pathlib import Path

from whistlestop.sound.port import SoundPort, SoundStatus
from whistlestop.sound.silent import SilentSound

__all__ = ["CHOICES", "open_sound"]

CHOICES = (
    "auto",
    "off",
    "bell",
    "pulse",
    "alsa",
    "jack",
    "coreaudio",
    "wasapi",
    "simpleaudio",
)
"""What the sound setting may say; 'auto' lets the audio library choose."""


def open_sound(
    prefer: str = "auto",
    *,
    log_path: Path | None,
    volume: int,
    offset_ms: int = 0,
) -> SoundPort:
    """Start sound and return at once; never raises.

    `prefer` is one of CHOICES. `volume` is 0 to 100. `offset_ms`, -300 to 300, is
    how late the loudspeaker is (wireless ones are); cues go out that much earlier.
    What is wrong is in the returned port's status. Close the port before leaving.
    """
    if prefer == "off":
        return SilentSound()
    if prefer == "bell":
        from whistlestop.sound.bell import BellSound

        # The owner of the terminal rings, on `status().wants_bell`.
        return BellSound(lambda: None)
    if prefer not in CHOICES:
        known = ", ".join(CHOICES)
        detail = f"The sound setting {prefer!r} is not one of {known}."
        return SilentSound(SoundStatus("lost", detail=detail))
    # Imported here: the port alone is needed much earlier.
    from whistlestop.sound.helper_port import HelperSound
    from whistlestop.sound.surroundings import helper_command

    return HelperSound(
        helper_command("" if prefer == "auto" else prefer),
        _cue_files(),
        log_path=log_path,
        volume=volume,
        offset_ms=offset_ms,
    )


def _cue_files() -> dict[str, Path]:
    """Name the WAV file of each tone; the helper makes up for one that is missing."""
    from whistlestop.data import sounds_folder
    from whistlestop.errors import StoreError
    from whistlestop.sound.cues import ALL_TONES

    try:
        folder = sounds_folder()
    except StoreError:
        folder = Path("missing")
    return {name: folder / f"{name}.wav" for name in ALL_TONES}
