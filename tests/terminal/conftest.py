"""What the tests of real terminals share."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.support.processes import LONG_CIRCUIT, put_circuit, quiet_home


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A home with sound off, the notice acknowledged, and a long circuit."""
    home = quiet_home(tmp_path / "home")
    put_circuit(home, "long", LONG_CIRCUIT)
    state = home / "state"
    state.mkdir()
    moment = json.dumps("2031-04-12T06:15:02+02:00")
    (state / "remembered.toml").write_text(f"notice_acknowledged = {moment}\n")
    return home
