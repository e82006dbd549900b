"""`fieldnotes chart REF`: a case's healing course drawn, for the terminal, as SVG or as PNG."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.casework.charts import advance_chart, course_chart, measured_wounds
from fieldnotes.cli.opening import open_desk, write_out
from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.rendering.chart import draw_chart

if TYPE_CHECKING:
    import argparse

    from fieldnotes.rendering.chart import Chart


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the case, what is drawn and how."""
    parser.add_argument("ref", metavar="REF", help="the case, or any unique beginning of it")
    parser.add_argument("--what", choices=("area", "advance"), default="area")
    parser.add_argument("--wound", default="", metavar="A", help="one wound; all if not given")
    parser.add_argument("--format", choices=("text", "svg", "png"), default="text")
    parser.add_argument("--output", metavar="FILE")


def run(args: argparse.Namespace) -> int:
    """Draw the chart."""
    desk = open_desk(args)
    file = desk.file(args.ref)
    wound = args.wound.strip().upper()
    labels = measured_wounds(file)
    if wound and wound not in labels:
        raise UnknownNameError("--wound", f"measured: {', '.join(labels) or 'none'}", labels)
    tables = desk.knowledge.healing
    skin = desk.knowledge.settled("epithelium").words
    by_area = args.what == "area"
    chart = (
        course_chart(file, tables, wound) if by_area else advance_chart(file, tables, wound, skin)
    )
    if chart is None:
        raise RefusedInputError("chart", "no wound of this case has been measured")
    write_out(_drawn(chart, args.format), args.output)
    return 0


def _drawn(chart: Chart, form: str) -> bytes:
    if form == "svg":
        from fieldnotes.rendering.chart_svg import chart_svg  # noqa: PLC0415  (only for this form)

        return chart_svg(chart).encode()
    if form == "png":
        from fieldnotes.rendering.chart_png import chart_png  # noqa: PLC0415  (only for this form)

        return chart_png(chart)
    rows = ("".join(cell.char for cell in row).rstrip() for row in draw_chart(chart, 78, 22))
    return "\n".join([*rows, *([chart.caption] if chart.caption else []), ""]).encode()
