//! The answer of a load test in one or two sentences, or why there is none.

use super::Tested;
use super::amounts::{a_day_of, flow, measured, span, unit, volume, volume_number};
use soaklife::load_test::Occupancy;
use soaklife::load_test::intake::{DailyIntake, Form};
use soaklife::load_test::offered::Yardstick;
use soaklife::load_test::verdict::{Doubt, WhereItWent};
use soaklife::quantity::{Units, Volume, as_gallons};
use soaklife::wording::load_test::{pit_rise, tank_rise};

/// The answer in one or two sentences.
pub(super) fn sentence(tested: &Tested<'_>) -> String {
    let units = tested.units;
    let verdict = &tested.study.verdict;
    let taken = tested.study.daily.as_ref().map(|daily| taken(tested, daily));
    match verdict.went {
        WhereItWent::IntoTheSoil | WhereItWent::StaysInPit if verdict.borderline => format!(
            "Borderline, within the measuring error of what is asked: {}{}.{}",
            taken.unwrap_or_default(),
            beside_use(tested),
            full_after(tested)
        ),
        WhereItWent::IntoTheSoil => {
            let rested = match tested.household.occupancy() {
                Occupancy::Vacant => {
                    " The house is vacant and the pit has rested: in daily use it will take less."
                }
                _ => "",
            };
            format!("The pit takes it: {}.{rested}", taken.unwrap_or_default())
        }
        WhereItWent::StaysInPit => format!(
            "The water reaches the pit, but the soil takes too little of it: {}{}.{}",
            taken.unwrap_or_default(),
            beside_use(tested),
            full_after(tested)
        ),
        WhereItWent::HeldUpstream => {
            let tank = tank_rise(verdict, units).unwrap_or_default();
            let pit = pit_rise(&tested.study, units).unwrap_or_default();
            let added = verdict.added.map(|added| volume(added, units)).unwrap_or_default();
            let through = taken.map_or(String::new(), |taken| format!(" Even so, {taken}."));
            format!(
                "Most of the water did not reach the pit: while {added} ran in, the tank {tank} and the pit {pit}. \
                 That points at the pipe between them, or the tank's outlet, not at the soil, which was not tested.{through}"
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
        Form::Fall => "soak away in a day by the fall of the level".to_owned(),
        Form::Expected => "would soak away in a day by the fall so far".to_owned(),
        _ => format!("soaked away in {}", span(daily.hours / 24.0)),
    };
    let [least, most] = if is_bounded { [daily.least, daily.most] } else { [daily.volume.volume; 2] };
    let share = tested.study.verdict.yardstick.map(|by| share(by, [least, most], units));
    format!("{amount} {how}{}", share.unwrap_or_default())
}

/// ", 102 % of a day's design flow of 450 gal"; of a test that offered less, the share of what was offered.
fn share(by: Yardstick, taken: [Volume; 2], units: Units) -> String {
    let whole = by.volume();
    let [least, most] = taken.map(|taken| format!("{:.0}", 100.0 * as_gallons(taken) / as_gallons(whole)));
    let percent = if least == most { format!("{least} %") } else { format!("{least} to {most} %") };
    let whole = volume(whole, units);
    match by {
        Yardstick::Offered { half_flow, .. } => {
            let why = if half_flow {
                " (half the design flow: common practice for a lightly used house)"
            } else {
                ""
            };
            if taken[0] > by.volume() {
                format!(", more than the {whole} offered{why}")
            } else {
                format!(", {percent} of the {whole} offered{why}")
            }
        }
        Yardstick::HalfDesignDay(_) => {
            format!(", {percent} of half a day's design flow ({whole}), as is asked of a lightly used house")
        }
        _ => format!(", {percent} of a day's design flow of {whole}"),
    }
}

/// After how much water the pit was full.
fn full_after(tested: &Tested<'_>) -> String {
    let verdict = &tested.study.verdict;
    if !verdict.pit_was_full {
        return String::new();
    }
    let added = verdict.added.map(|added| volume(added, tested.units)).unwrap_or_default();
    format!(" It was full to the inlet after {added}.")
}

/// What was taken beside what the house uses.
fn beside_use(tested: &Tested<'_>) -> String {
    let used = tested.household.actual_flow.filter(|used| used.value > 0.0);
    match (used, &tested.study.daily) {
        (Some(used), Some(daily)) if a_day_of(used) > daily.volume.volume => {
            format!(", and less than the {} that the house uses", flow(used, tested.units))
        }
        (Some(used), Some(_)) => {
            format!(", though as much as the house uses now, {}", flow(used, tested.units))
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
        Doubt::TooShort { hours } if hours <= 0.0 => {
            "nobody read the level after the water stopped".to_owned()
        }
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
