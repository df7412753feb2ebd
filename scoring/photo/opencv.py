"""OpenCV, or a message that says which system packages it lacks."""

from scoring.errors import MissingPackageError

try:
    import cv2
except ImportError as error:
    raise MissingPackageError(
        f"OpenCV does not load ({error}). On Debian or Ubuntu install the libraries it needs: "
        "apt-get install libgl1 libglib2.0-0. If cv2 itself is missing: "
        "pip install opencv-python."
    ) from error

__all__ = ["cv2"]
