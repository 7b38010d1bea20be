"""Set up, run and prove Islewright with nothing but Python 3.11 or newer and the network once.

    python3 run.py demo     check the demo house and make its job pack
    python3 run.py test     pass the tests (further words go to pytest)
    python3 run.py ci       all that a change must pass: lint, format, types, rooms, tests, wheel

On Windows write `py` for `python3`. Everything is installed into `.venv` beside this file.
"""

import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

if sys.version_info < (3, 11):  # noqa: UP036 - the reader may well start it with an older one
    sys.exit(
        f"Islewright needs Python 3.11 or newer, and this is Python {sys.version.split()[0]}: "
        "start run.py with a newer one."
    )

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
MARK = VENV / "islewright-setup"  # how far the set-up came, and for which lock
UNFINISHED = "unfinished"
RUNTIME_LOCK = ROOT / "requirements.lock"
TOOLS_LOCK = ROOT / "requirements-dev.lock"
DEMO = ROOT / "examples" / "farmhouse" / "farmhouse.yaml"
PACK = ROOT / "out" / "farmhouse.pdf"
BASE_PYTHON = getattr(sys, "_base_executable", sys.executable)  # not a .venv that may go

# Any of these would make the new environment look elsewhere, install elsewhere, or start slowly.
MISLEADING = {
    "PIP_CONSTRAINT",
    "PIP_PREFIX",
    "PIP_PYTHON",
    "PIP_ROOT",
    "PIP_TARGET",
    "PIP_USER",
    "PYTHONDONTWRITEBYTECODE",
    "PYTHONHOME",
    "PYTHONPATH",
    "VIRTUAL_ENV",
}


def clean_environment(given: dict[str, str]) -> dict[str, str]:
    """Keep what a child needs (proxy, certificates, index), drop what misleads it."""
    kept = {name: value for name, value in given.items() if name.upper() not in MISLEADING}
    return {**kept, "PYTHONUTF8": "1", "PIP_DISABLE_PIP_VERSION_CHECK": "1"}


def start(command: Sequence[str | Path], cwd: Path, output: int | None) -> tuple[int, str]:
    sys.stdout.flush()
    done = subprocess.run(
        [str(word) for word in command],
        cwd=cwd,
        env=clean_environment(dict(os.environ)),
        stdin=subprocess.DEVNULL,
        stdout=output,
        stderr=subprocess.STDOUT if output else None,
        encoding="utf-8",
        errors="replace",
        check=False,
    )
    code = done.returncode if done.returncode >= 0 else 128 - done.returncode
    return code, done.stdout or ""


def run(*command: str | Path, cwd: Path = ROOT) -> int:
    """Run a command in sight of the reader; return its exit code."""
    return start(command, cwd, None)[0]


def works(*command: str | Path) -> bool:
    """Try a command out of sight."""
    return start(command, ROOT, subprocess.PIPE)[0] == 0


def must(wanted: str, *command: str | Path, cwd: Path = ROOT) -> None:
    """Run a command out of sight; when it fails, show what it said and stop."""
    code, said = start(command, cwd, subprocess.PIPE)
    if code:
        sys.exit(f"{said}\nCould not {wanted}: see above.")


# ------------------------------------------------------------------------------ set-up


def python_of(venv: Path) -> Path:
    return venv / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def command_of(venv: Path, name: str) -> Path:
    python = python_of(venv)
    return python.with_name(name + python.suffix)


def stamp() -> str:
    """Return a digest of all that an environment hangs on: locks, project, Python, place."""
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    parts = [
        RUNTIME_LOCK.read_text(encoding="utf-8"),
        TOOLS_LOCK.read_text(encoding="utf-8"),
        json.dumps([project["build-system"], project["project"]], sort_keys=True),
        sys.version,
        sys.base_prefix,
        str(ROOT),
    ]
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


def installer(python: Path) -> list[str | Path]:
    """Find a way to install into an environment: its own pip, Python's pip, or uv."""
    inner: list[str | Path] = [python, "-m", "pip"]
    if works(*inner, "--version"):
        return [*inner, "install"]
    # Some systems ship Python without ensurepip.
    if works(python, "-m", "ensurepip", "--default-pip"):
        return [*inner, "install"]
    outer: list[str | Path] = [BASE_PYTHON, "-m", "pip", "--python", python]
    if works(*outer, "--version"):
        return [*outer, "install"]
    uv = shutil.which("uv")
    if uv:
        return [uv, "pip", "install", "--python", python]
    sys.exit(
        "This Python can neither make an environment with pip nor has pip itself: "
        "install your system's python3-venv or python3-pip, or uv, and start again."
    )


def make_environment(venv: Path) -> None:
    must(f"make the environment {venv}", BASE_PYTHON, "-m", "venv", "--without-pip", venv)


def install_locked(venv: Path, lock: Path) -> None:
    """Install exactly what the lock names, each file by its hash."""
    how = installer(python_of(venv))
    options = ("--quiet", "--no-deps", "--no-compile", "--only-binary", ":all:")
    must(f"install {lock.name}", *how, *options, "--require-hashes", "-r", lock)


