//! Scales: from years and levels to points, and the ticks that people like on them.

use jiff::civil::Date;
use soaklife::date::years_between;
use soaklife::quantity::Units;

/// A linear scale from values to points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Scale {
    value: (f64, f64),
    points: (f64, f64),
}

impl Scale {
    /// `value.0` lies at `points.0`, `value.1` at `points.1`; the two values must differ.
    pub(crate) fn new(value: (f64, f64), points: (f64, f64)) -> Self {
        Self { value, points }
    }

    pub(crate) fn at(&self, value: f64) -> f64 {
        let share = (value - self.value.0) / (self.value.1 - self.value.0);
        self.points.0 + share * (self.points.1 - self.points.0)
    }

    /// The points from one value to another.
    pub(crate) fn distance(&self, from: f64, to: f64) -> f64 {
        self.at(to) - self.at(from)
    }

    /// The first and the last value.
    pub(crate) fn ends(&self) -> (f64, f64) {
        self.value
    }
}

/// The first of each year between two years ahead of a day, thinned so that labels of `room` points fit.
///
/// Each tick is the years ahead and the calendar year.
pub(crate) fn year_ticks(as_of: Date, scale: &Scale, room: f64) -> Vec<(f64, i16)> {
    let (first, last) = scale.ends();
    let points_per_year = scale.distance(0.0, 1.0).abs();
    let steps = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000];
    let step = steps.into_iter().find(|step| f64::from(*step) * points_per_year >= room).unwrap_or(1000);
    let year_of = |years: f64| as_of.year().saturating_add(years.floor().clamp(-9000.0, 9000.0) as i16);
    let (begin, end) = (year_of(first).saturating_sub(1).max(1), year_of(last).saturating_add(2).min(9999));
    (begin..=end)
        .filter(|year| year % step == 0)
        .filter_map(|year| Some((years_between(as_of, Date::new(year, 1, 1).ok()?), year)))
        .filter(|(years, _)| *years >= first && *years <= last)
        .collect()
}

/// The unit of a depth axis: small for shallow pits, large for deep ones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct AxisUnit {
    pub(crate) name: &'static str,
    /// Inches in one unit.
    pub(crate) inches: f64,
}

/// The unit in which a range of so many inches is told.
pub(crate) fn axis_unit(units: Units, range_in: f64) -> AxisUnit {
    match units {
        Units::Us if range_in <= 300.0 => AxisUnit { name: "in", inches: 1.0 },
        Units::Us => AxisUnit { name: "ft", inches: 12.0 },
        Units::Si if range_in <= 300.0 => AxisUnit { name: "cm", inches: 1.0 / 2.54 },
        Units::Si => AxisUnit { name: "m", inches: 100.0 / 2.54 },
    }
}

/// A round step that cuts a range into at most `most` parts; inches go by feet and fractions of a foot.
pub(crate) fn round_step(range: f64, most: usize, unit: AxisUnit) -> f64 {
    const INCHES: [f64; 7] = [1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 36.0];
    let most = most as f64;
    let by_feet = INCHES.into_iter().find(|step| unit.name == "in" && range / step <= most);
    by_feet.filter(|step| range / step >= 2.0).unwrap_or_else(|| decimal_step(range, most))
}

/// The multiples of a step between two ends, both of which count.
pub(crate) fn ticks(low: f64, high: f64, step: f64) -> Vec<f64> {
    // An end that is a multiple of the step in inches may miss it by a rounding in metres.
    const SLACK: f64 = 1e-9;
    let first = (low / step - SLACK).ceil() as i64;
    let last = (high / step + SLACK).floor() as i64;
    (first..=last).take(64).map(|count| count as f64 * step).collect()
}

/// A multiple of a step, with as many decimals as the step needs.
pub(crate) fn tick_text(value: f64, step: f64) -> String {
    let decimals = (-step.log10()).ceil().clamp(0.0, 4.0) as usize;
    format!("{:.decimals$}", value + 0.0)
}

/// The smallest of 1, 2, 5 × a power of ten that cuts a range into at most `most` parts.
pub(crate) fn decimal_step(range: f64, most: f64) -> f64 {
    let rough = range / most;
    let power = 10f64.powf(rough.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|digit| digit * power)
        .find(|step| *step >= rough)
        .unwrap_or(10.0 * power)
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn years_thin_themselves() {
        let scale = Scale::new((-10.0, 10.0), (0.0, 400.0));
        let years: Vec<i16> = year_ticks(date(2026, 6, 30), &scale, 30.0).iter().map(|tick| tick.1).collect();
        assert_eq!(years, [2018, 2020, 2022, 2024, 2026, 2028, 2030, 2032, 2034, 2036]);
        let wide = Scale::new((-40.0, 60.0), (0.0, 400.0));
        let years: Vec<i16> = year_ticks(date(2026, 6, 30), &wide, 30.0).iter().map(|tick| tick.1).collect();
        assert_eq!(years, [1990, 2000, 2010, 2020, 2030, 2040, 2050, 2060, 2070, 2080]);
    }

    #[test]
    fn inches_go_by_feet() {
        let steps = |units, range_in: f64| {
            let unit = axis_unit(units, range_in);
            round_step(range_in / unit.inches, 8, unit)
        };
        assert_eq!(
            [40.0, 96.0, 144.0, 216.0, 290.0].map(|inches| steps(Units::Us, inches)),
            [6.0, 12.0, 24.0, 36.0, 50.0]
        );
        assert_eq!(
            (steps(Units::Us, 960.0), steps(Units::Si, 144.0), steps(Units::Si, 960.0)),
            (10.0, 50.0, 5.0)
        );
    }

    #[test]
    fn ticks_count_both_ends() {
        let said =
            |low, high, step| ticks(low, high, step).into_iter().map(move |tick| tick_text(tick, step));
        assert!(said(0.0, 0.999_999_999_999_9, 0.2).eq(["0.0", "0.2", "0.4", "0.6", "0.8", "1.0"]));
        assert!(said(-10.0, 50.0, 24.0).eq(["0", "24", "48"]));
    }
}
