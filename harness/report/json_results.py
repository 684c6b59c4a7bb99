"""The file of `unlit run --json`, and the JSON Schema of it."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any

from harness.report.account import SessionAccount


def as_json(session: SessionAccount) -> str:
    """The session as JSON by RFC 8259: no NaN, no infinity."""
    return json.dumps(asdict(session), ensure_ascii=False, allow_nan=False, indent=1) + "\n"


def results_schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of what `as_json` writes."""
    from pydantic import TypeAdapter

    schema = TypeAdapter(SessionAccount).json_schema(mode="serialization")
    for table in (schema, *schema["$defs"].values()):
        if table.get("type") == "object":
            table["required"] = list(table["properties"])
            table.pop("description", None)
    about = "What unlit run --json writes; RESULTS.md beside this file says what each key means."
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Results of unlit run",
        "description": about,
    } | {key: value for key, value in schema.items() if key != "title"}


if __name__ == "__main__":
    print(json.dumps(results_schema(), indent=1))
