"""Settings of the person, and what the program remembers: bad files do no harm."""

import errno
import os

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from whistlestop.domain.text import first_hostile
from whistlestop.errors import StoreError
from whistlestop.store import places
from whistlestop.store.settings.config import (
    RememberedState,
    load_settings,
    read_remembered,
    write_remembered,
)
from whistlestop.store.settings.values import (
    LoadedSettings,
    ScreenSettings,
    SessionSettings,
    Settings,
    SoundSettings,
    TrainingSettings,
)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "config.toml"


def loaded(path, text):
    path.write_text(text, encoding="utf-8")
    found = load_settings(path)
    return found.settings, [
        str(problem).removeprefix(f"{path}:") for problem in found.problems
    ]


def test_no_file_means_defaults_and_no_problem(path, tmp_path):
    assert load_settings(path) == LoadedSettings(Settings())
    assert load_settings(tmp_path / "none" / "config.toml").problems == ()
    assert list(tmp_path.iterdir()) == []


def test_the_defaults_are_these():
    assert Settings() == Settings(
        SoundSettings(volume=80, muted=False, engine="auto", offset_ms=0),
        ScreenSettings(theme="auto", reduced_motion=False, ascii=False, mouse=True),
        SessionSettings(count_in_s=3),
        TrainingSettings(level="auto", mass_kg=None),
        keys={},
    )


def test_every_setting_can_be_set(path):
    found, problems = loaded(
        path,
        """
        [sound]
        volume = 35
        muted = true
        engine = "bell"
        offset_ms = -120
        [screen]
        theme = "light"
        reduced_motion = true
        ascii = true
        mouse = false
        [session]
        count_in_s = 5
        [training]
        level = "regular"
        mass_kg = 82
        [keys]
        pause = ["space", "f5"]
        next = []
        """,
    )
    assert problems == []
    assert found == Settings(
        SoundSettings(35, True, "bell", -120),
        ScreenSettings("light", True, True, False),
        SessionSettings(5),
        TrainingSettings("regular", 82),
        {"pause": ("space", "f5"), "next": ()},
    )


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("[sound]\nvolume = 101\n", "2:10: sound.volume is 101; expected 0 to 100"),
        (
            "[sound]\nvolume = true\n",
            "2:10: sound.volume is true; expected a whole number, 0 to 100",
        ),
        (
            "[sound]\nvolume = 80.0\n",
            "2:10: sound.volume is 80.0; expected a whole number, 0 to 100",
        ),
        (
            "[sound]\nvolum = 80\n",
            '2:1: unknown key "sound.volum"; nearest name: "volume"',
        ),
        (
            "[sounds]\nvolume = 80\n",
            '1:2: unknown key "sounds"; nearest name: "sound"',
        ),
        ("sound = 80\n", "1:9: sound is 80; expected a table"),
        (
            "[sound]\noffset_ms = -301\n",
            "2:13: sound.offset_ms is -301; expected -300 to 300",
        ),
        (
            '[screen]\ntheme = "green"\n',
            (
                '2:9: screen.theme is "green"; '
                'expected "auto", "dark", "light" or "mono"'
            ),
        ),
        ("[screen]\nmouse = 1\n", "2:9: screen.mouse is 1; expected true or false"),
        (
            "[session]\ncount_in_s = 4\n",
            "2:14: session.count_in_s is 4; expected 0, 3 or 5",
        ),
        (
            "[session]\ncount_in_s = false\n",
            "2:14: session.count_in_s is false; expected 0, 3 or 5",
        ),
        (
            '[keys]\npause = "space"\n',
            (
                '2:9: keys.pause is "space"; '
                "expected a list of names of keys, as space or f5"
            ),
        ),
        (
            '[keys]\npause = ["space", 5, 6]\n',
            ("2:9: keys.pause entry 2 is 5; expected names of keys, as space or f5"),
        ),
        (
            '[sound]\nengine = "a\\u001b[2J"\n',
            (
                '2:10: sound.engine is "a\\x1b[2J"; '
                'expected the name of a sound engine, such as "auto"'
            ),
        ),
    ],
)
def test_one_wrong_key_is_named_and_only_that_key_falls_back(path, text, expected):
    found, problems = loaded(path, f"{text}")
    assert problems == [expected]
    assert found == Settings()


def test_what_is_right_holds_beside_what_is_wrong(path):
    found, problems = loaded(
        path,
        '[sound]\nvolume = 20\nmuted = "yes"\nx = 1\n'
        '[keys]\nnext = ["n"]\nback = 3\n[screen]\ntheme = "mono"\n',
    )
    assert len(problems) == 3
    assert [problem.split(":")[0] for problem in problems] == ["3", "4", "7"]
    assert found.sound == SoundSettings(volume=20)
    assert found.screen.theme == "mono"
    assert found.keys == {"next": ("n",)}


