"""How many small faults in the arithmetic the tests notice: `python -m by_hand.mutants [FILE ...]`.

Needs cosmic-ray (`pip install cosmic-ray`), whose operators make the faults; its own runner starts
an interpreter for each of them, and knows no data files. Here the libraries are loaded once and
each mutant is tested in a fork, in a copy of the tree: nothing is written into the repository.

A file's tests are those of tests/trade that import it (if none does, what uses it), the quick ones
first, until one fails. A mutant that no longer imports, or runs for five times as long, is killed
too.
"""

from __future__ import annotations

import argparse
import ast
import importlib
import multiprocessing
import os
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from by_hand.mutations import Mutant, mutants

ROOT = Path(__file__).parents[2]
LIBRARIES = ("pytest", "hypothesis.strategies", "numpy", "pint", "lark", "msgspec", "psychrolib",
             "iapws", "CoolProp.CoolProp")  # loaded once, before any fork
KINDS = (".py", ".toml", ".csv")
PASSED = 0


@dataclass(frozen=True)
class Score:
    """A file's mutants: how many were tried, and those that no test noticed."""

    file: str
    tried: int
    survived: list[Mutant]

    def __str__(self) -> str:
        killed = self.tried - len(self.survived)
        share = f"{100 * killed / self.tried:.0f} %" if self.tried else "nothing to change"
        return f"{self.file}: {self.tried} mutants, {killed} killed, {share}"


def main() -> None:
    """Try the mutants of the files given, or of all of trade but its studies."""
    parser = argparse.ArgumentParser(prog="by_hand.mutants", description=__doc__)
    parser.add_argument("files", nargs="*", metavar="FILE",
                        help="from the repository's root; a folder is all of its files")
    parser.add_argument("--most", type=int, default=40, help="mutants of a file (40)")
    parser.add_argument("--seed", type=int, default=1, help="another seed, other mutants (1)")
    args = parser.parse_args()
    for library in LIBRARIES:
        importlib.import_module(library)
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        tree = copy_of_the_tree(Path(folder))
        scores = []
        for file in chosen(args.files):
            scores.append(try_file(tree, file, args.most, args.seed))
            report(scores[-1])
    tried = sum(score.tried for score in scores)
    killed = tried - sum(len(score.survived) for score in scores)
    print(f"in all: {tried} mutants, {killed} killed, {100 * killed / max(tried, 1):.1f} %")


def chosen(files: list[str]) -> list[str]:
    """Files to mutate, as paths from the root."""
    given = [ROOT / file for file in files] or [ROOT / "fieldvoice" / "trade"]
    found = []
    for path in given:
        if not path.exists():
            sys.exit(f"{path.relative_to(ROOT)}: no such file or folder in the repository")
        inside = sorted(path.rglob("*")) if path.is_dir() else [path]
        found += [p for p in inside if p.suffix in KINDS and (files or "studies" not in p.parts)]
    return [str(p.relative_to(ROOT)) for p in found]


def copy_of_the_tree(folder: Path) -> Path:
    """The files that git knows or would take, in a folder of their own."""
    listed = subprocess.run(["git", "ls-files", "-co", "--exclude-standard"], cwd=ROOT, text=True,
                            capture_output=True, check=True).stdout.splitlines()
    for name in listed:
        if name.startswith(("fieldvoice/", "grammar/", "tests/")) or "/" not in name:
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(ROOT / name, folder / name)
    (folder / "fieldvoice" / "grammar").symlink_to(folder / "grammar")
    return folder