def install_ours(venv: Path, *what: str | Path) -> None:
    """Install the project itself with the locked build tool, without the network."""
    how = installer(python_of(venv))
    options = ("--quiet", "--no-deps", "--no-build-isolation", "--no-index")
    must("install Islewright", *how, *options, *what)


def compile_ahead(venv: Path) -> None:
    """Compile all modules now: the first start would otherwise take several times longer."""
    folders = (venv, ROOT / "src")
    # Packages may ship files for other Pythons, which do not compile; that harms nobody.
    works(python_of(venv), "-m", "compileall", "-qq", "-j", "0", *folders)


def set_up(*, tools: bool) -> None:
    """Bring `.venv` up to the lock; begin anew where the last set-up was broken off.

    The mark is "unfinished" while anything is being installed, so that an interrupted
    set-up is never taken for a complete one.
    """
    lean, full = f"{stamp()} runtime", f"{stamp()} tools"
    found = MARK.read_text(encoding="utf-8") if MARK.exists() else ""
    if found in ({full} if tools else {lean, full}) and python_of(VENV).exists():
        return
    print("Setting up .venv; this takes a quarter of a minute and happens once.")
    if found != lean or not python_of(VENV).exists():
        start_anew()
    MARK.write_text(UNFINISHED, encoding="utf-8")
    install_locked(VENV, TOOLS_LOCK if tools else RUNTIME_LOCK)
    install_ours(VENV, "--editable", ROOT)
    compile_ahead(VENV)
    MARK.write_text(full if tools else lean, encoding="utf-8")


def start_anew() -> None:
    """Make an empty `.venv`; one that somebody else made is kept and built upon."""
    if MARK.exists():
        try:
            shutil.rmtree(VENV)
        except OSError as why:
            sys.exit(f"Could not renew .venv ({why}): end what uses it and start again.")
    VENV.mkdir(exist_ok=True)
    MARK.write_text(UNFINISHED, encoding="utf-8")
    make_environment(VENV)


# ------------------------------------------------------------------------------ commands


def demo() -> int:
    """Check the demo house, make its pack, and say where it lies."""
    set_up(tools=False)
    return check_and_pack(VENV, PACK, cwd=ROOT)


def check_and_pack(venv: Path, pack: Path, *, cwd: Path) -> int:
    islewright = command_of(venv, "islewright")
    code = run(islewright, "check", DEMO, cwd=cwd)
    if code not in {0, 1}:  # 1: read and checked, and something is not in order
        return code
    if code == 1:
        print("\nThe demo house has honest mistakes in it; finding them is the point.")
    pack.parent.mkdir(exist_ok=True)
    code = run(islewright, "pack", DEMO, "--to", pack, cwd=cwd)
    if code == 0:
        print(f"The job pack lies in {pack}")
    return code


def test(*words: str) -> int:
    set_up(tools=True)
    # starting a worker for each core only pays where everything is run
    spread = ("-n", "auto", "--dist", "worksteal")
    chosen = any(not word.startswith("-") for word in words)
    return run(python_of(VENV), "-m", "pytest", *(() if chosen else spread), *words)


def wheel() -> int:
    """Build the wheel, install it into an empty environment, and do the main job with it."""
    set_up(tools=True)
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        build = ("-m", "hatchling", "build", "--target", "wheel", "--directory", place)
        must("build the wheel", python_of(VENV), *build)
        venv = place / "venv"
        make_environment(venv)
        install_locked(venv, RUNTIME_LOCK)
        install_ours(venv, *place.glob("*.whl"))
        must("start the installed command", command_of(venv, "islewright"), "--help", cwd=place)
        return check_and_pack(venv, place / "pack.pdf", cwd=place)


def ci() -> int:
    """Run every gate, the later ones too when one fails, and name those that failed."""
    set_up(tools=True)
    ruff = command_of(VENV, "ruff")
    gates: dict[str, tuple[str | Path, ...]] = {
        "lint": (ruff, "check"),
        "format": (ruff, "format", "--check"),
        "types": (command_of(VENV, "mypy"),),
        "rooms": (command_of(VENV, "lint-imports"),),
        "tests": (sys.executable, ROOT / "run.py", "test"),
        "wheel": (sys.executable, ROOT / "run.py", "wheel"),
    }
    failed = []
    for name, command in gates.items():
        print(f"\n=== {name}")
        if run(*command):
            failed.append(name)
    print(f"\nNot passed: {', '.join(failed)}" if failed else "\nEvery gate passed.")
    return 1 if failed else 0


COMMANDS: dict[str, Callable[..., int]] = {"demo": demo, "test": test, "wheel": wheel, "ci": ci}


def main(words: list[str]) -> int:
    name, further = (words or ["--help"])[0], words[1:]
    if name in COMMANDS and (not further or name == "test"):
        return COMMANDS[name](*further)
    asked = name in {"-h", "--help"}
    print(__doc__ if asked else f"run.py has no {' '.join(words)!r}.\n\n{__doc__}")
    return 0 if asked else 2


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit("\nStopped. What is half done is mended at the next start.")
