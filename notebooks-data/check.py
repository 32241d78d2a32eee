"""Loads and validates every table by datapackage.json, then checks what must hold between them.

    python3 -m venv venv && venv/bin/pip install -r notebooks-data/requirements.txt
    venv/bin/python notebooks-data/check.py
"""

import json
from pathlib import Path

import pandas as pd
from frictionless import Package

HERE = Path(__file__).parent
TYPES = {"string": "string", "number": "float64", "integer": "Int64", "date": "string"}


def load(folder, table):
    """A table with the types that its description gives; dates as dates, nothing read as missing but the empty field."""
    description = json.loads((HERE / "datapackage.json").read_text())
    path = f"{folder}/{table}.csv"
    resource = next(resource for resource in description["resources"] if resource["path"] == path)
    fields = resource["schema"]["fields"]
    frame = pd.read_csv(
        HERE / path,
        dtype={field["name"]: TYPES[field["type"]] for field in fields},
        na_values=resource["schema"]["missingValues"],
        keep_default_na=False,
    )
    for field in fields:
        if field["type"] == "date":
            frame[field["name"]] = pd.to_datetime(frame[field["name"]], format=field["format"])
    return frame


def validate():
    """Types, constraints and keys, by an independent implementation of the Table Schema."""
    report = Package(str(HERE / "datapackage.json")).validate()
    assert report.valid, report.flatten(["name", "rowNumber", "fieldName", "note"])
    return [task.name for task in report.tasks]


def check(folder):
    forecasts, readings = load(folder, "forecasts"), load(folder, "readings_long")
    bands, budget = load(folder, "bands"), load(folder, "budget")

    # A pit has a forecast or a reason.
    assert (forecasts["problem"].isna() == forecasts["basis"].notna()).all()
    # More years, more chance; more probability, more years.
    chances = forecasts.filter(regex=r"^chance_").dropna()
    assert (chances.diff(axis="columns").iloc[:, 1:] >= 0).all(axis=None)
    years = forecasts.filter(regex=r"^years_p").fillna(float("inf"))
    assert (years.values[:, 1:] >= years.values[:, :-1]).all()
    # Every reading counts or does not, as the forecast says.
    used = readings[readings["weight"] > 0].groupby("pit_id").size()
    told = forecasts.set_index("pit_id")["readings_used"].dropna()
    assert (used.reindex(told.index, fill_value=0) == told).all()
    # A wider range holds the narrower one; that of a reading holds that of the level, where the pit has been read. (Of a pit known
    # only by its age the level may lie in several places, and the error of a stick can draw a quarter point towards one of them.)
    by_coverage = bands.pivot(index=["pit_id", "years", "kind"], columns="coverage", values=["lower_in", "upper_in"])
    assert (by_coverage["lower_in"].diff(axis="columns").iloc[:, 1:] <= 0).all(axis=None)
    assert (by_coverage["upper_in"].diff(axis="columns").iloc[:, 1:] >= 0).all(axis=None)
    is_read = bands["pit_id"].isin(told[told > 0].index)
    by_kind = bands[is_read].pivot(index=["pit_id", "years", "coverage"], columns="kind", values=["lower_in", "upper_in"]).dropna()
    assert (by_kind["lower_in"]["prediction"] <= by_kind["lower_in"]["confidence"]).all()
    assert (by_kind["upper_in"]["prediction"] >= by_kind["upper_in"]["confidence"]).all()
    # The groups of a budget add up to its whole.
    expected = budget.assign(is_whole=budget["group"].isna()).groupby(["year", "span", "is_whole"])
    expected = expected[["count_expected", "cost_expected"]].sum().unstack("is_whole")
    for what, tolerance in (("count_expected", 0.001), ("cost_expected", 0.1)):
        assert (expected[what][True] - expected[what][False]).abs().max() < tolerance, what
    return len(forecasts), len(readings), len(bands)


if __name__ == "__main__":
    print("valid:", ", ".join(validate()))
    for folder in ("alder-fork", "fleet"):
        print(f"{folder}: %d pits, %d readings, %d bands" % check(folder))