def try_file(tree: Path, file: str, most: int, seed: int) -> Score:
    """Try up to `most` mutants of a file; exits when its tests fail without any."""
    text = (tree / file).read_text("utf-8")
    tried, survived = mutants(file, text, seed)[:most], list[Mutant]()
    if not tried:
        return Score(file, 0, survived)
    tests = quick_first(tree, fitting_tests(file))
    if not tests:
        sys.exit(f"{file}: no test in tests/trade imports it, or what uses it")
    started = time.monotonic()
    if run_tests(tree, file, tests, limit_s=600) != PASSED:
        sys.exit(f"{file}: its tests fail without any mutant: {' '.join(tests)}")
    limit_s = 10 + 5 * (time.monotonic() - started)
    for mutant in tried:
        (tree / file).write_text(mutant.text, "utf-8")
        if run_tests(tree, file, tests, limit_s) == PASSED:
            survived.append(mutant)
    (tree / file).write_text(text, "utf-8")
    return Score(file, len(tried), survived)


def run_tests(tree: Path, file: str, tests: list[str], limit_s: float) -> int:
    """The exit code of pytest in a fork; one that takes too long has failed."""
    for kept in (tree / file).parent.glob(f"__pycache__/{Path(file).stem}.*"):
        kept.unlink()  # a changed file may have the size and the second of the one before
    child = multiprocessing.get_context("fork").Process(target=_in_fork, args=(tree, tests))
    child.start()
    child.join(limit_s)
    if child.is_alive():
        child.kill()
        child.join()
    return child.exitcode if child.exitcode is not None else 1


def _in_fork(tree: Path, tests: list[str]) -> None:
    import pytest

    sink = os.open(os.devnull, os.O_WRONLY)
    os.dup2(sink, 1)
    os.dup2(sink, 2)
    os.chdir(tree)
    mine = str(ROOT / "tests")
    sys.path[:] = [str(tree), *(p for p in sys.path if p not in ("", mine, str(ROOT)))]
    os._exit(int(pytest.main([
        "-n0",  # in this process: it was forked to be the only one
        "-x", "-q", "-p", "no:cacheprovider", "--hypothesis-seed=0",
        "-W", "ignore::pytest.PytestAssertRewriteWarning",  # the libraries are loaded already
        *tests,
    ])))


def fitting_tests(file: str) -> list[str]:
    """Tests of tests/trade that import the module; if none does, those of the modules that use it.

    A data file's modules are those that name it.
    """
    path, inside = ROOT / file, sorted((ROOT / "fieldvoice" / "trade").rglob("*.py"))
    users = {path} if path.suffix == ".py" else {
        p for p in path.parent.glob("*.py") if path.name in p.read_text("utf-8")}
    while not (found := _tests_of(users)):
        more = {m for m in inside if m not in users and _imported(m) & _names(users)}
        if not more:
            return []
        users |= more
    return found


def _tests_of(modules: set[Path]) -> list[str]:
    tests = sorted((ROOT / "tests" / "trade").glob("test_*.py"))
    return [str(t.relative_to(ROOT)) for t in tests if _names(modules) & _imported(t)]


def _names(modules: set[Path]) -> set[str]:
    """Dotted names of modules; of a package's __init__ the package's."""
    plain = {p.parent if p.name == "__init__.py" else p for p in modules}
    return {".".join(p.relative_to(ROOT).with_suffix("").parts) for p in plain}


def _imported(test: Path) -> set[str]:
    """Every dotted name that a file imports, also `a.b` of `from a import b`."""
    found = set()
    for node in ast.walk(ast.parse(test.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return found


def quick_first(tree: Path, tests: list[str]) -> list[str]:
    """The tests in the order of the time that they take."""
    taken = {}
    for test in tests:
        started = time.monotonic()
        run_tests(tree, test, [test], limit_s=600)
        taken[test] = time.monotonic() - started
    return sorted(tests, key=taken.__getitem__)


def report(score: Score) -> None:
    """Print a file's score and each survivor with its line."""
    print(score)
    text = (ROOT / score.file).read_text("utf-8").splitlines()
    for mutant in sorted(score.survived, key=lambda m: m.line):
        print(f"  line {mutant.line}: {text[mutant.line - 1].strip()}\n"
              f"    survived: {mutant.what}: {mutant.text.splitlines()[mutant.line - 1].strip()}",
              flush=True)


if __name__ == "__main__":
    main()
