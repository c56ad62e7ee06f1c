"""Findings, lenses and hints of an open file, and the requests that refresh them without an edit."""

from __future__ import annotations

from typing import NamedTuple

from lsprotocol import types as lsp

from flatwise_lsp.features.plan_hints import Hint
from flatwise_lsp.features.results import Lens, Results

#: the requests that ask an editor to ask again, with the capability that says whether it can
REFRESH = {
    "findings": ("workspace.diagnostics.refresh_support", "workspace_diagnostic_refresh"),
    "lenses": ("workspace.code_lens.refresh_support", "workspace_code_lens_refresh"),
    "hints": ("workspace.inlay_hint.refresh_support", "workspace_inlay_hint_refresh"),
}


class Shown(NamedTuple):
    """Findings and results of one version of an open file.  The places of the results are moved with later edits."""

    version: int
    findings: list[lsp.Diagnostic]
    results: list[Results]

    @property
    def lenses(self) -> list[Lens]:
        return [lens for job in self.results for lens in job.lenses]

    @property
    def hints(self) -> list[Hint]:
        return [hint for job in self.results for hint in job.hints]
