//! One load test told in words for whoever stands at the pit: a sentence, where the water went, what the soil takes, which
//! rules are met, what to do next.

use super::Tested;
use super::amounts::{
    absorbed, area, depth_range, figure, flow, held, measured, rate, span, span_range, unit, volume,
    volume_number,
};
use super::next::{before, next, since};
use super::sentence::sentence;
use crate::output::wrapped;
use soaklife::Coverage;
use soaklife::load_test::Look;
use soaklife::load_test::balance::BalanceRow;
use soaklife::load_test::clogging::USUAL_SUCTION_M;
use soaklife::load_test::finding::Finding;
use soaklife::load_test::intake::Form;
use soaklife::load_test::recession::NoRecession;
use soaklife::load_test::rules::{Check, Figure, Judged};
use soaklife::load_test::verdict::WhereItWent;
use soaklife::quantity::{Length, as_inches, feet, metres};
use soaklife::wording::length;
use soaklife::wording::load_test::{pit_rise, tank_rise, why_not_tested};
use std::fmt::Write as _;

const WIDTH: usize = 100;
const INDENT: usize = 12;

const CAUTION: &str = "One test on one day, no warranty and no substitute for an inspection: whether a system passes is for the \
                       local authority to say, and the work is for licensed practitioners. Never enter or lean into a tank or pit, \
                       never alone at an open one: the gas kills without warning. Keep off the edge; shut every lid.";

pub(super) fn text(tested: &Tested<'_>) -> String {
    let (first, last) = (tested.test.date(), tested.test.last_date());
    let days = if first == last { first.to_string() } else { format!("{first} to {last}") };
    let mut told = format!("{}: load test of {days}\n\n", tested.title());
    let _ = writeln!(told, "{}\n", wrapped(&sentence(tested), WIDTH, 0));
    table(&mut told, tested);
    told.push('\n');
    paragraph(&mut told, "Acceptance", &acceptance(tested));
    paragraph(&mut told, "Level", &level(tested));
    rules(&mut told, tested);
    paragraph(&mut told, "Water went", &evidence(tested));
    paragraph(&mut told, "Before", &before(tested));
    paragraph(&mut told, "Since then", &since(tested));
    paragraph(&mut told, "Next", &next(tested));
    paragraph(&mut told, "Rests on", &rests_on(tested));
    paragraph(&mut told, "Caution", CAUTION);
    told
}

fn paragraph(told: &mut String, name: &str, text: &str) {
    if !text.is_empty() {
        let _ = writeln!(told, "{name:<INDENT$}{}", wrapped(text, WIDTH, INDENT));
    }
}

/// Where the water of each phase went.
fn table(told: &mut String, tested: &Tested<'_>) {
    let units = tested.units;
    if tested.study.balance.is_empty() {
        return;
    }
    let heading = format!("water, {}", unit(units));
    row(told, &heading, "hours", ["added", "stored in pit", "held in tank", "absorbed"].map(str::to_owned));
    for phase in &tested.study.balance {
        let unknown = || "?".to_owned();
        row(
            told,
            &format!("  {}", phase.phase.in_words()),
            &format!("{:.1}", phase.hours),
            [
                volume_number(phase.added, units),
                phase.stored.map_or_else(unknown, |stored| measured(stored, units)),
                phase.held.map_or_else(|| "not watched".to_owned(), |told| held(told, units)),
                absorbed(phase, units).unwrap_or_else(unknown),
            ],
        );
    }
}

fn row(told: &mut String, name: &str, hours: &str, cells: [String; 4]) {
    let mut line = format!("  {name:<16}{hours:>8}");
    for cell in cells {
        let _ = write!(line, "{cell:>16}");
    }
    let _ = writeln!(told, "{}", line.trim_end());
}

