"""Whether an independent recogniser understands what the voice says.

By hand, where the package pocketsphinx is installed (it brings its English model):
    PYTHONPATH=src:. python -m tests.bench.voice_heard --noise-db 25 10
It chooses among all sentences of the samples, heard in pink noise so far below the
voice. A closed list is easier than free speech, and a machine is no ear: it shows
that sentences can be told apart, not that they are pleasant.
"""

from __future__ import annotations

import argparse
import os
import re
import tempfile
import wave
from collections.abc import Iterable, Mapping
from pathlib import Path

import numpy as np
from tests.sound.measuring import pink

from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.driver.services import Services
from whistlestop.sound.soundtrack import Layer

SAMPLES = ("goods-shed", "branch-line", "quiet-carriage", "points-and-crossings")
RATE_HZ = 16_000
AIR_S = 0.25


def words(sentence: str) -> str:
    """A sentence as the recogniser spells it."""
    return " ".join(re.findall(r"[a-z']+", sentence.lower().replace("-", " ")))


def sentences(folder: Path) -> dict[str, Path]:
    """Every sentence of some samples, rendered."""
    services = Services(folder)
    found: dict[str, Path] = {}
    for name in SAMPLES:
        plan = compile_plan(services.circuits.read(name))
        track, phrases = services.audio.whole_soundtrack(plan, wait_s=120)
        for one in track.whole(plan):
            if one.layer is Layer.VOICE:
                found[words(one.name)] = phrases[one.name].path
    return found


def in_noise(path: Path, noise_db: float) -> bytes:
    """A rendered sentence at 16 kHz in pink noise `noise_db` below its level."""
    with wave.open(str(path)) as file:
        rate = file.getframerate()
        raw = np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(float)
    size = raw.size * RATE_HZ // rate
    text = np.fft.irfft(np.fft.rfft(raw)[: size // 2 + 1], size) * size / raw.size
    air = np.zeros(round(AIR_S * RATE_HZ))
    heard = np.concatenate([air, text, air])
    noise = pink(np.random.default_rng(1), heard.size)
    level = np.sqrt(np.mean(text**2)) * 10 ** (-noise_db / 20)
    heard += noise * level / np.sqrt(np.mean(noise**2))
    return np.clip(heard, -32_768, 32_767).astype("<i2").tobytes()


def misheard(
    said: Mapping[str, Path], noise_db: float, grammar: Path
) -> Iterable[tuple[str, str]]:
    """Each sentence that was taken for another, or for none."""
    from pocketsphinx import Decoder  # type: ignore[import-not-found]

    decoder = Decoder(jsgf=str(grammar), samprate=RATE_HZ, logfn=os.devnull)
    for text, path in said.items():
        decoder.start_utt()
        decoder.process_raw(in_noise(path, noise_db), full_utt=True)
        decoder.end_utt()
        best = decoder.hyp()
        if (got := best.hypstr if best else "") != text:
            yield text, got


def main() -> int:
    """Print how many sentences are understood at each level of noise."""
    from pocketsphinx import get_model_path

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--noise-db", type=float, nargs="+", default=[25.0, 10.0])
    levels = parser.parse_args().noise_db
    dictionary = Path(get_model_path()) / "en-us" / "cmudict-en-us.dict"
    known = {line.split(" ", 1)[0] for line in dictionary.read_text().splitlines()}
    with tempfile.TemporaryDirectory(prefix="ws-") as folder:
        every = sentences(Path(folder))
        message = {t: p for t, p in every.items() if known.issuperset(t.split())}
        grammar = Path(folder) / "said.gram"
        rules = " | ".join(sorted(message))
        grammar.write_text(f"#JSGF V1.0;\ngrammar said;\npublic <said> = {rules} ;\n")
        print(f"{len(every) - len(message)} with words that are not in its dictionary")
        for noise_db in levels:
            wrong = list(misheard(message, noise_db, grammar))
            right = len(message) - len(wrong)
            print(f"{noise_db:.0f} dB over noise: {right} of {len(message)} understood")
            for text, got in wrong:
                print(f"  {text!r} as {got!r}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
