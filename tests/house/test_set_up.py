"""The script that a newcomer starts first, and the lock it installs from."""

import ast
import importlib.util
import re
import sys
import tomllib

import pytest

import islewright

LOCKS = ["requirements.lock", "requirements-dev.lock"]
PINNED = re.compile(
    r"^([a-z0-9-]+)==(\S+)(?: ; ([^\\]+))? \\\n((?:    --hash=sha256:\w{64}.*\n)+)", re.MULTILINE
)


@pytest.fixture(scope="module")
def script(root):
    spec = importlib.util.spec_from_file_location("run", root / "run.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def project(root):
    return tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))


@pytest.fixture
def workshop(script, root, tmp_path, monkeypatch):
    """A copy of what the set-up reads, in which every command it would start is written down."""
    for name in ["pyproject.toml", *LOCKS]:
        (tmp_path / name).write_bytes((root / name).read_bytes())
    venv = tmp_path / ".venv"
    started = []

    def pretend(command, cwd, output):
        words = [str(word) for word in command]
        started.append(words)
        if "venv" in words:
            python = script.python_of(venv)
            python.parent.mkdir(parents=True)
            python.touch()
        return 0, ""

    monkeypatch.setattr(script, "start", pretend)
    monkeypatch.setattr(script, "ROOT", tmp_path)
    monkeypatch.setattr(script, "VENV", venv)
    monkeypatch.setattr(script, "MARK", venv / "mark")
    monkeypatch.setattr(script, "RUNTIME_LOCK", tmp_path / LOCKS[0])
    monkeypatch.setattr(script, "TOOLS_LOCK", tmp_path / LOCKS[1])
    return started


def modules_named(nodes):
    """Gather what the import statements among the nodes name."""
    names = set()
    for node in nodes:
        if isinstance(node, ast.Import):
            names |= {name.name.partition(".")[0] for name in node.names}
        elif isinstance(node, ast.ImportFrom):
            names.add(node.module.partition(".")[0])
    return names


def installed(started):
    return [words[-1].rpartition("/")[2] for words in started if "--require-hashes" in words]


def test_an_old_python_is_told_so_in_one_sentence(root):
    """Python 3.6 can still read the file, and so says its sentence instead of a syntax error."""
    source = (root / "run.py").read_text(encoding="utf-8")
    tree = ast.parse(source, feature_version=(3, 6))

    checks = [node for node in tree.body if isinstance(node, ast.If)]
    assert ast.unparse(checks[0].test) == "sys.version_info < (3, 11)"
    assert "tomllib" not in modules_named(tree.body)


def test_the_script_needs_the_standard_library_alone(root):
    """It runs before anything is installed."""
    tree = ast.parse((root / "run.py").read_text(encoding="utf-8"))

    assert modules_named(ast.walk(tree)) <= set(sys.stdlib_module_names)


def test_a_misleading_environment_does_not_reach_the_children(script):
    """Variables that send packages elsewhere are dropped, those for the way to them are kept."""
    given = {"PYTHONPATH": "x", "PIP_TARGET": "x", "PYTHONDONTWRITEBYTECODE": "1", "PIP_CERT": "c"}
    child = script.clean_environment(given)

    assert child["PIP_CERT"] == "c"
    assert {"PYTHONPATH", "PIP_TARGET", "PYTHONDONTWRITEBYTECODE"} & set(child) == set()


def test_a_finished_set_up_is_not_done_twice(script, workshop):
    """The second start installs nothing."""
    script.set_up(tools=True)
    assert installed(workshop) == ["requirements-dev.lock"]
    workshop.clear()
    script.set_up(tools=True)
    script.set_up(tools=False)

    assert workshop == []


