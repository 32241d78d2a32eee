//! A load test in words: volumes, how far the pit rose, what is said of its rules, and how a long forecast can stand beside it.

use super::fleet::grouped;
use super::{length, sentence};
use crate::forecast::{Basis, Forecast};
use crate::history::Event;
use crate::load_test::balance::Phase;
use crate::load_test::finding::{Finding, Untested};
use crate::load_test::rules::WITHIN_ERROR;
use crate::load_test::verdict::Verdict;
use crate::load_test::{Household, Study};
use crate::quantity::{
    Units, Volume, VolumeRate, as_gallons, as_gallons_per_day, as_litres, as_litres_per_day, gallons,
};
use jiff::civil::Date;

/// A forecast whose median lies farther ahead than this is long, years. Judgement, no source.
const LONG_YEARS: f64 = 10.0;

/// A volume: "460 gal".
///
/// ```
/// use soaklife::quantity::{Units, gallons};
/// use soaklife::wording::load_test::volume;
/// assert_eq!(volume(gallons(1460.2), Units::Us), "1,460 gal");
/// ```
#[must_use]
pub fn volume(volume: Volume, units: Units) -> String {
    match units {
        Units::Us => format!("{} gal", grouped(as_gallons(volume).round() + 0.0)),
        Units::Si => format!("{} L", grouped(as_litres(volume).round() + 0.0)),
    }
}

/// A flow: "450 gal/day".
///
/// ```
/// use soaklife::quantity::{Units, gallons_per_day};
/// use soaklife::wording::load_test::flow;
/// assert_eq!(flow(gallons_per_day(450.0), Units::Us), "450 gal/day");
/// ```
#[must_use]
pub fn flow(flow: VolumeRate, units: Units) -> String {
    match units {
        Units::Us => format!("{} gal/day", grouped(as_gallons_per_day(flow).round())),
        Units::Si => format!("{} L/day", grouped(as_litres_per_day(flow).round())),
    }
}

/// How far the pit rose by the first water, after "the pit", beside what that water fills. A pit cannot fill by more than that but by
/// an error of stick or meter, or by water from elsewhere.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::load_test::{Household, LoadTest, Look};
/// use soaklife::pit::{CrossSection, Pit};
/// use soaklife::quantity::{Units, feet, gallons, inches};
/// use soaklife::wording::load_test::pit_rise;
///
/// let pit = Pit::new(inches(42.0), inches(186.0))?.with_cross_section(CrossSection::round(feet(6.0))?);
/// let look = |hour, added, depth| {
///     Look::at(date(2026, 5, 5).at(hour, 0, 0, 0)).with_added(gallons(added)).with_depth(inches(depth))
/// };
/// let rise = |high| {
///     let test = LoadTest::new(vec![look(8, 0.0, 120.0), look(10, 423.0, high)])?;
///     Ok::<_, soaklife::load_test::LoadTestError>(pit_rise(&test.study(&pit, &Household::default()), Units::Us))
/// };
/// assert_eq!(rise(100.0)?, Some("rose 20 in of the 24 in that this water fills".to_owned()));
/// assert_eq!(rise(95.5)?, Some("rose 24.5 in, to the measuring error the 24 in that this water fills".to_owned()));
/// assert_eq!(rise(94.0)?, Some("rose 26 in, more than the 24 in that this water fills".to_owned()));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[must_use]
pub fn pit_rise(study: &Study, units: Units) -> Option<String> {
    let rise = study.verdict.pit_rise?;
    let told = moved(rise.value, length(rise * rise.value.signum(), units));
    let Some(kept) = study.verdict.rise_if_kept.filter(|_| told.starts_with("rose")) else {
        return Some(told);
    };
    let fills = format!("the {} that this water fills", length(kept, units));
    let filling = study.balance.iter().find(|row| row.phase == Phase::Filling);
    let from_elsewhere = filling
        .and_then(|row| row.absorbed)
        .is_some_and(|absorbed| absorbed.volume.value < -WITHIN_ERROR * absorbed.standard_error.value);
    Some(match () {
        () if rise < kept && length(rise, units) != length(kept, units) => format!("{told} of {fills}"),
        () if from_elsewhere => format!("{told}, more than {fills}"),
        () if length(rise, units) == length(kept, units) => format!("{told}, all that this water fills"),
        () => format!("{told}, to the measuring error {fills}"),
    })
}

/// "rose 8 in", "fell 1 in", "rose 0 in".
fn moved(rise: f64, told: String) -> String {
    if rise < 0.0 && !told.starts_with("0 ") { format!("fell {told}") } else { format!("rose {told}") }
}

