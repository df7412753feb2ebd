"""The page Things to print: what it gives is what the package makes."""

import io
import zipfile
from pathlib import Path

import pypdf
import pytest
import trimesh
from streamlit.testing.v1 import AppTest

from scoring.errors import SettingsError
from scoring.geometry import BLADE
from scoring.making.advice import CHECK_ADVICE
from scoring.page.things_to_print import make_blade_file, make_card_file, make_labels_file
from tests.page.drawn_page import PRINT


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_card_is_a_pdf_of_one_page(paper: str) -> None:
    assert len(pypdf.PdfReader(io.BytesIO(make_card_file(paper))).pages) == 1


@pytest.mark.parametrize("check", [False, True])
def test_blades_come_as_3mf_and_stl(*, check: bool) -> None:
    with zipfile.ZipFile(io.BytesIO(make_blade_file("x", 0, check=check))) as archive:
        assert any(name.endswith(".model") for name in archive.namelist())
    mesh = trimesh.load(io.BytesIO(make_blade_file("x", 1, check=check)), file_type="stl")
    assert max(mesh.extents) == pytest.approx(BLADE.length_mm, abs=0.2)


def test_labels_name_their_runs_or_say_what_is_wrong() -> None:
    text = pypdf.PdfReader(io.BytesIO(make_labels_file(("B7-012",), "a4"))).pages[0].extract_text()
    assert "B7-012" in text
    with pytest.raises(SettingsError):
        make_labels_file(("B7/012",), "a4")


def test_things_to_print_are_offered(page: AppTest, database: Path) -> None:
    page.run()
    page.switch_page(PRINT).run()
    assert not page.exception
    assert len(page.get("download_button")) == 8
    assert CHECK_ADVICE.strip() in [text.value.strip() for text in page.text]
    page.text_input(key="label-runs").set_value("b7-012, b7-013").run()
    assert len(page.get("download_button")) == 9
    page.text_input(key="label-runs").set_value("b7/012").run()
    assert len(page.error) == 1
    assert not page.exception
    assert not database.exists()
