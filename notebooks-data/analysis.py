"""An example analysis: what a company asks of its tables. Every figure that it prints is asserted.

    venv/bin/python notebooks-data/analysis.py
"""

import numpy as np
import pandas as pd
from check import load


def pace_by_hand(readings, pit_id):
    """Inches a year by least squares through the readings that count and are known to the day."""
    of_pit = readings[(readings["pit_id"] == pit_id) & (readings["weight"] > 0) & (readings["date"].str.len() == 10)]
    of_pit = of_pit.dropna(subset="freeboard_in")
    days = pd.to_datetime(of_pit["date"])
    years = (days - days.iloc[-1]).dt.days / 365.25
    slope, _ = np.polyfit(years, of_pit["freeboard_in"], 1)
    return float(-slope)


def show(what, value):
    print(f"{what}: {value}")
    return value


forecasts, readings = load("alder-fork", "forecasts").set_index("pit_id"), load("alder-fork", "readings_long")
by_hand = round(pace_by_hand(readings, "AF-01"), 2)
told = float(forecasts.loc["AF-01", "pace_in_per_year"])
assert show("AF-01 rises, by a line drawn by hand and by the forecast, in/a", (by_hand, told)) == (3.08, 3.02)

soon = forecasts.query("chance_2y >= 0.1").sort_values("chance_2y", ascending=False)
assert show("Alder Fork: see first", list(soon.index)) == ["AF-13", "AF-18"]

fleet = load("fleet", "forecasts")
assert show("fleet: pits without a forecast", int(fleet["problem"].notna().sum())) == 1
assert show("fleet: at the inlet", int((fleet["basis"] == "at inlet").sum())) == 53
assert show("fleet: expected to fail within five years", round(fleet["chance_5y"].sum())) == 126

budget = load("fleet", "budget")
whole = budget[budget["group"].isna() & (budget["span"] == "year")].set_index("year")
assert show("fleet: replacements in 2030, 80 % range", tuple(int(whole.loc[2030, end]) for end in ("count_p10", "count_p90"))) == (11, 20)

backtest = load("fleet", "backtest").query("predicted == 'level'").set_index(["method", "horizon"])
held = backtest["share_80"].unstack("method").loc[["next", "1y", "2y", "5y"]]
print("fleet: share of later readings inside the 80 % range\n" + held.to_string())
assert held["absorption"].round(2).tolist() == [0.95, 0.97, 0.96, 0.94]
assert held["line"].round(2).tolist() == [0.68, 0.69, 0.59, 0.46]
