"""Tests run in a forked process that sees one number of the package changed; libraries are loaded before the fork."""

import contextlib
import gc
import importlib.abc
import importlib.machinery
import importlib.util
import io
import json
import os
import resource
import signal
import sys
import tempfile
import time
import warnings
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from types import CodeType, FrameType, ModuleType

import pytest
from hypothesis import HealthCheck, Phase, settings
from mutant_numbers import ROOT, Mutant
from mutant_reach import Ran, function_of

LIBRARIES = (
    *(
        "numpy",
        "scipy.optimize",
        "scipy.interpolate",
        "scipy.ndimage",
        "scipy.sparse",
        "scipy.integrate",
        "scipy.stats",
    ),
    *("cv2", "PIL.Image", "PIL.ImageCms", "PIL.ImageDraw", "skimage.color", "skimage.measure", "colour"),
    *("colormath.color_constants", "reportlab.pdfgen.canvas", "reportlab.platypus", "pypdfium2", "pypdf", "pdfplumber"),
    *("typer", "rich.console", "tomlkit", "starlette.applications", "platformdirs", "filelock", "trimesh"),
    *("hypothesis", "psychrolib", "networkx", "icalendar", "ortools.sat.python.cp_model", "_hypothesis_pytestplugin"),
)
PLUGINS = ("_hypothesis_pytestplugin", "no:cacheprovider", "no:unraisableexception", "no:threadexception")
"""Of pytest, without those that collect garbage after each run: half of the time."""
LIMIT_BYTES = 6 << 30
"""Memory of one child (our limit)."""
DRAWS, SLOWEST_S = 10, 2.5
"""Draws of a property, and the longest a test may take to be used at all, three times that to prepare (our limits)."""
settings.register_profile(
    "mutants",
    derandomize=True,
    database=None,
    deadline=None,
    phases=(Phase.explicit, Phase.generate),
    suppress_health_check=list(HealthCheck),
)


def load_libraries() -> None:
    """Imported once, so that a fork has them."""
    warnings.simplefilter("ignore")
    for name in LIBRARIES:
        importlib.import_module(name)
    sys.path[:0] = [str(ROOT), *(str(ROOT / "tests" / p) for p in ("", "cli", "order", "photo", "run", "sheets"))]
    for name in [m for m in sys.modules if m.split(".")[0] == "finishplan"]:
        del sys.modules[name]
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    with tempfile.TemporaryDirectory() as folder:  # what pytest and hypothesis load only when they first run
        warm = Path(folder) / "test_warm.py"
        warm.write_text(
            "from hypothesis import given, strategies as st\n@given(st.floats())\ndef test_x(x): assert 1\n"
        )
        run_tests([str(warm)])


class Changed(importlib.abc.MetaPathFinder, importlib.machinery.SourceFileLoader):
    """Finds one module of the package, with its text changed."""

    def __init__(self, module: str, path: Path, text: bytes) -> None:
        super().__init__(module, str(path))
        self.module, self.text = module, text

    def find_spec(self, fullname: str, path: object = None, target: object = None) -> object:
        return (
            importlib.util.spec_from_file_location(fullname, self.path, loader=self)
            if fullname == self.module
            else None
        )

    def get_code(self, fullname: str) -> CodeType:
        return compile(self.text, self.path, "exec", dont_inherit=True)

    def exec_module(self, module: ModuleType) -> None:
        exec(self.get_code(module.__name__), module.__dict__)


def change(mutant: Mutant) -> None:
    """The package, not yet imported, will be read with the number halved."""
    text = mutant.halved(mutant.path.read_bytes())
    if mutant.path.suffix == ".py":
        sys.meta_path.insert(0, Changed(f"finishplan.{mutant.module}", mutant.path, text))
        return
    whole, plain_open = Path.read_bytes, Path.open

    def read_bytes(path: Path) -> bytes:
        return text if path.name == mutant.path.name and path.samefile(mutant.path) else whole(path)

    def opened(path: Path, mode: str = "r", *args: object, **kwargs: object) -> object:
        if path.name == mutant.path.name and "r" in mode and path.samefile(mutant.path):
            return io.BytesIO(text) if "b" in mode else io.StringIO(text.decode())
        return plain_open(path, mode, *args, **kwargs)

    Path.read_bytes, Path.open = read_bytes, opened
    Path.read_text = lambda path, *_, **__: read_bytes(path).decode()


