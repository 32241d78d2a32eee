//! Volumes, rates and times in the units asked for, rounded to what is known.

use soaklife::Pit;
use soaklife::load_test::Measured;
use soaklife::load_test::balance::{BalanceRow, Held};
use soaklife::load_test::intake::Acceptance;
use soaklife::load_test::recession::Ranged;
use soaklife::load_test::rules::Figure;
use soaklife::quantity::{
    Area, Length, Units, Volume, VolumeRate, as_gallons, as_gallons_per_day, as_litres, as_square_feet,
    gallons,
};
use soaklife::wording::fleet::grouped;
pub(super) use soaklife::wording::load_test::{flow, volume};
use soaklife::wording::{length, length_number};

/// The unit of volumes.
pub(super) fn unit(units: Units) -> &'static str {
    match units {
        Units::Us => "gal",
        Units::Si => "L",
    }
}

/// A volume as a number.
pub(super) fn count(volume: Volume, units: Units) -> f64 {
    match units {
        Units::Us => as_gallons(volume),
        Units::Si => as_litres(volume),
    }
}

/// What flows in a day.
pub(super) fn a_day_of(flow: VolumeRate) -> Volume {
    gallons(as_gallons_per_day(flow))
}

/// A volume without its unit: whole gallons or litres.
pub(super) fn volume_number(volume: Volume, units: Units) -> String {
    grouped(count(volume, units).round() + 0.0)
}

/// "45 ± 11".
pub(super) fn measured(told: Measured, units: Units) -> String {
    format!("{} ± {}", volume_number(told.volume, units), error_number(told.standard_error, units))
}

/// An error is never told as nothing.
fn error_number(error: Volume, units: Units) -> String {
    grouped(count(error, units).round().max(1.0))
}

/// "186 to 225", or one number where the two are as good as one.
pub(super) fn between(least: Volume, most: Volume, units: Units) -> String {
    let [low, high] = [least, most].map(|volume| volume_number(volume, units));
    if low == high { low } else { format!("{low} to {high}") }
}

/// What was absorbed: between bounds where the tank may have held more than the error, else with its error.
pub(super) fn absorbed(row: &BalanceRow, units: Units) -> Option<String> {
    let absorbed = row.absorbed?;
    let (least, most) = row.absorbed_between()?;
    let is_bounded = most - least > absorbed.standard_error * 2.0;
    Some(if is_bounded { between(least, most, units) } else { measured(absorbed, units) })
}

/// What the tank may have held.
pub(super) fn held(held: Held, units: Units) -> String {
    if held.least == held.most && held.least.value == 0.0 {
        return "little or none".to_owned();
    }
    between(held.least, held.most, units)
}

/// An area: square feet or square metres.
pub(super) fn area(area: Area, units: Units) -> String {
    match units {
        Units::Us => format!("{:.0} ft²", as_square_feet(area)),
        Units::Si => format!("{:.1} m²", area.value),
    }
}

/// A rate over the wetted wall, two digits.
pub(super) fn rate(acceptance: &Acceptance, units: Units) -> Option<String> {
    let (rate, unit) = match units {
        Units::Us => (acceptance.gallons_per_day_per_square_foot()?, "gal/day/ft²"),
        Units::Si => (acceptance.centimetres_per_day()?, "cm/day"),
    };
    let decimals = if rate >= 9.95 {
        0
    } else if rate >= 0.995 {
        1
    } else {
        2
    };
    Some(format!("{rate:.decimals$} {unit}"))
}

/// Hours below two days, days above: "14 h", "3.1 days".
pub(super) fn span(days: f64) -> String {
    match days * 24.0 {
        hours if hours < 9.95 => format!("{hours:.1} h"),
        hours if hours < 48.0 => format!("{hours:.0} h"),
        hours if hours < 24.0 * 60.0 => format!("{:.1} days", hours / 24.0),
        _ => "more than 2 months".to_owned(),
    }
}

/// "20 h (18 to 22)", "7.6 days (7.3 to 7.9)", "1.9 days (40 h to 2.1 days)".
pub(super) fn span_range(days: Ranged<f64>) -> String {
    let told = [days.value, days.lower, days.upper].map(span);
    let parts = || told.iter().map(|span| span.split_once(' ').unwrap_or((span, "")));
    let (units, numbers): (Vec<&str>, Vec<&str>) = parts().map(|(number, unit)| (unit, number)).unzip();
    match (&units[..], &numbers[..], &told) {
        ([a, b, c], [_, lower, upper], [value, _, _]) if a == b && b == c => {
            format!("{value} ({lower} to {upper})")
        }
        (_, _, [value, lower, upper]) => format!("{value} ({lower} to {upper})"),
    }
}

/// Levels as the stick finds them, below the rim: "174.5 in below the rim (173 to 176)".
pub(super) fn depth_range(level: Ranged<Length>, pit: &Pit, units: Units) -> String {
    let depth = |level: Length| pit.depth_at_level(level);
    let halves = units == Units::Us;
    let [shallow, deep] = [level.upper, level.lower].map(|end| length_number(depth(end), units, halves));
    format!("{} below the rim ({shallow} to {deep})", length(depth(level.value), units))
}

/// A figure of a rule.
pub(super) fn figure(figure: Figure, units: Units) -> String {
    match figure {
        Figure::Volume(told) => volume(told, units),
        Figure::Length(told) => length(told, units),
        _ => String::new(),
    }
}
