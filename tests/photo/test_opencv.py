import importlib.util
import sys

import pytest

from scoring.errors import MissingPackageError
from scoring.photo import opencv


def test_opencv_is_there() -> None:
    assert opencv.cv2.__version__


def test_a_missing_library_names_the_packages(monkeypatch: pytest.MonkeyPatch) -> None:
    # None in sys.modules makes the import statement raise ImportError.
    monkeypatch.setitem(sys.modules, "cv2", None)
    assert opencv.__file__
    spec = importlib.util.spec_from_file_location("fresh_opencv", opencv.__file__)
    assert spec
    assert spec.loader
    with pytest.raises(MissingPackageError, match=r"libgl1 libglib2\.0-0") as caught:
        spec.loader.exec_module(importlib.util.module_from_spec(spec))
    assert caught.value.code == "missing-package"