/// How far the tank rose meanwhile, after "the tank".
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::load_test::{Household, LoadTest, Look};
/// # use soaklife::pit::Pit;
/// # use soaklife::quantity::{Units, gallons, inches};
/// # use soaklife::wording::load_test::tank_rise;
/// # let pit = Pit::new(inches(42.0), inches(186.0))?;
/// # let look = |hour, added, depth, tank| {
/// #     let look = Look::at(date(2026, 5, 5).at(hour, 0, 0, 0)).with_added(gallons(added));
/// #     look.with_depth(inches(depth)).with_tank_rise(inches(tank))
/// # };
/// let test = LoadTest::new(vec![look(8, 0.0, 120.0, 0.0), look(10, 225.0, 118.5, 8.0)])?;
/// let study = test.study(&pit, &Household::default());
/// assert_eq!(tank_rise(&study.verdict, Units::Us), Some("rose 8 in".to_owned()));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[must_use]
pub fn tank_rise(verdict: &Verdict, units: Units) -> Option<String> {
    let rise = verdict.tank_rise?;
    Some(moved(rise.value, length(rise * rise.value.signum(), units)))
}

/// Why a rule was not tested.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::load_test::{Household, LoadTest, Look};
/// # use soaklife::pit::{CrossSection, Pit};
/// # use soaklife::quantity::{Units, feet, gallons, gallons_per_day, inches};
/// # use soaklife::wording::load_test::why_not_tested;
/// # let pit = Pit::new(inches(42.0), inches(186.0))?.with_cross_section(CrossSection::round(feet(6.0))?);
/// # let look = |day, hour, added, depth| {
/// #     Look::at(date(2026, 5, day).at(hour, 0, 0, 0)).with_added(gallons(added)).with_depth(inches(depth))
/// # };
/// let test = LoadTest::new(vec![look(5, 8, 0.0, 120.0), look(5, 10, 100.0, 115.0), look(6, 10, 100.0, 120.5)])?;
/// let study = test.study(&pit, &Household { design_flow: Some(gallons_per_day(400.0)), actual_flow: None });
/// let why = study.rules[0].finding.untested().map(|why| why_not_tested(why, &study.verdict, Units::Us));
/// assert_eq!(why, Some("only 100 gal were offered, and the pit took them".to_owned()));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[must_use]
pub fn why_not_tested(why: Untested, verdict: &Verdict, units: Units) -> String {
    let offered = || verdict.added.map_or("the water".to_owned(), |added| volume(added, units));
    match why {
        Untested::DesignUnknown => "the design flow is not known".to_owned(),
        Untested::DiameterUnknown => "the diameter is not known".to_owned(),
        Untested::NotMeasured => "nobody measured it".to_owned(),
        Untested::NobodyLooked => "nobody looked a day after the water stopped".to_owned(),
        Untested::HalfOffered => format!(
            "{} were offered, half the design flow, as is common practice for a lightly used house",
            offered()
        ),
        Untested::LittleOffered => format!("only {} were offered, and the pit took them", offered()),
        Untested::AllTaken => "the pit took all that was offered, so its limit was not seen".to_owned(),
        Untested::TankHeld => {
            let rose = tank_rise(verdict, units).unwrap_or("held water back".to_owned());
            format!("the tank {rose}, so not all of the water reached the pit in time")
        }
        Untested::Rain => "it rained about the time of the test".to_owned(),
    }
}

/// The findings of all rules in a line, for a picture or a page: "Rules met: 6 in of room; borderline: a design day taken."
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::load_test::{Household, LoadTest, Look};
/// # use soaklife::pit::{CrossSection, Pit};
/// # use soaklife::quantity::{Units, feet, gallons, gallons_per_day, inches};
/// # use soaklife::wording::load_test::rules_in_short;
/// # let pit = Pit::new(inches(42.0), inches(186.0))?.with_cross_section(CrossSection::round(feet(6.0))?);
/// # let look = |day, hour, added, depth| {
/// #     Look::at(date(2026, 5, day).at(hour, 0, 0, 0)).with_added(gallons(added)).with_depth(inches(depth))
/// # };
/// let test = LoadTest::new(vec![look(5, 8, 0.0, 120.0), look(5, 10, 400.0, 97.5), look(6, 10, 400.0, 120.5)])?;
/// let study = test.study(&pit, &Household { design_flow: Some(gallons_per_day(400.0)), actual_flow: None });
/// let told = rules_in_short(&study, Units::Us);
/// assert_eq!(told, "Rules met: 6 in of room, room for half a day; borderline, within the measuring error: a design day taken, back in 24 h.");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[must_use]
pub fn rules_in_short(study: &Study, units: Units) -> String {
    let of = |finding: Finding| {
        let rules = study.rules.iter().filter(|judged| judged.finding == finding);
        rules.map(|judged| judged.rule.in_short).collect::<Vec<_>>().join(", ")
    };
    let label = |finding: Finding| match finding {
        Finding::Borderline => "borderline, within the measuring error".to_owned(),
        Finding::NotTested(why) => {
            format!("not tested, as {}", why_not_tested(why, &study.verdict, units))
        }
        _ => finding.in_words().to_owned(),
    };
    let rank = |finding: &Finding| match finding {
        Finding::Met => 0,
        Finding::NotMet => 1,
        Finding::Borderline => 2,
        Finding::NotTested(_) => 3,
    };
    let mut findings: Vec<Finding> = Vec::new();
    for judged in &study.rules {
        if !findings.contains(&judged.finding) {
            findings.push(judged.finding);
        }
    }
    findings.sort_by_key(rank);
    let parts: Vec<String> =
        findings.into_iter().map(|finding| format!("{}: {}", label(finding), of(finding))).collect();
    if parts.is_empty() { String::new() } else { format!("Rules {}.", parts.join("; ")) }
}

