//! Everything a load test says, for other programs; the shape is published in `schema/loadtest-1.json`.

use super::Tested;
use super::amounts::count;
use serde_json::{Value, json};
use soaklife::Coverage;
use soaklife::load_test::balance::BalanceRow;
use soaklife::load_test::finding::{Finding, Untested};
use soaklife::load_test::intake::{Acceptance, DailyIntake, Form};
use soaklife::load_test::offered::Yardstick;
use soaklife::load_test::recession::{Ranged, Recession};
use soaklife::load_test::rules::{Figure, Judged};
use soaklife::load_test::verdict::{Doubt, Verdict, WhereItWent};
use soaklife::quantity::{Length, Units, Volume, VolumeRate, as_gallons_per_day, as_litres_per_day};

/// The name and version of the shape; a change that breaks readers raises the number.
const SCHEMA: &str = "soaklife loadtest 1";

pub(super) fn json(tested: &Tested<'_>) -> String {
    let units = tested.units;
    let study = &tested.study;
    let flow = |flow: Option<VolumeRate>| told(flow.map(|told| per_day(told, units)));
    let measured = study.measured_acceptance().map(|measured| {
        json!({
            "date": measured.date().to_string(),
            "level": rounded(units.count(measured.level())),
            "flow": rounded(per_day(measured.flow(), units)),
            "relative_standard_error": rounded(measured.relative_standard_error()),
        })
    });
    let document = json!({
        "schema": SCHEMA,
        "units": match units { Units::Us => "us", Units::Si => "si" },
        "pit_id": tested.record.id(),
        "label": tested.record.label(),
        "from": tested.test.date().to_string(),
        "to": tested.test.last_date().to_string(),
        "looks": tested.test.looks().len(),
        "design_flow": flow(tested.household.design_flow),
        "actual_flow": flow(tested.household.actual_flow),
        "sentence": super::sentence::sentence(tested),
        "pumped_out_before": tested.pumped_before().map(|date| date.to_string()),
        "since": tested
            .since()
            .map(|event| json!({ "date": event.date.to_string(), "event": event.kind.in_words() }))
            .collect::<Vec<_>>(),
        "verdict": verdict(&study.verdict, units),
        "balance": study.balance.iter().map(|row| balance(row, units)).collect::<Vec<_>>(),
        "daily": study.daily.as_ref().map(|daily| of_a_day(daily, units)),
        "acceptance": study.acceptance.as_ref().map(|found| acceptance(found, units)),
        "measured_acceptance": measured,
        "recession": study.recession.as_ref().ok().map(|found| recession(found, study.start_level, units)),
        "rules": study.rules.iter().map(|judged| rule(judged, units)).collect::<Vec<_>>(),
    });
    format!("{document:#}\n")
}

fn per_day(flow: VolumeRate, units: Units) -> f64 {
    match units {
        Units::Us => as_gallons_per_day(flow),
        Units::Si => as_litres_per_day(flow),
    }
}

fn verdict(verdict: &Verdict, units: Units) -> Value {
    let length = |length: Option<Length>| told(length.map(|told| units.count(told)));
    let volume = |volume: Option<Volume>| told(volume.map(|told| count(told, units)));
    let doubt = match verdict.went {
        WhereItWent::CannotTell(why) => Some(doubt_name(why)),
        _ => None,
    };
    json!({
        "went": went_name(verdict.went),
        "doubt": doubt,
        "added": volume(verdict.added),
        "asked": volume(verdict.asked),
        "pit_rise": length(verdict.pit_rise),
        "rise_if_kept": length(verdict.rise_if_kept),
        "tank_rise": length(verdict.tank_rise),
        "freeboard_at_high": length(verdict.freeboard_at_high),
        "pit_was_full": verdict.pit_was_full,
        "back_within_a_day": verdict.back_within_a_day,
        "borderline": verdict.borderline,
        "half_flow": matches!(verdict.yardstick, Some(Yardstick::Offered { half_flow: true, .. })),
        "share_is_of": volume(verdict.yardstick.map(Yardstick::volume)),
    })
}

/// Where the water went as programs read it, here and in the table.
pub(super) fn went_name(went: WhereItWent) -> &'static str {
    match went {
        WhereItWent::IntoTheSoil => "into_the_soil",
        WhereItWent::StaysInPit => "stays_in_pit",
        WhereItWent::HeldUpstream => "held_upstream",
        _ => "cannot_tell",
    }
}

fn doubt_name(doubt: Doubt) -> &'static str {
    match doubt {
        Doubt::TooFewLevels => "too_few_levels",
        Doubt::NoWater => "no_water",
        Doubt::LittleWater { .. } => "little_water",
        Doubt::TooShort { .. } => "too_short",
        Doubt::Rain => "rain",
        Doubt::WaterFromElsewhere => "water_from_elsewhere",
        Doubt::TankNotWatched => "tank_not_watched",
        Doubt::DesignUnknown => "design_unknown",
        Doubt::DiameterUnknown => "diameter_unknown",
        _ => "other",
    }
}

