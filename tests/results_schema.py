"""The JSON Schema of the results file, worked out from the records that are written into it.

Run after a change of them: python -m tests.results_schema > harness/report/results.schema.json
"""

from __future__ import annotations

import json
from typing import Any

from pydantic import TypeAdapter

from harness.report.account import SessionAccount


def results_schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of what `json_results.as_json` writes."""
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