/// How a long forecast can stand beside a load test that falls short, in one sentence; none unless both are so.
///
/// `since` is what was done to the system after the test, the last of it.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::load_test::{Household, LoadTest, Look};
/// use soaklife::pit::{CrossSection, Pit};
/// use soaklife::quantity::{Units, feet, gallons, gallons_per_day, inches};
/// use soaklife::wording::load_test::beside_a_long_forecast;
/// use soaklife::{Forecast, History, Question, Reading};
///
/// let pit = Pit::new(inches(42.0), inches(186.0))?.with_cross_section(CrossSection::round(feet(6.0))?);
/// let look = |day, hour, added, depth| {
///     Look::at(date(2026, 5, day).at(hour, 0, 0, 0)).with_added(gallons(added)).with_depth(inches(depth))
/// };
/// let looks = vec![look(5, 8, 0.0, 150.0), look(5, 10, 450.0, 126.5), look(6, 10, 450.0, 140.0)];
/// let household = Household { design_flow: Some(gallons_per_day(450.0)), actual_flow: Some(gallons_per_day(100.0)) };
/// let study = LoadTest::new(looks)?.study(&pit, &household);
/// let low = (2016..2026).map(|year| Reading::at_depth(&pit, date(year, 5, 1), inches(150.0)));
/// let history = History::new(pit).with_readings(low.collect::<Result<Vec<_>, _>>()?);
/// let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
/// let told = beside_a_long_forecast(date(2026, 5, 5), &study, &household, None, &forecast, Units::Us);
/// assert!(told.ok_or("no sentence")?.contains("ask two different things"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[must_use]
pub fn beside_a_long_forecast(
    day: Date,
    study: &Study,
    household: &Household,
    since: Option<&Event>,
    forecast: &Forecast,
    units: Units,
) -> Option<String> {
    let is_long = forecast.basis() != Basis::AtInlet
        && forecast.years_to_inlet(0.5).is_none_or(|median| median > LONG_YEARS);
    if !is_long || !study.falls_short() {
        return None;
    }
    if let Some(event) = since {
        return Some(format!(
            "The load test of {day}, which fell short, was before {} on {}; the long forecast goes by the time since.",
            event.kind.in_words(),
            event.date
        ));
    }
    let used = household.actual_flow.filter(|used| used.value > 0.0);
    let taken = study.daily.as_ref().map(|daily| daily.volume.volume);
    let a_day_of = |flow: VolumeRate| gallons(as_gallons_per_day(flow));
    if let Some((taken, used)) = taken.zip(used).filter(|(taken, used)| *taken < a_day_of(*used)) {
        return Some(format!(
            "By the load test of {day} the pit takes {} a day, less than the {} that the house uses, and the level, by which the \
             long forecast goes, does not show that yet: until another reading decides, count on fewer years.",
            volume(taken, units),
            flow(used, units)
        ));
    }
    let design = household.design_flow.map_or("a day of design flow".to_owned(), |design| {
        format!("a design day of {}", volume(a_day_of(design), units))
    });
    let use_now =
        used.map_or("today's use".to_owned(), |used| format!("today's use of {}", flow(used, units)));
    Some(format!(
        "The load test of {day}, which fell short, and the long forecast ask two different things: the test whether the pit has room \
         for and takes {design}, the forecast when the level reaches {} under {use_now}; at the full design flow it would get there \
         sooner.",
        sentence::goal(forecast.question().action_freeboard(), units)
    ))
}