fn balance(row: &BalanceRow, units: Units) -> Value {
    let volume = |volume: Option<Volume>| told(volume.map(|told| count(told, units)));
    let bounds = row.absorbed_between();
    json!({
        "phase": row.phase.in_words(),
        "hours": rounded(row.hours),
        "added": volume(Some(row.added)),
        "stored": volume(row.stored.map(|stored| stored.volume)),
        "stored_error": volume(row.stored.map(|stored| stored.standard_error)),
        "held_least": volume(row.held.map(|held| held.least)),
        "held_most": volume(row.held.map(|held| held.most)),
        "absorbed": volume(row.absorbed.map(|absorbed| absorbed.volume)),
        "absorbed_error": volume(row.absorbed.map(|absorbed| absorbed.standard_error)),
        "absorbed_least": volume(bounds.map(|(least, _)| least)),
        "absorbed_most": volume(bounds.map(|(_, most)| most)),
    })
}

fn of_a_day(daily: &DailyIntake, units: Units) -> Value {
    let form = match daily.form {
        Form::Refilled => "refilled",
        Form::Fall => "fall",
        Form::Whole => "whole",
        _ => "expected",
    };
    json!({
        "form": form,
        "volume": rounded(count(daily.volume.volume, units)),
        "standard_error": rounded(count(daily.volume.standard_error, units)),
        "least": rounded(count(daily.least, units)),
        "most": rounded(count(daily.most, units)),
        "hours": rounded(daily.hours),
    })
}

fn acceptance(acceptance: &Acceptance, units: Units) -> Value {
    json!({
        "flow": rounded(per_day(acceptance.flow, units)),
        "relative_standard_error": rounded(acceptance.relative_standard_error),
        "mean_level": rounded(units.count(acceptance.mean_level)),
        "per_wetted_area": told(match units {
            Units::Us => acceptance.gallons_per_day_per_square_foot(),
            Units::Si => acceptance.centimetres_per_day(),
        }),
        "resistance_days": told(acceptance.resistance_days),
    })
}

fn recession(recession: &Recession, start: Option<Length>, units: Units) -> Value {
    let coverage = Coverage::EIGHTY;
    let hours = |days: Option<Ranged<f64>>| days.map(|days| range(days, |days| days * 24.0));
    json!({
        "levels": recession.levels(),
        "coverage": coverage.value(),
        "half_life_hours": hours(recession.half_life_days(coverage)),
        "back_at_start_hours": hours(start.and_then(|start| recession.days_to(start, coverage))),
        "level_after_24_hours": recession.level_after(1.0, coverage).map(|level| range(level, |level| units.count(level))),
    })
}

fn range<T: Copy>(ranged: Ranged<T>, count: impl Fn(T) -> f64) -> Value {
    let [value, lower, upper] = [ranged.value, ranged.lower, ranged.upper].map(|told| rounded(count(told)));
    json!({ "value": value, "lower": lower, "upper": upper })
}

fn rule(judged: &Judged, units: Units) -> Value {
    let figure = |figure: Option<Figure>| {
        told(match figure {
            Some(Figure::Volume(volume)) => Some(count(volume, units)),
            Some(Figure::Length(length)) => Some(units.count(length)),
            _ => None,
        })
    };
    let outcome = match judged.finding {
        Finding::Met => "met",
        Finding::NotMet => "not_met",
        _ => "cannot_tell",
    };
    json!({
        "rule": judged.rule.key,
        "asks": judged.rule.asks,
        "source": judged.rule.source,
        "outcome": outcome,
        "finding": finding_name(judged.finding),
        "not_tested_because": judged.finding.untested().map(Untested::key),
        "found": figure(judged.found),
        "at_most": figure(judged.at_most),
        "limit": figure(judged.limit),
        "within_error": judged.within_error,
        "too_little_water": judged.too_little_water,
    })
}

/// The finding as programs read it, here and in the table.
pub(super) fn finding_name(finding: Finding) -> &'static str {
    match finding {
        Finding::Met => "met",
        Finding::NotMet => "not_met",
        Finding::Borderline => "borderline",
        _ => "not_tested",
    }
}

fn told(value: Option<f64>) -> Value {
    value.filter(|value| value.is_finite()).map_or(Value::Null, |value| Value::from(rounded(value)))
}

/// Four decimals: more than is known, and the same on every machine.
fn rounded(value: f64) -> f64 {
    (value * 1e4).round() / 1e4 + 0.0
}
