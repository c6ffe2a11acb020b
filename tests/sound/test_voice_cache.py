"""Kept sentences: only whole files, the longest unused removed, no other touched."""

from __future__ import annotations

import os
from array import array

import pytest

from whistlestop.sound.synth import read_wav
from whistlestop.sound.voice import cache as cache_module
from whistlestop.sound.voice.cache import PhraseCache, write_whole
from whistlestop.sound.voice.phrases import phrase_id

SAMPLES = array("h", [1000, -1000] * 2205)
"""100 ms."""


def a_name(number: int) -> str:
    return f"say-{number:012x}"


def kept(cache: PhraseCache, number: int, used_s: int = 1_000_000_000) -> str:
    name = a_name(number)
    write_whole(cache.path(name), SAMPLES)
    os.utime(cache.path(name), (used_s, used_s))
    return name


def test_a_written_sentence_is_found_with_its_length(tmp_path):
    cache = PhraseCache(tmp_path / "new" / "folder")
    name = kept(cache, 1)
    assert cache.length_ms(name) == 100
    assert read_wav(cache.path(name)) == SAMPLES
    assert cache.length_ms(a_name(2)) is None


@pytest.mark.parametrize(
    "damage",
    [
        lambda data: b"",
        lambda data: data[:30],
        lambda data: data[:44],
        lambda data: data[:-2],
        lambda data: data + b"\0\0",
        lambda data: data[:44] + bytes(len(data) - 44),
        lambda data: bytes(len(data)),
        lambda data: b"not a sound at all" * 20,
        lambda data: data[:22] + b"\2" + data[23:],
        lambda data: data[:24] + b"\x22\x56" + data[26:],
    ],
    ids=[
        *("empty", "half a header", "header only", "cut", "longer", "zeroed sound"),
        *("all zeros", "other file", "stereo", "other rate"),
    ],
)
def test_a_broken_file_counts_as_missing(tmp_path, damage):
    cache = PhraseCache(tmp_path)
    path = cache.path(kept(cache, 1))
    path.write_bytes(damage(path.read_bytes()))
    assert cache.length_ms(a_name(1)) is None


def test_a_folder_in_the_place_of_a_file_counts_as_missing(tmp_path):
    cache = PhraseCache(tmp_path)
    cache.path(a_name(1)).mkdir()
    assert cache.length_ms(a_name(1)) is None


def test_a_write_that_fails_leaves_neither_a_file_nor_a_part(tmp_path, monkeypatch):
    def full(path, samples):
        path.write_bytes(b"RIFF")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(cache_module, "write_wav", full)
    with pytest.raises(OSError, match="No space"):
        write_whole(tmp_path / f"{a_name(1)}.wav", SAMPLES)
    assert list(tmp_path.iterdir()) == []


def test_a_write_that_fails_leaves_the_old_file_as_it_was(tmp_path, monkeypatch):
    path = PhraseCache(tmp_path).path(kept(PhraseCache(tmp_path), 1))
    before = path.read_bytes()

    def full(part, samples):
        part.write_bytes(b"RIFF")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(cache_module, "write_wav", full)
    with pytest.raises(OSError, match="No space"):
        write_whole(path, SAMPLES)
    assert path.read_bytes() == before


def test_the_longest_unused_go_first_until_the_limit_holds(tmp_path):
    size = 44 + 2 * len(SAMPLES)
    cache = PhraseCache(tmp_path, limit_bytes=3 * size)
    names = [kept(cache, n, 1_000_000_000 + n) for n in range(5)]
    cache.trim()
    assert [cache.path(name).exists() for name in names] == [False, False, *[True] * 3]


def test_a_sentence_that_was_used_again_is_not_the_oldest(tmp_path):
    size = 44 + 2 * len(SAMPLES)
    cache = PhraseCache(tmp_path, limit_bytes=size)
    names = [kept(cache, n, 1_000_000_000 + n) for n in range(3)]
    assert cache.length_ms(names[0]) == 100
    cache.trim()
    assert [cache.path(name).exists() for name in names] == [True, False, False]


def test_sentences_in_use_are_kept_beyond_the_limit(tmp_path):
    cache = PhraseCache(tmp_path, limit_bytes=1)
    names = [kept(cache, n) for n in range(3)]
    cache.trim(keep=names[:2])
    assert [cache.path(name).exists() for name in names] == [True, True, False]


def test_trimming_touches_no_file_of_another_kind(tmp_path):
    cache = PhraseCache(tmp_path, limit_bytes=1)
    others = ["say-1.wav", "notes.txt", "say-00000000000G.wav", "say-000000000001.mp3"]
    for other in others:
        (tmp_path / other).write_bytes(b"x" * 9999)
    kept(cache, 1)
    (tmp_path / f".{a_name(2)}.123.part").write_bytes(b"left by a process that died")
    cache.trim()
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(others)


def test_trimming_survives_a_folder_that_is_gone(tmp_path):
    cache = PhraseCache(tmp_path / "cache")
    (tmp_path / "cache").rmdir()
    cache.trim()
    assert not (tmp_path / "cache").exists()


@pytest.mark.parametrize(
    "name", ["", "say-", "../say-000000000000", "say-00000000000g", "say-0" * 3, "go"]
)
def test_only_an_id_becomes_a_file_name(tmp_path, name):
    with pytest.raises(ValueError, match="not the id"):
        PhraseCache(tmp_path).path(name)


def test_everything_that_decides_the_sound_decides_the_id():
    recipes = [
        ("command", "en-gb", 150, "Last loop."),
        ("library", "en-gb", 150, "Last loop."),
        ("command", "en-us", 150, "Last loop."),
        ("command", "en-gb", 151, "Last loop."),
        ("command", "en-gb", 150, "Last loop"),
        ("command", "en-gb", 150, "|Last loop."),
    ]
    names = [phrase_id(*recipe) for recipe in recipes]
    assert len(set(names)) == len(recipes)
    assert all(len(name) == 16 and name.isascii() for name in names)
    assert phrase_id(*recipes[0]) == names[0]