fn acceptance(tested: &Tested<'_>) -> String {
    let units = tested.units;
    let Some(acceptance) = &tested.study.acceptance else {
        return match tested.study.verdict.went {
            WhereItWent::HeldUpstream => {
                "Not measured: what the soil takes cannot be told while the water is held back.".to_owned()
            }
            _ => "Not measured.".to_owned(),
        };
    };
    if acceptance.relative_standard_error >= 0.5 {
        return "Too little to measure: the level moved by no more than a stick can tell.".to_owned();
    }
    let mut text = format!(
        "{} (± {:.0} %) at a mean level of {} above the bottom",
        flow(acceptance.flow, units),
        (100.0 * acceptance.relative_standard_error).max(1.0),
        length(acceptance.mean_level, units)
    );
    if let (Some(wetted), Some(rate)) = (acceptance.wetted_area, rate(acceptance, units)) {
        let _ = write!(text, ": {rate} over {} of wetted wall", area(wetted, units));
    }
    text.push('.');
    if let Some(days) = acceptance.resistance_days {
        let _ = write!(
            text,
            " Resistance of the clogged wall: {} days (with {} of suction behind it, which is assumed).",
            two_digits(days),
            length(metres(USUAL_SUCTION_M), units)
        );
    }
    text
}

fn two_digits(value: f64) -> String {
    let decimals = if value >= 9.95 {
        0
    } else if value >= 0.995 {
        1
    } else {
        2
    };
    format!("{value:.decimals$}")
}

/// The fall: how fast, when back, where next morning.
fn level(tested: &Tested<'_>) -> String {
    let units = tested.units;
    let recession = match &tested.study.recession {
        Ok(recession) => recession,
        Err(NoRecession::TooFewLevels) => return String::new(),
        Err(NoRecession::TankDraining) => {
            return "Not fitted: the tank drained into the pit meanwhile, so the fall does not show what the soil takes."
                .to_owned();
        }
        Err(reason) => return format!("Not fitted: {reason}."),
    };
    let coverage = Coverage::EIGHTY;
    let mut text = String::new();
    if let Some(half) = recession.half_life_days(coverage) {
        let _ = write!(text, "The head halves in {}.", span_range(half));
    }
    if let Some(expected) = recession.level_after(1.0, coverage) {
        let told = depth_range(expected, tested.record.history().pit(), units);
        let _ = match next_depth(tested) {
            Some(found) => write!(
                text,
                " A day after the water stopped the fitted fall puts the liquid {told}; {} was read.",
                length(found, units)
            ),
            None => {
                write!(text, " A day after the water stopped the stick should find {told}.")
            }
        };
    }
    let back = tested.study.start_level.map(|start| recession.days_to(start, coverage));
    match back {
        Some(Some(days)) => {
            let _ = write!(text, " Back at the level of the start {} after it stopped.", span_range(days));
        }
        Some(None) if tested.study.start_level.is_some_and(|start| start.value <= 0.0) => {
            text.push_str(" It was dry at the start; when it is dry again cannot be told from the fall.");
        }
        _ => {}
    }
    if !text.is_empty() {
        text.push_str(" Ranges of 80 %.");
    }
    text
}

/// The depth read about a day after the water stopped.
fn next_depth(tested: &Tested<'_>) -> Option<Length> {
    let looks = tested.test.looks();
    let stopped = looks.iter().zip(looks.iter().skip(1)).find(|(look, next)| {
        look.added.is_some_and(|added| added.value > 0.0 && next.added.is_none_or(|next| next <= added))
    })?;
    let hours = |look: &Look| look.time.duration_since(stopped.0.time).as_secs_f64() / 3600.0;
    looks.iter().find(|look| (20.0..=30.0).contains(&hours(look)))?.depth
}

/// Every rule with what was found, and its source.
fn rules(told: &mut String, tested: &Tested<'_>) {
    let mut name = "Rules";
    for judged in &tested.study.rules {
        let finding = judged.finding.in_words();
        let text = format!("{}{}{}", judged.rule.asks, numbers(judged, tested), reason(judged, tested));
        let indent = INDENT + 13;
        let _ = writeln!(told, "{name:<INDENT$}{finding:<13}{}", wrapped(&text, WIDTH, indent));
        let _ = writeln!(told, "{:indent$}[{}]", "", judged.rule.source);
        name = "";
    }
}

/// What was found, and what is asked.
fn numbers(judged: &Judged, tested: &Tested<'_>) -> String {
    let units = tested.units;
    match (judged.found, judged.limit, judged.rule.check) {
        (Some(Figure::Length(above)), _, Check::BackAtStart) => match as_inches(above) {
            above_in if above_in >= 0.25 => format!(": stands {} higher", length(above, units)),
            above_in if above_in <= -0.25 => format!(": stands {} lower", length(-above, units)),
            _ => ": stands as high".to_owned(),
        },
        (Some(found), Some(limit), check) => {
            let found = match judged.at_most {
                Some(most) => format!("between {} and {}", figure(found, units), figure(most, units)),
                None => figure(found, units),
            };
            let of_a_day = tested.study.daily.filter(|daily| {
                check != Check::HalfDay
                    && matches!(judged.found, Some(Figure::Volume(_)))
                    && matches!(daily.form, Form::Refilled | Form::Whole)
            });
            let over = of_a_day.map_or(String::new(), |daily| format!(" in {}", span(daily.hours / 24.0)));
            format!(": {found}{over}, asked {}", figure(limit, units))
        }
        _ => String::new(),
    }
}

