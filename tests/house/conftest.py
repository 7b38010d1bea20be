"""What the tests of the house share: where the repository lies, and which files are ours."""

import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def root() -> Path:
    return ROOT


@pytest.fixture(scope="session")
def own_texts() -> dict[Path, str]:
    """Give every text file that git knows or would take, by its path from the root."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT,
        capture_output=True,
        check=True,
    )
    texts = {}
    for name in listed.stdout.decode().split("\0"):
        path = ROOT / name
        if name and path.is_file() and b"\0" not in (raw := path.read_bytes()):
            texts[Path(name)] = raw.decode(encoding="utf-8", errors="replace")
    return texts