def test_too_many_keys_cost_the_keys_only(path):
    text = "[sound]\nvolume = 5\n[keys]\n"
    text += "".join(f'action_{n} = ["x"]\n' for n in range(61))
    found, problems = loaded(path, text)
    assert len(problems) == 1
    assert "61 entries; expected 60 at most" in problems[0]
    assert found == Settings(sound=SoundSettings(volume=5))


def test_a_syntax_error_is_placed_and_everything_falls_back(path):
    found, problems = loaded(path, "[sound]\nvolume = = 5\n")
    assert found == Settings()
    assert len(problems) == 1
    assert problems[0].startswith("2:10: ")


@pytest.mark.parametrize(
    "data",
    [
        b"\xff\xfe",
        b"a" + b".a" * 20_000 + b" = 1",
        b"x = " + b"[" * 5_000,
        b"[sound]\nvolume = " + b"9" * 900,
        b"#" * 70_000,
        b"\x1b[2J = 1",
    ],
)
def test_a_hostile_file_is_one_problem_and_shows_no_hostile_character(path, data):
    path.write_bytes(data)
    found = load_settings(path)
    assert found.settings == Settings()
    assert len(found.problems) == 1
    assert first_hostile(str(found.problems[0])) is None


def test_what_cannot_be_read_is_a_problem_and_no_end(path, monkeypatch, tmp_path):
    path.mkdir()
    assert "config.toml" in str(load_settings(path).problems[0])
    os.mkfifo(tmp_path / "pipe")
    assert "not an ordinary file" in load_settings(tmp_path / "pipe").problems[0].what
    (tmp_path / "link").symlink_to(tmp_path / "nowhere")
    assert "it is not there" in load_settings(tmp_path / "link").problems[0].what

    def refuse(self):
        raise PermissionError(errno.EACCES, "no")

    monkeypatch.setattr(type(path), "lstat", refuse)
    problems = load_settings(path).problems
    assert problems[0].what == "cannot be read: access is refused"


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.dictionaries(
        st.sampled_from(["sound", "screen", "session", "keys", "other"]),
        st.dictionaries(
            st.sampled_from(["volume", "theme", "mouse", "count_in_s", "pause", "X"]),
            st.integers(-5, 120)
            | st.booleans()
            | st.sampled_from(["dark", "", "\x1b", "é"])
            | st.lists(st.sampled_from(["space", "", "n"]), max_size=3),
            max_size=4,
        ),
        max_size=4,
    )
)
def test_any_table_gives_settings_within_their_limits(path, tables):
    import tomli_w

    path.write_text(tomli_w.dumps(tables), encoding="utf-8")
    found = load_settings(path)
    assert 0 <= found.settings.sound.volume <= 100
    assert found.settings.screen.theme in {"auto", "dark", "light", "mono"}
    assert found.settings.session.count_in_s in {0, 3, 5}
    assert type(found.settings.session.count_in_s) is int
    assert all(first_hostile(str(problem)) is None for problem in found.problems)
    right = tables.get("sound", {}).get("volume")
    if type(right) is int and 0 <= right <= 100:
        assert found.settings.sound.volume == right


def test_what_is_remembered_comes_back(tmp_path):
    path = tmp_path / "state" / "remembered.toml"
    assert read_remembered(path) == RememberedState()
    full = RememberedState("2031-04-12T08:15:02+02:00", "wet-saturday")
    write_remembered(path, full)
    assert read_remembered(path) == full
    write_remembered(path, RememberedState(last_circuit='C:\\a "b".toml'))
    assert read_remembered(path) == RememberedState(last_circuit='C:\\a "b".toml')
    assert [p.name for p in path.parent.iterdir()] == ["remembered.toml"]


@pytest.mark.parametrize(
    "text",
    [
        "no toml",
        "notice_acknowledged = 5\nlast_circuit = []\n",
        'notice_acknowledged = "yesterday"\nlast_circuit = "a\\u001bb"\n',
        'last_circuit = "' + "x" * 500 + '"\n',
    ],
)
def test_an_unclear_memory_is_no_memory(path, text):
    path.write_text(text)
    assert read_remembered(path) == RememberedState()


def test_a_memory_that_cannot_be_written_leaves_the_old_one(
    path, monkeypatch, tmp_path
):
    old = RememberedState(last_circuit="old")
    write_remembered(path, old)

    def refuse(fd):
        raise OSError(errno.ENOSPC, "full")

    with monkeypatch.context() as patch:
        patch.setattr(places, "sync_file", refuse)
        with pytest.raises(StoreError, match="the disk is full"):
            write_remembered(path, RememberedState(last_circuit="new"))
    assert read_remembered(path) == old
    with pytest.raises(StoreError, match="not plain text"):
        write_remembered(path, RememberedState(last_circuit="\udce9"))
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreError):
        write_remembered(tmp_path / "file" / "x", old)