class Watch:
    """A plugin of pytest: the first test that fails, what each costs and, wanted, which functions it goes through."""

    def __init__(self, follow: bool) -> None:
        self.follow, self.failed, self.ran = follow, "", dict[str, Ran]()
        self.by_code: dict[CodeType, tuple[str, str] | None] = {}
        self.set_up: dict[str, set[tuple[str, str]]] = {}
        self.now: set[tuple[str, str]] = set()

    def called(self, frame: FrameType, event: str, arg: object) -> None:
        code = frame.f_code
        if code not in self.by_code:
            self.by_code[code] = function_of(code.co_filename, code.co_qualname)
        if key := self.by_code[code]:
            self.now.add(key)

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Fewer draws: they notice a little less, and ten times as many numbers can be tried."""
        for item in items:
            drawn = getattr(item, "obj", None)
            if said := getattr(drawn, "_hypothesis_internal_use_settings", None):
                drawn._hypothesis_internal_use_settings = settings(said, max_examples=min(DRAWS, said.max_examples))

    def part(self, item: pytest.Item, of_file: bool) -> Iterator[None]:
        self.now, start = set(), time.process_time()
        if self.follow:
            signal.setitimer(signal.ITIMER_PROF, 3 * SLOWEST_S if of_file else SLOWEST_S)
            signal.setitimer(signal.ITIMER_REAL, 30 * SLOWEST_S)  # waits for processes that it has started
            sys.settrace(self.called)
        yield
        sys.settrace(None)
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.setitimer(signal.ITIMER_REAL, 0)
        ran = self.ran.setdefault(item.nodeid, Ran(0.0))
        ran.seconds += time.process_time() - start
        (self.set_up.setdefault(item.nodeid.split("::")[0], set()) if of_file else ran.functions).update(self.now)

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_setup(self, item: pytest.Item) -> Iterator[None]:
        yield from self.part(item, True)

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_call(self, item: pytest.Item) -> Iterator[None]:
        yield from self.part(item, False)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed = self.failed or report.nodeid
            self.ran.pop(report.nodeid, None)

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.failed:
            self.failed = self.failed or f"{report.nodeid} (cannot be imported)"


def too_slow(*_: object) -> None:
    raise TimeoutError


def run_tests(tests: Sequence[str], follow: bool = False) -> Watch:
    """In this process; quiet. Raises SystemExit where pytest itself could not run."""
    watch = Watch(follow)
    for told in (signal.SIGPROF, signal.SIGALRM):
        signal.signal(told, too_slow)
    options = [*(f"-p{name}" for name in PLUGINS), "-q", "--assert=plain", "--hypothesis-profile=mutants"]
    with Path(os.devnull).open("w") as sink, contextlib.redirect_stdout(sink), contextlib.redirect_stderr(sink):
        code = pytest.main([*options, *([] if follow else ["-x"]), "--tb=no", *tests], plugins=[watch])
        if code == pytest.ExitCode.USAGE_ERROR:  # the number stands in the name of a case: all cases of the test
            plain = dict.fromkeys(t.split("[")[0] for t in tests)
            code = pytest.main([*options, "-x", "--tb=no", *plain], plugins=[watch])
    if code not in (0, 1, 2, 5) or (code and not watch.failed and code != 5):
        watch.failed = watch.failed or f"pytest ended with {int(code)}"
    return watch


def forked(work: Callable[[], object], limit_s: float) -> tuple[object, float]:
    """What the work returns (JSON) and the processor seconds of the child; ('hangs', s) past the limit."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read)
        gc.disable()  # a collection would copy every page of the libraries
        resource.setrlimit(resource.RLIMIT_CPU, (int(limit_s) + 1, int(limit_s) + 5))
        resource.setrlimit(resource.RLIMIT_AS, (LIMIT_BYTES, LIMIT_BYTES))
        signal.signal(signal.SIGXCPU, signal.SIG_DFL)
        status = 1
        try:
            with os.fdopen(write, "w") as pipe:
                json.dump(work(), pipe)
            status = 0
        finally:
            os._exit(status)
    os.close(write)
    with os.fdopen(read) as pipe:
        said = pipe.read()
    _, status, used = os.wait4(child, 0)
    return (json.loads(said) if said else "hangs or crashes"), used.ru_utime + used.ru_stime
