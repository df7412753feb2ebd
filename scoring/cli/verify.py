"""``coupon verify``: check the measurement itself on photos of the check blade."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from scoring.cli.error_words import told
from scoring.cli.options import READ_FILE, json_option

if TYPE_CHECKING:
    from scoring.batch import Failure
    from scoring.verify.check import Together, Verification

HEAD = ("designed, µm", "as printed, µm", "measured, µm", "95 % interval", "measured / printed")


@click.command(short_help="Check the measurement itself on the check blade.")
@click.argument("photos", metavar="PHOTO...", nargs=-1, required=True, type=READ_FILE)
@json_option
def verify(*, photos: tuple[Path, ...], as_json: bool) -> None:
    """Set measured against designed ripple on PHOTOs of the check blade's ring-down face.

    The check blade (coupon make check-blade) has ripple of 20, 50 and 100 µm designed in. What is
    measured on it says whether this printer, filament, lamp and phone can be trusted, and to what.
    A printer rounds small features: how far is read from the edges of the facets on the same face,
    and stands in the interval. Several photos of the one blade are judged together, one that is
    given twice counts once. Nothing is stored. The status is 1 if a photo could not be checked.

    \b
    Example:
      coupon verify check.jpg
      coupon verify check-1.jpg check-2.jpg check-3.jpg --json
    """
    import json  # noqa: PLC0415

    from scoring.batch import Failure  # noqa: PLC0415
    from scoring.cli.photo_tasks import photo_name  # noqa: PLC0415
    from scoring.verify.check import join, verify_photo  # noqa: PLC0415

    checks: list[Verification] = []
    failed = 0
    seen: dict[str, str] = {}
    for path in photos:
        name = photo_name(path)
        content = _content_hash(path)
        if content in seen:
            click.echo(_describe_copy(name, seen[content], as_json))
            continue
        seen[content or name] = name
        try:
            check = verify_photo(path, name=name)
        except Exception as error:  # one bad photo must not stop the others
            failed += 1
            click.echo(_describe_failure(name, Failure.of(error), as_json))
            continue
        checks.append(check)
        click.echo(json.dumps(check.to_json(), ensure_ascii=False) if as_json else describe(check))
    if len(checks) > 1:
        together = join(checks)
        click.echo(
            json.dumps(together.to_json(), ensure_ascii=False)
            if as_json
            else _describe_together(together)
        )
    if failed:
        if not as_json:
            click.echo(f"{failed} of {len(photos)} photos could not be checked.", err=True)
        raise SystemExit(1)


def _content_hash(path: Path) -> str | None:
    """What tells a file by its content; ``None`` where it cannot be read."""
    import hashlib  # noqa: PLC0415

    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return None


def _describe_copy(name: str, first: str, as_json: bool) -> str:
    import json  # noqa: PLC0415

    if as_json:
        return json.dumps({"photo": name, "same_as": first}, ensure_ascii=False)
    return f"{name}: the same photo as {first}, counted once\n"


def describe(check: "Verification") -> str:
    """Each stretch, the verdict and the flags of one photo, as text."""
    from scoring.cli.layout import format_table  # noqa: PLC0415
    from scoring.cli.measured_text import flag_lines  # noqa: PLC0415
    from scoring.estimate_words import format_estimate  # noqa: PLC0415

    rows = []
    for stretch in check.result.stretches:
        printed, _ = format_estimate(stretch.printed_um)
        measured, interval = format_estimate(stretch.measured_um)
        ratio = f"{stretch.ratio.value:.2f} ({stretch.ratio.low:.2f} to {stretch.ratio.high:.2f})"
        rows.append((f"{stretch.designed_um:g}", printed, measured, interval, ratio))
    flat, flat_interval = format_estimate(check.result.flat_um)
    rows.append(("0", "0", flat, flat_interval, ""))
    label = f"label: run {check.run}, axis {check.axis}" if check.run else "no label read"
    table = format_table(HEAD, rows).splitlines()
    lines = [f"{check.photo}: check blade, {label}", *(f"  {line}" for line in table)]
    rounding_mm = check.rounding.spread_mm
    lines.append(
        f"  The print rounds edges over {rounding_mm:.2f} mm (standard deviation), which the "
        "printed sizes allow for."
    )
    lines += [f"  {sentence}" for sentence in check.verdict.sentences]
    lines += [f"  {line}" for line in flag_lines(check.flags)]
    return "\n".join(lines) + "\n"


def _describe_together(together: "Together") -> str:
    sentences = "\n".join(f"  {sentence}" for sentence in together.verdict.sentences)
    return f"All {len(together.photos)} photos together:\n{sentences}"


def _describe_failure(name: str, failure: "Failure", as_json: bool) -> str:
    import json  # noqa: PLC0415

    failure = told(failure)
    if as_json:
        return json.dumps({"photo": name, "error": failure.to_json()}, ensure_ascii=False)
    return f"{name}: not checked ({failure.code})\n  {failure.message}\n"
