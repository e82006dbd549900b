"""The page of a joint, sheath or bursa that may be open: what was distended, what came out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.domain.treatment import SynovialTest
from fieldnotes.domain.wounds import SynovialEntry
from fieldnotes.tui.fields.choices import ChoiceField, lettered
from fieldnotes.tui.fields.field import Field
from fieldnotes.tui.fields.measures import NumberField
from fieldnotes.tui.forms.form import Pane

if TYPE_CHECKING:
    from fieldnotes.domain.wounds import Finding
    from fieldnotes.knowledge.regions import Region
    from fieldnotes.tui.forms.form import Reading

PATH = "synovial_tests.0"
LEAKED = {"yes": True, "no": False}
FIGURES = ("distended_ml", "cells_per_nl", "neutrophils_percent", "protein_g_per_l")


def synovial_pages(label: str, finding: Finding, region: Region | None) -> tuple[Pane, ...]:
    """Give the page once a wound's synovial structure was looked into; none before."""
    if region is None or finding.synovial_entry is SynovialEntry.NOT_EXAMINED:
        return ()
    p = f"care.{label}.{PATH}"
    near = ", ".join(s.name for s in region.cls.synovial)
    return (Pane(f"synovial-{label}", f"Joint {label}", (
        Field(key=f"{p}.structure", label="Structure", also=(p,),
              hint=f"beneath: {near}" if near else "which joint, sheath or bursa"),
        NumberField(key=f"{p}.distended_ml", label="Distended", unit="ml", most=500),
        ChoiceField(key=f"{p}.leaked", label="Leaked", given=lettered((k, k) for k in LEAKED)),
        NumberField(key=f"{p}.cells_per_nl", label="Nucleated cells", unit="x10^9/l",
                    scales=(("/ul", 0.001),), hint="32, or 32000 /ul"),
        NumberField(key=f"{p}.neutrophils_percent", label="Neutrophils", unit="%", most=100),
        NumberField(key=f"{p}.protein_g_per_l", label="Total protein", unit="g/l",
                    scales=(("g/dl", 10.0),), hint="45, or 4.5 g/dl"),
        Field(key=f"{p}.result", label="Result",
              hint="cut-offs may raise an alarm, they never clear one"),
    )),)  # fmt: skip


def read_synovial_test(label: str, r: Reading) -> tuple[SynovialTest, ...]:
    """Give the test of the page; none where no structure is named and nothing was measured."""
    p = f"care.{label}.{PATH}"
    figures = [r.get(f"{p}.{name}") for name in FIGURES]
    leaked = LEAKED.get(r.get(f"{p}.leaked") or "")
    said = r.get(f"{p}.structure") or "", r.get(f"{p}.result") or ""
    if not any(said) and leaked is None and all(x is None for x in figures):
        return ()
    distended, cells, neutrophils, protein = figures
    structure = said[0] or "not named"
    return (SynovialTest(structure, distended, leaked, cells, neutrophils, protein, said[1]),)
