"""Imports point one way along the data flow, and only the page knows Streamlit."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import scoring

ROOT = Path(scoring.__file__).parent
STAGES = (
    {
        "errors",
        "estimate",
        "estimate_words",
        "flags",
        "metrics",
        "motion",
        "measurement",
        "least_squares",
        "medians",
        "label",
        "metric_words",
        "remedies",
        "spreadsheet",
        "whole_file",
    },
    {"geometry"},
    {"photo"},
    {"registration"},
    {"shading"},
    {"ripple", "gaps"},
    {"picture"},
    {"measure", "measure_pair"},
    {"runs"},
    {"batch"},
    {"store"},
    {"adding", "remeasuring"},
    {"ranking"},
    {"comparing"},
    {"verify"},
    {"making"},
    {"reporting"},
    {"demo"},
    {"cli", "page", "app_page"},
)


def _stage(module: str) -> int:
    part = module.split(".")[1]
    return max(k for k, names in enumerate(STAGES) if part in names)


def _imports(path: Path) -> set[str]:
    tree = ast.parse(path.read_text("utf-8"))
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
        elif isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
    return found


MODULES = sorted(p for p in ROOT.rglob("*.py") if p.name != "__init__.py")


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_imports_point_one_way(path: Path) -> None:
    own = _stage(".".join(("scoring", *path.relative_to(ROOT).with_suffix("").parts)))
    for module in _imports(path):
        if module.startswith("scoring."):
            assert _stage(module) <= own, f"{path.name} imports {module}, a later stage"


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_only_the_page_imports_streamlit(path: Path) -> None:
    on_page = path.relative_to(ROOT).parts[0] in {"page", "app_page.py"}
    assert on_page or not any(m.split(".")[0] == "streamlit" for m in _imports(path))


def test_command_line_and_page_do_not_borrow_from_each_other() -> None:
    for one, other in (("cli", "page"), ("page", "cli")):
        for path in (ROOT / one).rglob("*.py"):
            assert not any(m.startswith(f"scoring.{other}.") for m in _imports(path)), path.name


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_only_the_store_imports_sql(path: Path) -> None:
    in_store = path.relative_to(ROOT).parts[0] == "store"
    sql = {"sqlalchemy", "alembic"}
    assert in_store or not any(m.split(".")[0] in sql for m in _imports(path))


def test_measuring_loads_nothing_heavy() -> None:
    """Every worker process starts by loading this: half a second more each is felt."""
    program = "import sys, scoring.measure, scoring.batch; print(*sys.modules)"
    ran = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, check=True, text=True
    )
    heavy = {"scipy.stats", "scipy.optimize", "pandas", "streamlit", "sqlalchemy", "matplotlib"}
    seldom = {"tifffile", "pillow_heif", "rawpy"}
    assert not (heavy | seldom) & set(ran.stdout.split())
