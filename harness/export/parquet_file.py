"""Apache Parquet: a column a signal, the unit in the field's metadata. Needs pyarrow."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np

from harness.errors import WrongUseError
from harness.logbook import RunRecord
from harness.logbook.chunks import Times, Values

Column = Times | Values

#: Rows of a row group, at least. A recorded chunk is far smaller.
GROUP_ROWS = 65_536


def write_parquet(record: RunRecord, names: Sequence[str], path: Path) -> None:
    """Write the named signals as float64, `time` as int64 in ms. WrongUseError without pyarrow; OSError."""
    try:
        import pyarrow as pa
        from pyarrow.parquet import ParquetWriter
    except ImportError:
        raise WrongUseError("Parquet needs pyarrow. Install it with: pip install 'unlit[parquet]'") from None
    meta = record.summary.meta
    about = {
        "run": str(record.summary.run_id),
        "status": record.summary.shown_status,
        "title": meta.title,
        "scenario": meta.scenario_file,
        "device": meta.device,
        "seed": str(meta.seed),
        "digest": record.summary.end.digest,
    }
    fields = [pa.field("time", pa.int64(), nullable=False, metadata={"unit": "ms"})]
    fields += [pa.field(name, pa.float64(), metadata={"unit": record.units[name]}) for name in names]
    words = {f"unlit.{key}": text.encode("utf-8", "replace") for key, text in about.items()}
    schema = pa.schema(fields, metadata=words)
    with ParquetWriter(path, schema, compression="zstd") as writer:
        for columns in _groups(record, names):
            writer.write_table(pa.table([pa.array(column) for column in columns], schema=schema))


def _groups(record: RunRecord, names: Sequence[str]) -> Iterator[list[Column]]:
    """Lists of columns, time first, of at least `GROUP_ROWS` rows but for the last."""
    waiting: list[tuple[Times, Values]] = []
    for times, values in record.chunks(names):
        waiting.append((times, values))
        if sum(len(part) for part, _ in waiting) >= GROUP_ROWS:
            yield _joined(waiting)
            waiting = []
    if waiting:
        yield _joined(waiting)


def _joined(parts: Sequence[tuple[Times, Values]]) -> list[Column]:
    values = np.concatenate([part for _, part in parts])
    return [np.concatenate([part for part, _ in parts]), *map(np.ascontiguousarray, values.T)]
