"""The page for the bow case as Markdown."""

from __future__ import annotations

from typing import TYPE_CHECKING

from archerysim.show.case_sheet import rows

if TYPE_CHECKING:
    from archerysim.study.case_sheet.case_sheet import CaseSheet


def sheet_markdown(sheet: CaseSheet) -> str:
    """What the page tells, without its picture.

    Parameters
    ----------
    sheet : CaseSheet
    """
    archer = sheet.launch.drawing.setup.archer
    lines = [f"# {_cell(sheet.setup.name)}", "", f"{sheet.setup.category}, {archer.handed}-handed, {archer.hold}.", ""]
    lines += ["## Measured", "", "| measure | metric | trade | |", "| --- | --- | --- | --- |"]
    lines += [f"| {' | '.join(map(_cell, row))} |" for row in rows.measurements(sheet)]
    lines += ["", f"## Predicted (target at {rows.distance_words(sheet)})", "", "| | |", "| --- | --- |"]
    lines += [f"| {name} | {_cell(text)} |" for name, text in rows.predicted(sheet)]
    lines += ["", rows.assumed_words(sheet)] if sheet.assumed else []
    lines += ["", "## Which way", "", "| seen | do |", "| --- | --- |"]
    lines += [f"| {seen} | {do} |" for seen, do in rows.directions(sheet.launch.setup)]
    lines += ["", rows.ORDER, "", "## Last journal lines", ""]
    lines += [f"- {line}" for line in rows.last_lines(sheet)] or ["none yet"]
    lines += ["", "## Cautions", "", *(f"- {_cell(one)}" for one in rows.cautions(sheet))]
    return "\n".join(lines) + "\n"


def _cell(text: str) -> str:
    return text.replace("|", "/")