def test_the_tools_are_added_to_a_lean_set_up(script, workshop):
    """The demo first and the tests afterwards make one environment."""
    script.set_up(tools=False)
    script.set_up(tools=True)

    assert installed(workshop) == LOCKS
    assert sum("venv" in words for words in workshop) == 1


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        (LOCKS[0], "numpy==2", "numpy==3"),
        (LOCKS[1], "pytest==9", "pytest==10"),
        ("pyproject.toml", "numpy>=2", "numpy>=3"),
    ],
)
def test_a_changed_lock_or_project_is_set_up_anew(script, workshop, file, old, new):
    """What the environment hangs on has changed, so it is made from nothing."""
    script.set_up(tools=True)
    workshop.clear()
    text = (script.ROOT / file).read_text(encoding="utf-8")
    (script.ROOT / file).write_text(text.replace(old, new), encoding="utf-8")
    script.set_up(tools=True)

    assert sum("venv" in words for words in workshop) == 1


def test_a_broken_off_set_up_is_mended(script, workshop, monkeypatch):
    """What an interruption left behind is thrown away, not taken for complete."""
    with monkeypatch.context() as power_cut:
        power_cut.setattr(script, "install_ours", lambda *_: sys.exit("power cut"))
        with pytest.raises(SystemExit, match="power cut"):
            script.set_up(tools=True)
    litter = script.VENV / "litter"
    litter.touch()
    workshop.clear()
    script.set_up(tools=True)

    assert not litter.exists()
    assert installed(workshop) == ["requirements-dev.lock"]


def test_an_unknown_word_is_answered_with_the_known_ones(script, capsys):
    """A typing error changes nothing and shows the commands."""
    assert script.main(["dmeo"]) == 2
    assert "run.py demo" in capsys.readouterr().out


@pytest.mark.parametrize("lock", LOCKS)
def test_the_lock_names_every_file_by_its_hash_and_no_place(lock, root):
    """It works on every machine: no address, no folder, nothing without a hash."""
    text = (root / lock).read_text(encoding="utf-8")
    body = "".join(line for line in text.splitlines(keepends=True) if not line.startswith("#"))

    assert PINNED.sub("", body) == ""
    assert re.search(r"://|file:|@ |^-", body, re.MULTILINE) is None


def test_the_lock_covers_windows_and_newer_pythons(root):
    """A lock made for one platform lacks what others need."""
    markers = {m[2] for m in PINNED.findall((root / LOCKS[1]).read_text(encoding="utf-8")) if m[2]}

    assert any("win32" in marker for marker in markers)
    assert any("python_full_version >= '3.12'" in marker for marker in markers)


def test_both_locks_agree_and_hold_all_that_the_project_names(root, project):
    """The tests run on the very versions that users get."""
    lean, full = (
        {(name, version) for name, version, *_ in PINNED.findall((root / lock).read_text())}
        for lock in LOCKS
    )
    assert lean < full

    def plain(requirements):
        texts = [text for text in requirements if isinstance(text, str)]
        return {re.match(r"[\w.-]+", text)[0].lower().replace(".", "-") for text in texts}

    groups = project["dependency-groups"]
    assert plain([*project["project"]["dependencies"], *groups["build"]]) <= {n for n, _ in lean}
    assert plain(groups["dev"]) <= {n for n, _ in full}
    assert plain(project["build-system"]["requires"]) <= {n for n, _ in lean}


def test_the_changelog_tells_of_this_version(root):
    """The newest heading is the version that the package gives."""
    text = (root / "CHANGELOG.md").read_text(encoding="utf-8")
    headings = re.findall(r"^## (\S+)", text, re.MULTILINE)

    assert headings[0] == islewright.__version__


def test_every_lint_rule_that_is_off_has_its_reason_beside_it(root):
    """In the list of ignored rules each line ends in a comment."""
    text = (root / "pyproject.toml").read_text(encoding="utf-8")
    ignored = text.partition("\nignore = [\n")[2].partition("\n]")[0].splitlines()

    assert len(ignored) > 20
    assert [line for line in ignored if not re.search(r'",\s+# \S', line)] == []
