"""The report's record: settings, how it was measured, cautions, and what it takes to repeat it."""

import platform
from collections.abc import Sequence
from importlib.metadata import version

from scoring.comparing.comparison import Comparison, Print
from scoring.comparing.factor import setting_names, setting_value, setting_words, value_words
from scoring.flags import SENTENCES, Flag
from scoring.geometry import GEOMETRY_REVISION
from scoring.making.advice import CAUTIONS
from scoring.measurement import METHOD_VERSION
from scoring.metrics import FACE_WORDS
from scoring.reporting.blocks import Block, Bullets, Section, Table, Text

MEASURED = (
    "Each coupon was laid on a printed card and photographed under one raking lamp. The card's "
    "markers give the camera's place, the coupon's outline, layers and facets its own; the face is "
    "then straightened to millimetres.",
    "Ring-down face: facets of known slope on the same face, and the lamp's place found from the "
    "card, turn brightness into slope and slope into height. Damped vibrations are fitted in time, "
    "so that frequencies hold for any acceleration; a ripple of constant length is kept apart.",
    "Flow face: an open gap takes its own height out of the light of a layer. Closed layers of the "
    "same photo are the reference, so filament and exposure cancel.",
    "Every number has a 95 % interval from the scatter between strips of the face and from what is "
    "not known of lamp, place and focus.",
    "No photo of a real print has been measured against a known truth yet: how well numbers and "
    "intervals hold was tried on computed photos whose surface is exactly known. Blobs, strings, "
    "stains and dust were not in them, so expect real prints to do worse. Two sides in one "
    "filament under one lamp are likely to share most of what may be wrong, so trust the "
    "comparison more than the single number.",
)
LIBRARIES = ("coupon-scoring", "numpy", "scipy", "statsmodels", "opencv-python")


def settings_section(found: Comparison) -> Section:
    """What all prints share, and what tells them apart."""
    prints = _compared(found)
    names = [name for name in setting_names(prints) if name != "name"]
    words = {
        name: [value_words(name, setting_value(p.settings, name)) for p in prints]
        for name in names
    }  # fmt: skip
    known = [name for name in names if any(_given(p, name) for p in prints)]
    alike = [name for name in known if len(set(words[name])) == 1]
    differ = [name for name in known if name not in alike]
    listed = ", ".join(f"{setting_words(name)} {words[name][0]}" for name in alike)
    blocks: list[Block] = [Text(f"Alike in all {len(prints)} prints compared: {listed or '-'}.")]
    wide = [name for name in differ if name != "notes"]
    for start in range(0, len(wide), 7):
        some = wide[start : start + 7]
        share = 0.78 / len(some)
        blocks.append(
            Table(
                ("run", *map(setting_words, some)),
                tuple(
                    (p.settings.name, *(words[name][place] for name in some))
                    for place, p in enumerate(prints)
                ),
                (0.22, *[share] * len(some)),
                small=True,
            )
        )
    if "notes" in differ:
        noted: dict[str, list[str]] = {}
        for p in prints:
            noted.setdefault(p.settings.notes or "no notes", []).append(p.settings.name)
        told = tuple(f"{note} ({', '.join(runs)})" for note, runs in noted.items())
        blocks += [Text("Notes:"), Bullets(told)]
    return Section("Settings and their differences", tuple(blocks))


def trust_section(found: Comparison) -> Section:
    """How it was measured, how far to trust it, and the flags that were raised."""
    blocks: list[Block] = [Bullets(MEASURED)]
    flagged = [
        (flag, [p.settings.name for p in _compared(found) if flag in p.flags]) for flag in Flag
    ]
    rows = tuple((flag.value, SENTENCES[flag], ", ".join(runs)) for flag, runs in flagged if runs)
    if rows:
        blocks.append(Text("Flags of the photos compared:"))
        head = ("flag", "what it says", "runs")
        blocks.append(Table(head, rows, (0.18, 0.42, 0.4), small=True))
    else:
        blocks.append(Text("No photo compared carries a flag."))
    return Section("How it was measured, and how far to trust it", tuple(blocks))


def caution_section() -> Section:
    """What to mind before anything is printed faster."""
    return Section("Cautions", (Text(" ".join(CAUTIONS.split())),))


def repeat_section(found: Comparison, command: str) -> Section:
    """Versions, and every photo by its hash."""
    prints = _compared(found)
    records = [record for p in prints for record in p.records]
    methods = sorted({r.measurement.method_version for r in records})
    revisions = sorted({r.measurement.geometry_revision or "unknown" for r in records})
    libraries = ", ".join(f"{name} {version(name)}" for name in LIBRARIES)
    facts = (
        f"Photos measured by method {', '.join(methods)} (this program: {METHOD_VERSION}); coupon "
        f"and card of revision {', '.join(revisions)} (this program: {GEOMETRY_REVISION}).",
        f"{libraries}; Python {platform.python_version()}.",
        "A photo is told by the SHA-256 hash of its file, whatever it is called.",
    )
    rows = tuple(
        (
            record.settings.name,
            FACE_WORDS[record.measurement.face],
            record.photo.name,
            f"{record.measured_at:%Y-%m-%d %H:%M}",
            record.photo.sha256,
        )
        for record in records
    )
    return Section(
        "To repeat it",
        (
            Text("With the same photos in the run store:"),
            Text(command, "code"),
            Bullets(facts),
            Table(
                ("run", "face", "photo", "measured, UTC", "SHA-256"),
                rows,
                (0.17, 0.09, 0.22, 0.14, 0.38),
                small=True,
            ),
        ),
    )


def _compared(found: Comparison) -> Sequence[Print]:
    """The prints in pairs, before first; all of both sides where there is no pair."""
    if not found.pairs:
        return (*found.before.prints, *found.after.prints)
    before = [p for pair in found.pairs for p in pair.before]
    return [*before, *(p for pair in found.pairs for p in pair.after)]


def _given(one: Print, name: str) -> bool:
    return setting_value(one.settings, name) not in (None, "")
