"""Prepares sentences before they are needed, in the background, batch by batch.

Owns the one thread that looks into the cache and asks a child for the rest. Knows
neither what the sentences mean nor how they are spoken.
"""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final

from whistlestop.sound.voice.cache import PhraseCache
from whistlestop.sound.voice.child import RenderChild
from whistlestop.sound.voice.engines import VoiceEngine
from whistlestop.sound.voice.phrases import Phrase, VoiceStatus, phrase_id, refusal

PHRASE_LIMIT_MS: Final = 5_000
"""For one text; 10 ms is usual."""
ANSWER_MARGIN_S: Final = 5.0
"""For the child to start and to shape on a busy machine."""
LIVES: Final = 3
"""Children a batch may use up: a text that kills one must not stop the others."""
CLOSE_S: Final = 1.5


@dataclass(frozen=True, slots=True)
class Recipe:
    """How all sentences of a voice are spoken."""

    engine: VoiceEngine
    language: str
    rate_wpm: int


class _Batch:
    """Texts that belong together, and a way to stop them from another thread."""

    def __init__(self, texts: Iterable[str]) -> None:
        self.texts = tuple(dict.fromkeys(texts))
        self.done = threading.Event()
        self._lock = threading.Lock()
        self._child: RenderChild | None = None
        self.stopped = False

    def assign(self, child: RenderChild | None) -> None:
        """Say which child works for this batch now."""
        with self._lock:
            self._child = child
            if self.stopped and child is not None:
                child.kill()

    def stop(self) -> None:
        """Prepare no more of it."""
        with self._lock:
            self.stopped = True
            if self._child is not None:
                self._child.kill()


class Voice:
    """Turns texts into phrases that can be played. No method raises or plays.

    Made by `open_voice`. All methods may be called from any thread.
    """

    def __init__(
        self,
        status: VoiceStatus,
        recipe: Recipe | None = None,
        cache: PhraseCache | None = None,
    ) -> None:
        self._status = status
        self._recipe = recipe
        self._cache = cache
        self._ready: dict[str, Phrase] = {}
        self._failed: dict[str, str] = {}
        self._lock = threading.Lock()
        self._batches: list[_Batch] = []
        self._queue: queue.SimpleQueue[_Batch | None] = queue.SimpleQueue()
        self._thread: threading.Thread | None = None
        self._closed = False

    @property
    def status(self) -> VoiceStatus:
        """How the voice stands, and how many sentences could not be prepared."""
        with self._lock:
            failed = len(self._failed)
            reason = next(iter(self._failed.values()), "")
        if not failed:
            return self._status
        some = "1 sentence is" if failed == 1 else f"{failed} sentences are"
        more = f"{self._status.detail} {some} left out: {reason}."
        return replace(self._status, detail=more)

    @property
    def languages(self) -> tuple[str, ...]:
        """The languages the engine speaks, sorted; none without an engine."""
        return self._recipe.engine.languages if self._recipe else ()

    def render(self, texts: Iterable[str], *, timeout_s: float) -> dict[str, Phrase]:
        """Prepare texts and wait for it, at most `timeout_s`; phrases by text.

        Cached ones are not spoken again; those that fail or come too late are left
        out.
        """
        batch = self._submit(texts)
        if not batch.done.wait(timeout_s):
            batch.stop()
        ready = self.ready()
        return {text: ready[text] for text in batch.texts if text in ready}

    def start(self, texts: Iterable[str]) -> None:
        """Prepare texts in the background, in this order; returns at once."""
        self._submit(texts)

    def ready(self) -> Mapping[str, Phrase]:
        """All phrases prepared so far, by text; never waits for one."""
        with self._lock:
            return dict(self._ready)

    def close(self) -> None:
        """Stop preparing, within two seconds. What is ready stays ready."""
        with self._lock:
            self._closed = True
            batches, thread = list(self._batches), self._thread
        for batch in batches:
            batch.stop()
        self._queue.put(None)
        if thread is not None and thread is not threading.current_thread():
            thread.join(CLOSE_S)

    def _submit(self, texts: Iterable[str]) -> _Batch:
        batch = _Batch(texts)
        with self._lock:
            if self._recipe is None or self._closed or not batch.texts:
                batch.done.set()
                return batch
            self._batches.append(batch)
            self._queue.put(batch)
            if self._thread is None:
                self._thread = threading.Thread(
                    target=self._work, name="voice", daemon=True
                )
                self._thread.start()
        return batch

    def _work(self) -> None:
        assert self._recipe is not None
        assert self._cache is not None
        while (batch := self._queue.get()) is not None:
            try:
                _Preparation(self._recipe, self._cache, self._note).run(batch)
            finally:
                batch.done.set()
            with self._lock:
                self._batches.remove(batch)
                keep = {phrase.id for phrase in self._ready.values()}
            self._cache.trim(keep)

    def _note(self, text: str, outcome: Phrase | str) -> None:
        with self._lock:
            if isinstance(outcome, Phrase):
                self._ready[text] = outcome
                self._failed.pop(text, None)
            else:
                self._failed[text] = outcome


class _Preparation:
    """The preparing of one batch: what is cached first, then the rest by a child."""

    def __init__(
        self,
        recipe: Recipe,
        cache: PhraseCache,
        note: Callable[[str, Phrase | str], None],
    ) -> None:
        self._recipe = recipe
        self._cache = cache
        self._note = note
        self._child: RenderChild | None = None
        self._lives = LIVES

    def run(self, batch: _Batch) -> None:
        """Prepare the batch; note each text as a phrase or as a reason."""
        missing: list[str] = []
        for text in () if batch.stopped else batch.texts:
            reason = refusal(text)
            if reason is not None:
                self._note(text, reason)
            elif not self._look_up(text):
                missing.append(text)
        try:
            for text in missing:
                if batch.stopped:
                    break
                self._speak(batch, text)
        finally:
            batch.assign(None)
            if self._child is not None:
                self._child.end()

    def _id(self, text: str) -> str:
        recipe = self._recipe
        kind = recipe.engine.kind
        return phrase_id(kind, recipe.language, recipe.rate_wpm, text)

    def _look_up(self, text: str) -> bool:
        phrase = self._id(text)
        length_ms = self._cache.length_ms(phrase)
        if length_ms is None:
            return False
        self._note(text, Phrase(phrase, text, self._cache.path(phrase), length_ms))
        return True

    def _speak(self, batch: _Batch, text: str) -> None:
        child = self._child or self._new_child(batch)
        if child is None:
            self._note(text, "the engine does not run")
            return
        path = self._cache.path(self._id(text))
        limit_s = PHRASE_LIMIT_MS / 1000 + ANSWER_MARGIN_S
        problem = child.ask(text, path, limit_s)
        if problem is None:
            child.kill()
            child.end()
            self._child = None
            problem = "the engine stopped over it"
        if batch.stopped:
            return
        # The file itself is the proof, whatever the child reported.
        if problem or not self._look_up(text):
            self._note(text, problem or "what the engine gave is not whole")

    def _new_child(self, batch: _Batch) -> RenderChild | None:
        if self._lives == 0:
            return None
        self._lives -= 1
        recipe = self._recipe
        try:
            self._child = RenderChild(
                recipe.engine, recipe.language, recipe.rate_wpm, PHRASE_LIMIT_MS
            )
        except OSError:
            return None
        batch.assign(self._child)
        return self._child
