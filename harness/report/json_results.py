"""The file of `unlit run --json`; results.schema.json is its JSON Schema."""

from __future__ import annotations

import json
from dataclasses import asdict

from harness.report.account import SessionAccount


def as_json(session: SessionAccount) -> str:
    """The session as JSON by RFC 8259: no NaN, no infinity."""
    return json.dumps(asdict(session), ensure_ascii=False, allow_nan=False, indent=1) + "\n"
