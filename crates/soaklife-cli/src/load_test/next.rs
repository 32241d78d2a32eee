//! What happened before and since a load test, and what to do or measure next.

use super::Tested;
use super::amounts::{a_day_of, volume};
use soaklife::history::{Event, EventKind};
use soaklife::load_test::Occupancy;
use soaklife::load_test::verdict::{Doubt, WhereItWent};

/// A pump-out whose relief was still felt.
pub(super) fn before(tested: &Tested<'_>) -> String {
    tested.pumped_before().map_or(String::new(), |date| {
        format!("The pit was pumped out on {date}: for some months it takes more than it will in daily use.")
    })
}

/// What was done to the system since, and whether the test still speaks for it.
pub(super) fn since(tested: &Tested<'_>) -> String {
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
pub(super) fn next(tested: &Tested<'_>) -> String {
    let units = tested.units;
    let design = tested.household.design_flow.map(a_day_of);
    let water = design.map_or("a day of design flow".to_owned(), |design| volume(design, units));
    match tested.study.verdict.went {
        WhereItWent::IntoTheSoil | WhereItWent::StaysInPit if tested.study.verdict.borderline => format!(
            "Test again with {water} in a dry spell: a second test may tell on which side of the limit the pit lies. Log the standing \
             level once a year."
        ),
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
