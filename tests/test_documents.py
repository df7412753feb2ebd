"""README and DEVELOPERS tell what there is, and what they tell is there."""

import json
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from PIL import Image

import scoring
from scoring.cli.main import main
from scoring.errors import ScoringError
from scoring.estimate import Estimate
from scoring.flags import SENTENCES, Flag
from scoring.making.advice import CAUTIONS, CHECK_ADVICE, PRINT_ADVICE
from scoring.measurement import Measurement, Mode, Registration, Trace
from scoring.metrics import METRICS, MODE_METRICS, FaceName, Metric
from scoring.runs.settings import SETTING_NAMES
from scoring.runs.settings_file import settings_from_csv, settings_from_toml

ROOT = Path(scoring.__file__).parents[1]
DOCUMENTS = ("README.md", "DEVELOPERS.md", "reference_images/README.md")
README, DEVELOPERS = ((ROOT / name).read_text("utf-8") for name in DOCUMENTS[:2])
INTERNAL = "internal-error"
"""What a photo gets on which the program itself failed (scoring/batch.py)."""


def blocks(language: str) -> list[str]:
    """README's code blocks of one language."""
    return re.findall(rf"^```{language}\n(.*?)^```", README, flags=re.MULTILINE | re.DOTALL)


def table_rows(first_cell: str) -> list[list[str]]:
    """The cells of README's table rows whose first cell is exactly this, in code type."""
    lines = [line for line in README.splitlines() if line.startswith(f"| `{first_cell}` |")]
    return [
        [cell.strip().replace(r"\|", "|") for cell in re.split(r"(?<!\\)\|", line)[1:-1]]
        for line in lines
    ]


def plain(text: str) -> str:
    """Text without line breaks, indents and the marks of a quotation."""
    return " ".join(re.sub(r"^\s*> ?", "", text, flags=re.MULTILINE).split())


def commands(group: click.Group, path: tuple[str, ...] = ("coupon",)) -> Iterator[tuple[str, ...]]:
    """Every command's words, groups and what is in them."""
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        yield (*path, name)
        if isinstance(command, click.Group):
            yield from commands(command, (*path, name))


def error_codes() -> set[str]:
    """The code of every error there is."""
    found, ahead = {INTERNAL}, [ScoringError]
    while ahead:
        error = ahead.pop()
        found.add(error.code)
        ahead += error.__subclasses__()
    return found


def told_commands() -> list[list[str]]:
    """The words of every ``coupon`` line in README's shell blocks, without the path before it."""
    lines = [line for block in blocks("sh") for line in block.splitlines()]
    parts = [part.split() for line in lines for part in line.split("&&")]
    return [words[1:] for words in parts if words[:1] in (["coupon"], [".venv/bin/coupon"])]


def test_readme_opens_with_one_paragraph_and_a_picture() -> None:
    parts = README.split("\n\n")
    assert parts[0].startswith("# ")
    assert re.match(r"[A-Z]", parts[1])
    assert parts[2].startswith("![")


@pytest.mark.parametrize("words", list(commands(main)), ids=" ".join)
def test_every_command_is_in_readme(words: tuple[str, ...]) -> None:
    assert re.search(rf"{' '.join(words)}\b", README)


@pytest.mark.parametrize("words", told_commands(), ids=" ".join)
def test_every_command_line_in_readme_exists(words: list[str]) -> None:
    command: click.Command = main
    for word in words:
        if not isinstance(command, click.Group):
            break
        found = command.get_command(click.Context(command), word)
        assert found is not None
        command = found
    options = {name for parameter in command.params for name in parameter.opts}
    assert {word for word in words if word.startswith("--")} <= options


@pytest.mark.parametrize("metric", METRICS + MODE_METRICS, ids=lambda m: m.name)
def test_every_metric_is_in_readme(metric: Metric) -> None:
    unit = "" if metric.unit == "1" else metric.unit
    rows = [row for row in table_rows(metric.name) if metric.sentence in row]
    assert len(rows) == 1
    assert rows[0][1] == unit
    assert {"none": "neither"}.get(metric.better, metric.better) in rows[0]


@pytest.mark.parametrize("flag", list(Flag))
def test_every_flag_is_in_readme(flag: Flag) -> None:
    assert table_rows(flag) == [[f"`{flag}`", SENTENCES[flag]]]


