"""Read raw files: linear light straight from the sensor."""

import io

import numpy as np
import rawpy

from scoring.photo.exif import ExifFacts
from scoring.photo.stored import StoredPicture, check_size
from scoring.photo.tone import linear_curve

FULL_SCALE = 65535
# Scaling to 16 bits and interpolating between pixels leave cut-off ones just below full scale.
CLIP_LEVEL = round(0.99 * FULL_SCALE)


def read_raw(data: bytes, facts: ExifFacts) -> StoredPicture:
    """The sensor's own red, green and blue, white-balanced as shot, 16 bits, already upright.

    The camera's colours are not mixed into those of a screen: each channel stays a measurement of
    light through one filter, and a channel that was cut off stays so. No brightening, and the
    sensor's saturation, not the brightest pixel, is full scale. Raises ``rawpy.LibRawError`` for
    files that LibRaw does not know or that are cut off.
    """
    with rawpy.imread(io.BytesIO(data)) as raw:
        check_size(raw.sizes.width, raw.sizes.height)
        samples = raw.postprocess(
            gamma=(1, 1),
            no_auto_bright=True,
            adjust_maximum_thr=0.0,
            output_bps=16,
            output_color=rawpy.ColorSpace.raw,
            use_camera_wb=True,
            highlight_mode=rawpy.HighlightMode.Clip,
        )
    return StoredPicture(
        format="raw",
        samples=np.asarray(samples),
        curve=linear_curve,
        full_scale=FULL_SCALE,
        clip_level=CLIP_LEVEL,
        orientation=1,
        focal_35mm=facts.focal_35mm,
    )
