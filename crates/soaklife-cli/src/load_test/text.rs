//! One load test told in words for whoever stands at the pit: a sentence, where the water went, what the soil takes, which
//! rules are met, what to do next.

use super::Tested;
use super::told::{
    a_day_of, absorbed, area, depth_range, figure, flow, held, measured, rate, span, span_range, unit,
    volume, volume_number,
};
use crate::output::wrapped;
use soaklife::Coverage;
use soaklife::history::{Event, EventKind};
use soaklife::load_test::balance::BalanceRow;
use soaklife::load_test::clogging::USUAL_SUCTION_M;
use soaklife::load_test::intake::{DailyIntake, Form};
use soaklife::load_test::recession::NoRecession;
use soaklife::load_test::rules::{Check, Figure, Judged, Outcome};
use soaklife::load_test::verdict::{Doubt, WhereItWent};
use soaklife::load_test::{Look, Occupancy};
use soaklife::quantity::{Length, Volume, as_gallons, as_gallons_per_day, as_inches, feet, metres};
use soaklife::wording::length;
use std::fmt::Write as _;

const WIDTH: usize = 100;
const INDENT: usize = 12;

const CAUTION: &str = "One test on one day, no warranty and no substitute for an inspection: whether a system passes is for the \
                       local authority to say, and the work is for licensed practitioners. Never enter or lean into a tank or pit, \
                       never alone at an open one: the gas kills without warning. Keep off the edge; shut every lid.";

