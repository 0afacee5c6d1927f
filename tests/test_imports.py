"""Data flows one way, and so do imports; heavy libraries have one user each."""

import ast
import subprocess
import sys
import tomllib
from collections import Counter
from pathlib import Path

import pytest

from support.import_map import ALLOWED, EXCEPTIONS, ONE_USER

PACKAGE = Path(__file__).resolve().parent.parent / "fieldvoice"
FILES = sorted(path.relative_to(PACKAGE).as_posix() for path in PACKAGE.rglob("*.py"))


def imported(source: str, module: str) -> set[str]:
    """Dotted names that a source imports, relative ones made absolute; functions' imports too."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = module.split(".")[: -node.level] if node.level else []
            name = ".".join([*base, *([node.module] if node.module else [])])
            found |= {f"{name}.{alias.name}" for alias in node.names}
    return found


def module_of(file: str) -> str:
    parts = ["fieldvoice", *file.removesuffix(".py").split("/")]
    return ".".join(parts)


def unit_of(name: str) -> str:
    """The part that a name of ours belongs to; each device is a part of its own."""
    parts = name.removeprefix("fieldvoice.").split(".")
    return "/".join(parts[:2]) if parts[0] == "devices" and len(parts) > 1 else parts[0]


def forbidden(source: str, file: str) -> set[str]:
    """Arrows of a file that the map does not allow."""
    unit = unit_of(module_of(file))
    allowed = ("errors", *ALLOWED.get(unit.split("/")[0], ()), *EXCEPTIONS.get(unit, ()))
    ours = {n for n in imported(source, module_of(file)) if n.startswith("fieldvoice.")}
    return {
        name
        for name in ours
        if unit_of(name) != unit
        and not any(
            name.removeprefix("fieldvoice.") == a or name.startswith(f"fieldvoice.{a}.")
            for a in allowed
        )
        and name != "fieldvoice.__version__"
    }


@pytest.mark.parametrize("file", FILES)
def test_every_import_follows_the_map(file: str) -> None:
    assert forbidden((PACKAGE / file).read_text(encoding="utf-8"), file) == set()


@pytest.mark.parametrize("file", FILES)
def test_each_heavy_library_has_one_user(file: str) -> None:
    for name in imported((PACKAGE / file).read_text(encoding="utf-8"), module_of(file)):
        users = ONE_USER.get(name.split(".")[0])
        assert users is None or file.startswith(users), f"{file} imports {name}"


@pytest.mark.parametrize(
    ("file", "line"),
    [
        ("trade/vacuum/water.py", "from fieldvoice.jobstate import events"),
        ("jobstate/timers.py", "import fieldvoice.language.parser"),
        ("jobstate/timers.py", "from ..spoken import parser"),
        ("language/parser.py", "from fieldvoice.jobstate import readings"),
        ("devices/screen/terminal.py", "from fieldvoice.devices.mouth import Speaker"),
        ("devices/screen/terminal.py", "from ..mouth import Speaker"),
        ("devices/mouth/speaker.py", "from fieldvoice.jobstate import events"),
        ("devices/joblog/store.py", "from fieldvoice.jobstate import readings"),
        ("session.py", "from fieldvoice.devices.clock import Clock"),
        ("review/report.py", "from fieldvoice.training import text"),
        ("commands/demo.py", "def f():\n    from fieldvoice.training import text"),
    ],
)
def test_a_forbidden_arrow_is_found(file: str, line: str) -> None:
    assert forbidden(line, file)


@pytest.mark.parametrize(
    ("file", "line"),
    [
        ("dialogue/turn.py", "from fieldvoice.language.intents import Reading"),
        ("dialogue/turn.py", "from fieldvoice.language import intents as i"),
        ("devices/joblog/store.py", "from fieldvoice.jobstate.events import Entry"),
        ("devices/screen/terminal.py", "from .layout import View"),
        ("session.py", "from fieldvoice.language.parser import understand"),
    ],
)
def test_an_allowed_arrow_passes(file: str, line: str) -> None:
    assert forbidden(line, file) == set()


def test_text_work_loads_neither_recognizer_nor_voice(tmp_path: Path) -> None:
    script = (
        "import sys, fieldvoice.__main__ as m\n"
        "m.main(['parse', 'next'])\n"
        "print(sorted({'vosk', 'pyttsx3', 'miniaudio', 'numpy'} & set(sys.modules)))"
    )
    run = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=tmp_path
    )  # fmt: skip
    assert run.stdout.splitlines()[-1] == "[]"


def test_every_error_of_ours_has_the_one_base() -> None:
    """So that the command line can tell an error of ours from a fault of the program."""
    for file in FILES:
        for node in ast.parse((PACKAGE / file).read_text(encoding="utf-8")).body:
            bases = {ast.unparse(base) for base in getattr(node, "bases", ())}
            if isinstance(node, ast.ClassDef) and node.name.endswith("Error"):
                assert "FieldvoiceError" in bases or node.name == "FieldvoiceError", node.name
            assert "FieldvoiceError" in bases or not bases & {"ValueError", "KeyError"}, file


def arrows() -> dict[str, set[str]]:
    """Module -> modules of ours that it imports, anywhere in its text."""
    modules = {module_of(file).removesuffix(".__init__"): file for file in FILES}
    found: dict[str, set[str]] = {}
    for module, file in modules.items():
        source = (PACKAGE / file).read_text(encoding="utf-8")
        names = {_known(name, modules) for name in imported(source, module_of(file))}
        found[module] = names - {"", "fieldvoice", module}
    return found


def _known(name: str, modules: dict[str, str]) -> str:
    while name and name not in modules:
        name = name.rpartition(".")[0]
    return name


def cycles(arrows: dict[str, set[str]]) -> set[str]:
    """Modules that can be reached from themselves: what is left when ends are taken off."""
    left = {module: set(names) for module, names in arrows.items()}
    while ends := {module for module, names in left.items() if not names & left.keys()}:
        left = {module: names for module, names in left.items() if module not in ends}
    return set(left)


def test_no_import_leads_back_to_where_it_began() -> None:
    assert cycles(arrows()) == set()
    assert cycles({"a": {"b"}, "b": {"c"}, "c": {"b"}, "d": set()}) == {"a", "b", "c"}


def test_every_room_but_training_installs() -> None:
    project = tomllib.loads((PACKAGE.parent / "pyproject.toml").read_text(encoding="utf-8"))
    rooms = {path.parent.relative_to(PACKAGE.parent) for path in PACKAGE.rglob("__init__.py")}
    wanted = {".".join(room.parts) for room in rooms if "training" not in room.parts}
    beside = set(project["tool"]["setuptools"]["package-dir"])
    assert set(project["tool"]["setuptools"]["packages"]) == wanted | beside


def test_no_room_is_too_full_to_find_ones_way_in() -> None:
    rooms = Counter(path.parent for path in PACKAGE.rglob("*.py"))
    assert max(rooms.values()) <= 20, rooms.most_common(3)


def test_no_test_imports_from_another_test_module() -> None:
    for path in Path(__file__).parent.rglob("*.py"):
        names = imported(path.read_text(encoding="utf-8"), "x")
        tests = [n for n in names if not n.startswith("fieldvoice.") and n.split(".")[0] != "x"]
        assert not [n for n in tests if any(p.startswith("test_") for p in n.split("."))], path