/// Why a rule is borderline or was not tested; why one was not met by a pit with no room for the water.
fn reason(judged: &Judged, tested: &Tested<'_>) -> String {
    let verdict = &tested.study.verdict;
    let after = if judged.found.is_some() { "; " } else { ": " };
    match judged.finding {
        Finding::Borderline => ", within the measuring error".to_owned(),
        Finding::NotTested(why) => format!("{after}{}", why_not_tested(why, verdict, tested.units)),
        Finding::NotMet if judged.too_little_water && verdict.pit_was_full => {
            let added = verdict.added.map(|added| volume(added, tested.units)).unwrap_or_default();
            format!(", but only {added} went in before the pit was full")
        }
        _ => String::new(),
    }
}

/// The numbers behind the verdict.
fn evidence(tested: &Tested<'_>) -> String {
    let units = tested.units;
    let verdict = &tested.study.verdict;
    let (Some(added), Some(pit)) = (verdict.added, pit_rise(&tested.study, units)) else {
        return String::new();
    };
    let mut text = format!("while {} ran in, the pit {pit}", volume(added, units));
    match tank_rise(verdict, units) {
        Some(tank) => {
            let _ = write!(text, "; the tank {tank}");
        }
        None => text.push_str("; the tank was not watched"),
    }
    text.push_str(match verdict.went {
        WhereItWent::HeldUpstream => ": high at the tank and low in the pit, so held between them.",
        WhereItWent::StaysInPit if verdict.tank_rise.is_some_and(|tank| as_inches(tank) > 2.0) => {
            ": both rise, so it is the soil."
        }
        WhereItWent::StaysInPit if verdict.tank_rise.is_some() => {
            ": the way to the pit is open, so it is the soil."
        }
        WhereItWent::IntoTheSoil if verdict.tank_rise.is_some() => {
            ": the way to the pit is open and the soil takes it."
        }
        _ => ".",
    });
    if let Some(tank) = tested.study.tank_area_at_most.filter(|tank| tank.value > 0.0) {
        let _ = write!(
            text,
            " All that is missing would stand so high in a tank of {} seen from above; a tank of 1,000 gal has some {}.",
            area(tank, units),
            area(feet(8.0) * feet(5.0), units)
        );
    }
    if let Some(at_most) = tested.study.area_at_most {
        let diameter = metres((4.0 * at_most.value / std::f64::consts::PI).sqrt());
        let _ = write!(
            text,
            " The diameter is not in pits.csv; by this rise it is at most some {} (a round, open pit).",
            length(diameter, units)
        );
    }
    text
}

/// What the numbers rest on, and what is not in them.
fn rests_on(tested: &Tested<'_>) -> String {
    let units = tested.units;
    let accuracy = tested.test.accuracy();
    let mut text = format!(
        "{} looks; ± is one standard error, of a stick good to {:.2} {} and a meter good to {:.0} %",
        tested.test.looks().len(),
        units.count(accuracy.stick),
        units.name(),
        100.0 * accuracy.meter
    );
    let held_by_guess = |row: &BalanceRow| row.held.is_some_and(|held| held.least != held.most);
    if tested.study.balance.iter().any(held_by_guess) {
        let guess = "; the tank's size is not known, so what it held is told as bounds";
        text.push_str(guess);
    }
    text.push('.');
    match (tested.record.design(), tested.household.actual_flow) {
        (Some(design), Some(used)) if used.value > 0.0 => {
            let _ = write!(
                text,
                " Design flow: {}. The house uses about {}; any that it sent down during the test was taken as well and is not counted.",
                design.rule,
                flow(used, units)
            );
        }
        (Some(design), _) => {
            let _ = write!(text, " Design flow: {}.", design.rule);
        }
        (None, _) => {}
    }
    text
}