pub(super) fn text(tested: &Tested<'_>) -> String {
    let (first, last) = (tested.test.date(), tested.test.last_date());
    let days = if first == last { first.to_string() } else { format!("{first} to {last}") };
    let mut told = format!("{}: load test of {days}\n\n", title(tested));
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

fn title(tested: &Tested<'_>) -> String {
    match tested.record.label() {
        Some(label) => format!("{}, {label}", tested.record.id()),
        None => tested.record.id().to_owned(),
    }
}

fn paragraph(told: &mut String, name: &str, text: &str) {
    if !text.is_empty() {
        let _ = writeln!(told, "{name:<INDENT$}{}", wrapped(text, WIDTH, INDENT));
    }
}

/// The answer in one or two sentences.
pub(super) fn sentence(tested: &Tested<'_>) -> String {
    let units = tested.units;
    let verdict = &tested.study.verdict;
    let taken = tested.study.daily.as_ref().map(|daily| taken(tested, daily));
    match verdict.went {
        WhereItWent::IntoTheSoil => {
            let rested = match tested.household.occupancy() {
                Occupancy::Vacant => {
                    " The house is vacant and the pit has rested: in daily use it will take less."
                }
                _ => "",
            };
            format!("The pit takes it: {}.{rested}", taken.unwrap_or_default())
        }
        WhereItWent::StaysInPit => {
            let full = if verdict.pit_was_full {
                let added = verdict.added.map(|added| volume(added, units)).unwrap_or_default();
                format!(" It was full to the inlet after {added}.")
            } else {
                String::new()
            };
            format!(
                "The water reaches the pit, but the soil takes too little of it: {}{}.{full}",
                taken.unwrap_or_default(),
                less_than_used(tested)
            )
        }
        WhereItWent::HeldUpstream => {
            let [tank, pit] = [verdict.tank_rise, verdict.pit_rise]
                .map(|rise| rise.map(|rise| length(rise, units)).unwrap_or_default());
            let expected = verdict
                .rise_if_kept
                .map(|rise| format!(" of the {} it would fill", length(rise, units)))
                .unwrap_or_default();
            let added = verdict.added.map(|added| volume(added, units)).unwrap_or_default();
            let through = taken.map_or(String::new(), |taken| format!(" Even so, {taken}."));
            format!(
                "Most of the water did not reach the pit: while {added} ran in, the tank rose {tank} and the pit {pit}{expected}. \
                 That points at the pipe between them, or the tank's outlet, not at the soil, which has not been tested.{through}"
            )
        }
        WhereItWent::CannotTell(doubt) => format!("This test does not tell: {}.", why(doubt, tested)),
        _ => String::new(),
    }
}

/// "460 gal in a day, 102 % of the design flow of 450 gal/day".
fn taken(tested: &Tested<'_>, daily: &DailyIntake) -> String {
    let units = tested.units;
    let is_bounded =
        daily.form == Form::Whole && daily.most - daily.least > daily.volume.standard_error * 2.0;
    let amount = if is_bounded {
        format!("between {} and {}", volume_number(daily.least, units), volume(daily.most, units))
    } else {
        format!("{} {}", measured(daily.volume, units), unit(units))
    };
    let how = match daily.form {
        Form::Refilled => {
            format!(
                "soaked away between the first high level and its refill {} later",
                span(daily.hours / 24.0)
            )
        }
        Form::Fall => "soaks away in a day by the fall of the level".to_owned(),
        Form::Expected => "would soak away in a day by the fall so far".to_owned(),
        _ => format!("soaked away in {}", span(daily.hours / 24.0)),
    };
    let share = tested.household.design_flow.map(|design| {
        let percent =
            |volume: Volume| format!("{:.0}", 100.0 * as_gallons(volume) / as_gallons_per_day(design));
        let percents = if is_bounded {
            format!("{} to {}", percent(daily.least), percent(daily.most))
        } else {
            percent(daily.volume.volume)
        };
        format!(", {percents} % of a day's design flow of {}", volume(a_day_of(design), units))
    });
    format!("{amount} {how}{}", share.unwrap_or_default())
}

fn less_than_used(tested: &Tested<'_>) -> String {
    let used = tested.household.actual_flow.filter(|used| used.value > 0.0);
    match (used, &tested.study.daily) {
        (Some(used), Some(daily)) if a_day_of(used) > daily.volume.volume => {
            format!(", and less than the {} that the house uses", flow(used, tested.units))
        }
        _ => String::new(),
    }
}

/// Why a test does not tell.
fn why(doubt: Doubt, tested: &Tested<'_>) -> String {
    let units = tested.units;
    match doubt {
        Doubt::TooFewLevels => "fewer than two levels were read in the pit".to_owned(),
        Doubt::NoWater => "no water was added between two levels read".to_owned(),
        Doubt::LittleWater { added, asked } => format!(
            "the pit took all of the {} poured in, but {} would be asked of this house",
            volume(added, units),
            volume(asked, units)
        ),
        Doubt::TooShort { hours } => {
            format!("the level was watched for {} after the water stopped, not for a day", span(hours / 24.0))
        }
        Doubt::Rain => "it rained about the time of the test, and the pit took less than is asked".to_owned(),
        Doubt::WaterFromElsewhere => {
            "more stands in the pit than was added; it came from the house, from rain or the ground, or the pit is narrower than pits.csv says".to_owned()
        }
        Doubt::TankNotWatched => {
            "the pit hardly rose, and nobody watched the tank: the water may be held there, or have soaked away".to_owned()
        }
        Doubt::DesignUnknown => {
            "what the house is designed for is not known, so there is nothing to hold the result against".to_owned()
        }
        Doubt::DiameterUnknown => {
            "the diameter is not known and the level is not back, so the volume that soaked away is not known".to_owned()
        }
        _ => String::new(),
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
        let outcome = judged.outcome.in_words();
        let text = format!("{}{}", judged.rule.asks, numbers(judged, tested));
        let indent = INDENT + 13;
        let _ = writeln!(told, "{name:<INDENT$}{outcome:<13}{}", wrapped(&text, WIDTH, indent));
        let _ = writeln!(told, "{:indent$}[{}]", "", judged.rule.source);
        name = "";
    }
}

fn numbers(judged: &Judged, tested: &Tested<'_>) -> String {
    let units = tested.units;
    let near = if judged.within_error { ", within the measuring error" } else { "" };
    match (judged.found, judged.limit, judged.rule.check) {
        (Some(Figure::Length(above)), _, Check::BackAtStart) => {
            let stands = match as_inches(above) {
                above_in if above_in >= 0.25 => format!("{} higher", length(above, units)),
                above_in if above_in <= -0.25 => format!("{} lower", length(-above, units)),
                _ => "as high".to_owned(),
            };
            let dose = tested.study.verdict.added.filter(|_| judged.too_little_water);
            let short = dose.map_or(String::new(), |dose| {
                let why = if tested.study.verdict.pit_was_full { " before the pit was full" } else { "" };
                format!(", but only {} went in{why}", volume(dose, units))
            });
            format!(": stands {stands}{short}")
        }
        (Some(found), Some(limit), _) => {
            let found = match judged.at_most {
                Some(most) => format!("between {} and {}", figure(found, units), figure(most, units)),
                None => figure(found, units),
            };
            let short = if judged.too_little_water { ", but too little went in to say" } else { "" };
            let of_a_day = tested.study.daily.filter(|daily| {
                judged.rule.check != Check::HalfDay
                    && matches!(judged.found, Some(Figure::Volume(_)))
                    && matches!(daily.form, Form::Refilled | Form::Whole)
            });
            let over = of_a_day.map_or(String::new(), |daily| format!(" in {}", span(daily.hours / 24.0)));
            format!(": {found}{over}, asked {}{near}{short}", figure(limit, units))
        }
        (None, Some(_), _) if judged.outcome == Outcome::CannotTell => ": not measured".to_owned(),
        _ => ": the design flow is not known".to_owned(),
    }
}

/// The numbers behind the verdict.
fn evidence(tested: &Tested<'_>) -> String {
    let units = tested.units;
    let verdict = &tested.study.verdict;
    let (Some(added), Some(rise)) = (verdict.added, verdict.pit_rise) else { return String::new() };
    let mut text = format!("{} poured in raised the pit {}", volume(added, units), length(rise, units));
    if let Some(kept) = verdict.rise_if_kept {
        let _ =
            write!(text, " of the {} it would fill if none were absorbed or held back", length(kept, units));
    }
    match verdict.tank_rise {
        Some(tank) => {
            let _ = write!(text, "; the tank rose {}", length(tank, units));
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

/// A pump-out whose relief was still felt.
fn before(tested: &Tested<'_>) -> String {
    tested.pumped_before().map_or(String::new(), |date| {
        format!("The pit was pumped out on {date}: for some months it takes more than it will in daily use.")
    })
}

/// What was done to the system since, and whether the test still speaks for it.
fn since(tested: &Tested<'_>) -> String {
    let of = |event: &Event| {
        let matters = match event.kind {
            EventKind::PipeRepaired => "the way to the pit is not what it was",
            EventKind::DatumChanged => {
                "depths of this test are from another rim than pits.csv tells, so its volumes hold and its levels and rates do not"
            }
            EventKind::Replaced => {
                "this was another pit than pits.csv tells, so only the water poured in holds"
            }
            EventKind::PumpedOut => "which changes nothing for long",
            _ => "the test speaks of the time before",
        };
        format!("{} on {}: {matters}.", event.kind.in_words(), event.date)
    };
    let told: Vec<String> = tested.since().map(of).map(|text| capital(&text)).collect();
    told.join(" ")
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// What to do or measure next.
fn next(tested: &Tested<'_>) -> String {
    let units = tested.units;
    let design = tested.household.design_flow.map(a_day_of);
    let water = design.map_or("a day of design flow".to_owned(), |design| volume(design, units));
    match tested.study.verdict.went {
        WhereItWent::IntoTheSoil if tested.household.occupancy() == Occupancy::Vacant => {
            "Read the stick again after some weeks of daily use, and test again if the level stands much higher; then once a year.".to_owned()
        }
        WhereItWent::IntoTheSoil => {
            "Log the standing level once a year: over the years it tells more than one test.".to_owned()
        }
        WhereItWent::StaysInPit => format!(
            "Keep the flow down and ask the local authority what is required; a licensed designer can say what the soil here still takes. \
             If the ground was wet, test again with {water} in a dry spell before deciding."
        ),
        WhereItWent::HeldUpstream if tested.since().any(|event| event.kind == EventKind::PipeRepaired) => format!(
            "If it has not been done since the repair, test again with {water} and the tank watched: this test tells nothing of the soil. \
             Judge the pit's years by readings since."
        ),
        WhereItWent::HeldUpstream => format!(
            "Keep the flow down: the tank has little room. Have the tank's outlet and the pipe to the pit looked at and put right by a \
             licensed practitioner, then test again with {water} and the tank watched. The pit stands low because little reaches it: \
             expect it to stand higher then, and judge its years by readings from then on."
        ),
        WhereItWent::CannotTell(doubt) => match doubt {
            Doubt::TooFewLevels | Doubt::NoWater => format!(
                "Read pit and tank before any water, run {water} in by the meter, read both when it stops, some hours later and a day later."
            ),
            Doubt::LittleWater { asked, .. } => format!(
                "Test again with {}, and stop if the pit is full to its inlet or the tank nears its lid.",
                volume(asked, units)
            ),
            Doubt::TooShort { .. } => {
                "Read pit and tank again 24 h after the water stopped, and pour back up to the first high level by the meter.".to_owned()
            }
            Doubt::Rain => format!("Test again with {water} after some dry days."),
            Doubt::WaterFromElsewhere => {
                "Measure the inside diameter; shut off the house for the test; test again after some dry days.".to_owned()
            }
            Doubt::TankNotWatched => format!("Test again with {water} and read the tank each time the pit is read."),
            Doubt::DesignUnknown => "Give bedrooms or the design flow in pits.csv, and look at this test again.".to_owned(),
            Doubt::DiameterUnknown => {
                "Pour back up to the first high level by the meter, a day after: that volume is what was taken, whatever the diameter. Or measure the diameter.".to_owned()
            }
            _ => String::new(),
        },
        _ => String::new(),
    }
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