@pytest.mark.parametrize("code", sorted(error_codes()))
def test_every_error_code_is_in_readme(code: str) -> None:
    assert f"`{code}`" in README


def test_readme_tells_no_flag_or_error_that_there_is_not() -> None:
    told = set(re.findall(r"^\| `([a-z]+(?:-[a-z]+)+)` \|", README, flags=re.MULTILINE))
    assert told <= {flag.value for flag in Flag} | error_codes()


def test_ci_runs_readme_s_test_command() -> None:
    command = next(line for block in blocks("sh") for line in block.split("\n") if "pytest" in line)
    assert command in (ROOT / ".ci" / "run").read_text("utf-8").splitlines()


def test_print_advice_and_cautions_are_in_readme() -> None:
    assert plain(PRINT_ADVICE) in plain(README)
    assert plain(CHECK_ADVICE) in plain(README)
    assert plain(CAUTIONS) in plain(README)


def test_the_toml_example_reads_and_has_every_setting(tmp_path: Path) -> None:
    (example,) = blocks("toml")
    path = tmp_path / "workshop.toml"
    path.write_text(example, "utf-8")
    stock, brace = (listed.settings for listed in settings_from_toml(path))
    assert (stock.setup, brace.setup) == ("stock", "brace")
    assert stock.motion == brace.motion
    assert set(tomllib.loads(example)["run"][0]) == {*SETTING_NAMES, "photos"}


def test_the_csv_example_reads(tmp_path: Path) -> None:
    (example,) = blocks("csv")
    path = tmp_path / "workshop.csv"
    path.write_text(example, "utf-8")
    (listed,) = settings_from_csv(path)
    assert len(listed.photos) == 2
    assert listed.settings.extra == {"belt_hz": 88}


def test_the_json_example_has_the_shape_of_a_measurement() -> None:
    (example,) = blocks("json")
    one = Estimate(1.0, 1.0, 1.0)
    real = Measurement(
        photo="photo.jpg",
        face=FaceName.RINGDOWN,
        run="B7-012",
        axis="x",
        registration=Registration(12, 0.006, 0.0578),
        metrics={"ripple_peak_um": one},
        modes=(Mode(one, one, one, one),),
        flags=(Flag.STEADY_RIPPLE,),
        trace=Trace("µm", (), (), ()),
    ).to_json()

    def shape(value: object) -> object:
        if isinstance(value, dict):
            return {key: shape(inner) for key, inner in value.items()}
        if isinstance(value, list):
            return [shape(inner) for inner in value]
        return float if isinstance(value, int | float) else value

    assert shape(json.loads(example)) == shape(real)


@pytest.mark.parametrize("name", DOCUMENTS)
def test_no_path_of_one_machine(name: str) -> None:
    text = (ROOT / name).read_text("utf-8")
    assert not re.search(r"(?<![\w.])(/(work|home|root|tmp|opt|usr|mnt|Users)/|[A-Z]:\\)", text)


@pytest.mark.parametrize("name", DOCUMENTS)
def test_what_is_linked_exists(name: str) -> None:
    path = ROOT / name
    targets = re.findall(r"\]\(([^)\s]+)\)", path.read_text("utf-8"))
    for target in targets:
        if not target.startswith(("http", "#")):
            assert (path.parent / target.partition("#")[0]).exists(), target


def test_files_named_in_developers_exist() -> None:
    named = re.findall(r"`((?:scoring|tests|reference_images|\.ci)/[\w./-]*)`", DEVELOPERS)
    assert len(named) > 20
    assert [name for name in named if not (ROOT / name).exists()] == []


def test_every_part_of_the_package_is_on_the_map() -> None:
    folder = ROOT / "scoring"
    parts = {f"scoring/{p.parent.name}/" for p in folder.glob("*/__init__.py")}
    parts |= {f"scoring/{p.name}" for p in folder.glob("*.py") if p.name != "__init__.py"}
    assert [part for part in sorted(parts) if f"`{part}`" not in DEVELOPERS] == []


def test_pictures_open_and_are_small() -> None:
    pictures = list((ROOT / "reference_images" / "pictures").iterdir())
    assert pictures
    for path in pictures:
        assert path.name in README
        assert path.stat().st_size < 300_000
        with Image.open(path) as picture:
            picture.load()
