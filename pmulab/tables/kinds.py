"""The values of one field: text in the one form turned into its type, and back."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from pmulab.tables.fields import Field, Kind, Table

DTYPES: Mapping[Kind, str] = {
    "code": "string",
    "date": "datetime64[s]",
    "int": "Int64",
    "float": "Float64",
    "choice": "string",
    "flag": "boolean",
    "text": "string",
}


def typed(fields: Field, texts: pd.Series) -> pd.Series:
    """Turn readable text into the field's type.

    Parameters
    ----------
    fields : Field
    texts : Series of object
        Text in the one form; `pd.NA` where nothing is known.

    Returns
    -------
    Series
    """
    if texts.isna().all():
        return pd.Series([None] * len(texts), index=texts.index, dtype=DTYPES[fields.kind])
    if fields.kind == "date":
        days = pd.to_datetime(texts.where(texts.notna(), None), format="%Y-%m-%d")
        return pd.Series(days.astype("datetime64[s]"))
    if fields.kind in ("int", "float"):
        numbers = pd.to_numeric(texts.astype("string"))
        return numbers.astype("Int64" if fields.kind == "int" else "Float64")
    if fields.kind == "flag":
        return texts.map({"yes": True, "no": False}).astype("boolean")
    return texts.astype("string")


def empty_frame(table: Table) -> pd.DataFrame:
    """Return a frame of the table's columns and types without rows."""
    return pd.DataFrame(
        {f.name: pd.Series([], dtype=DTYPES[f.kind]) for f in table.fields},
        index=pd.RangeIndex(0),
    )


def value_text(fields: Field, value: Any) -> str:
    """Write one typed value as text in the one form; a missing value is empty.

    Parameters
    ----------
    fields : Field
    value : scalar

    Returns
    -------
    str
    """
    if pd.isna(value):
        return ""
    if fields.kind == "flag":
        return "yes" if value else "no"
    if fields.kind == "date":
        return pd.Timestamp(value).strftime("%Y-%m-%d")
    if fields.kind in ("int", "float"):
        return format(float(value), ".15g")
    return str(value)
