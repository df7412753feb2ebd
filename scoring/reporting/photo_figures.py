"""The photos of some pairs: strips of both sides, their traces over each other beneath."""

from collections.abc import Callable, Sequence

from reportlab.graphics.shapes import Drawing

from scoring.comparing.comparison import Comparison, Print, PrintPair
from scoring.comparing.factor import setting_words, value_words
from scoring.measurement import Trace
from scoring.metrics import FACE_WORDS, FaceName
from scoring.reporting.blocks import Block, Figure, MakeDrawing, Strip, Text
from scoring.reporting.charts import draw_traces
from scoring.reporting.strips import cut_strips
from scoring.store.records import MeasurementRecord

MOST = 3
"""Pairs shown for each face: the lowest, the middle and the highest acceleration."""
ABOUT = {
    FaceName.RINGDOWN: "Ring-down face: the corner is at u = 0, to the left. Both strips are light "
    "over its own smooth falloff, at one contrast, so that equal contrast is equal slope under "
    "like lamps. Beneath: fitted ripple, a steady one included, the measured height faint behind.",
    FaceName.FLOW: "Flow face after the grooves: the nozzle speeds up from u = 50 mm. Both strips "
    "are at the same median light; gaps that were found are tinted pink. Beneath: share of the "
    "height that stands open, as a 2 mm moving mean, the single columns faint behind it.",
}
TITLES = {FaceName.RINGDOWN: "height, µm", FaceName.FLOW: "open, %"}

ReadFace = Callable[[str], bytes]
"""Gives a photo's rectified face as JPEG by the photo's hash."""


def show_photos(found: Comparison, read_face: ReadFace) -> tuple[Block, ...]:
    """A figure for each face and some of its pairs; words where there is no photo on both sides.

    ``read_face`` is :meth:`scoring.store.run_store.RunStore.face_jpeg`. Of a side with several
    photos the first print's first is shown, and the caption says so.
    """
    blocks: list[Block] = []
    for face in FaceName:
        shown = [(pair, sides) for pair in found.pairs if (sides := _both(pair, face)) is not None]
        if not shown:
            continue
        blocks.append(Text(ABOUT[face]))
        blocks += [_figure(found, pair, sides, face, read_face) for pair, sides in _some(shown)]
        if len(shown) > MOST:
            counted = f"{MOST} of {len(shown)} pairs of the {FACE_WORDS[face]} face are shown."
            blocks.append(Text(counted, "note"))
    return tuple(blocks) or (Text("No pair has a photo of the same face on both sides."),)


Sides = tuple[MeasurementRecord, MeasurementRecord]


def _both(pair: PrintPair, face: FaceName) -> Sides | None:
    first = [_first(prints, face) for prints in (pair.before, pair.after)]
    return None if first[0] is None or first[1] is None else (first[0], first[1])


def _first(prints: Sequence[Print], face: FaceName) -> MeasurementRecord | None:
    records = (r for p in prints for r in p.records if r.measurement.face is face)
    return next(records, None)


def _some(shown: list[tuple[PrintPair, Sides]]) -> list[tuple[PrintPair, Sides]]:
    """At most :data:`MOST`, spread evenly over the accelerations."""
    ordered = sorted(shown, key=lambda one: one[0].accel_mm_s2 or 0.0)
    if len(ordered) <= MOST:
        return ordered
    return [ordered[round(k * (len(ordered) - 1) / (MOST - 1))] for k in range(MOST)]


def _figure(
    found: Comparison, pair: PrintPair, sides: Sides, face: FaceName, read_face: ReadFace
) -> Figure:
    strips = cut_strips(*[read_face(record.photo.sha256) for record in sides], face=face)
    names = (f"before: {found.before.words}", f"after: {found.after.words}")
    pictures = zip(names, sides, (strips.before, strips.after), strict=True)
    on = ", ".join(
        f"{setting_words(name)} {value_words(name, value)}"
        for name, value in pair.on.items()
        if value is not None
    )
    shared = f"; {on}" if on else ""
    counted = sum(
        record.measurement.face is face
        for one in (*pair.before, *pair.after)
        for record in one.records
    )
    more = "" if counted == len(sides) else f" {counted} photos of this pair were measured in all."
    return Figure(
        strips=tuple(
            Strip(f"{name}: run {r.settings.name}, {r.photo.name}", jpeg, strips.aspect)
            for name, r, jpeg in pictures
        ),
        draw=_tracer(sides, strips.u_mm, names, TITLES[face]),
        caption=f"{FACE_WORDS[face].capitalize()} face{shared}.{more}",
        said=f"Strips of the {FACE_WORDS[face]} face of both sides, and their traces over each "
        f"other{shared}.",
    )


def _tracer(
    sides: Sides, u_mm: tuple[float, float], names: tuple[str, str], title: str
) -> MakeDrawing:
    traces = tuple(_in_percent(r.measurement.trace) for r in sides)

    def draw(font: str) -> Drawing:
        return draw_traces(traces, u_mm, names=names, title=title, font=font)

    return draw


def _in_percent(trace: Trace) -> Trace:
    """A flow trace in percent of the height; a ring-down trace as it is."""
    if trace.unit == "µm":
        return trace
    rows = (tuple(100 * v for v in values) for values in (trace.measured, trace.fitted))
    return Trace("%", trace.u_mm, *rows)
