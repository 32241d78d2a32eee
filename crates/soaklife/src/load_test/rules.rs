//! Rules of codes and of the trade as data, each with its source, and whether a test meets them.
//!
//! Whether a system passes is for the authority to say; a rule met or not met is one number held against another.

use super::balance::RUNNING_HEAD_M;
use super::finding::{Finding, Untested};
use super::intake::{DailyIntake, Form};
use super::offered::{is_restricted, untested};
use super::phases::Phases;
use super::verdict::{SHARE_WHEN_LIGHT, is_full};
use super::{Household, Occupancy};
use crate::history::{CLOSE_TO_INLET_DAYS, CLOSE_TO_INLET_IN};
use crate::quantity::{Length, Volume, cubic_metres, inches, metres};

/// "Near the full design flow" of a vacant house. Common practice, no source for the number.
const NEARLY: f64 = 0.9;
/// Standard errors within which a figure is not told from its limit.
pub(crate) const WITHIN_ERROR: f64 = 1.96;

/// A rule with its source.
///
/// ```
/// use soaklife::load_test::rules::{Check, RULES};
/// let six = RULES.iter().find(|rule| rule.check == Check::SixInches).ok_or("none")?;
/// assert!(six.source.starts_with("310 CMR 15.303"));
/// # Ok::<(), &str>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rule {
    /// A stable name for other programs.
    pub key: &'static str,
    /// What it asks, in words.
    pub asks: &'static str,
    /// The same in short, for a picture or a page.
    pub in_short: &'static str,
    /// Where it stands.
    pub source: &'static str,
    /// What is compared.
    pub check: Check,
}

/// What a rule compares.
///
/// ```
/// # use soaklife::load_test::rules::Check;
/// assert_ne!(Check::SixInches, Check::HalfDay);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Check {
    /// The volume taken in a day against the design flow.
    DesignDayTaken,
    /// The level a day after a full design day of water against the level before.
    BackAtStart,
    /// The volume taken in a day against half the design flow; of a lightly occupied house.
    HalfWhenLight,
    /// The volume taken in a day against nearly the design flow; of a vacant house.
    NearlyAllWhenVacant,
    /// The standing level against six inches below the inlet.
    SixInches,
    /// The room above the standing level against half a day of design flow.
    HalfDay,
}

/// The rules, in the order in which they are told.
///
/// ```
/// use soaklife::load_test::rules::RULES;
/// assert!(RULES.iter().all(|rule| !rule.source.is_empty()));
/// ```
pub const RULES: [Rule; 6] = [
    Rule {
        key: "design_day_taken",
        asks: "takes a day of design flow in a day",
        in_short: "a design day taken",
        source: "Penn State Extension, hydraulic load test (2017); volumes of 25 Pa. Code 73.17",
        check: Check::DesignDayTaken,
    },
    Rule {
        key: "back_at_start",
        asks: "a day of design flow poured in, the level is back at its start within 24 h",
        in_short: "back in 24 h",
        source: "Pennsylvania inspectors' form of the same procedure",
        check: Check::BackAtStart,
    },
    Rule {
        key: "half_when_light",
        asks: "lightly occupied, takes half the design flow in a day",
        in_short: "half a design day taken",
        source: "common practice, no source",
        check: Check::HalfWhenLight,
    },
    Rule {
        key: "nearly_all_when_vacant",
        asks: "vacant, takes nearly (90 %) the design flow in a day",
        in_short: "90 % of a design day taken",
        source: "common practice, no source",
        check: Check::NearlyAllWhenVacant,
    },
    Rule {
        key: "six_inches",
        asks: "stands at least 6 inches below the inlet before the test",
        in_short: "6 in of room",
        source: "310 CMR 15.303(1)(a)4 and R.I. Gen. Laws 23-19.15-4, both written for cesspools",
        check: Check::SixInches,
    },
    Rule {
        key: "half_day",
        asks: "has room for half a day of design flow below the inlet",
        in_short: "room for half a day",
        source: "310 CMR 15.303(1)(a)4, written for cesspools",
        check: Check::HalfDay,
    },
];

/// Whether a rule is met by the numbers as they stand, as if nothing were measured with an error: for worked examples. What may be
/// said of a test is its [`Finding`].
///
/// ```
/// # use soaklife::load_test::rules::Outcome;
/// assert_eq!(Outcome::NotMet.in_words(), "not met");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Outcome {
    /// It is.
    Met,
    /// It is not.
    NotMet,
    /// What was measured does not say.
    CannotTell,
}

impl Outcome {
    /// The outcome in words.
    ///
    /// ```
    /// # use soaklife::load_test::rules::Outcome;
    /// assert_eq!(Outcome::CannotTell.in_words(), "cannot tell");
    /// ```
    #[must_use]
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Met => "met",
            Self::NotMet => "not met",
            Self::CannotTell => "cannot tell",
        }
    }
}

/// A figure that is held against a limit.
///
/// ```
/// # use soaklife::load_test::rules::Figure;
/// # use soaklife::quantity::inches;
/// assert_eq!(Figure::Length(inches(6.0)), Figure::Length(inches(6.0)));
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Figure {
    /// A volume.
    Volume(Volume),
    /// A length.
    Length(Length),
}

/// A rule held against a test.
///
/// The page of [`load_test`](super) tells how to come by one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judged {
    /// The rule.
    pub rule: Rule,
    /// What may be said of it, given the errors, the weather, the tank and the water offered.
    pub finding: Finding,
    /// Whether it is met by the numbers as they stand.
    pub outcome: Outcome,
    /// What was found: the volume, or the room above the liquid, or the level over that of the start.
    pub found: Option<Figure>,
    /// At most what may have been found, where the tank held water back.
    pub at_most: Option<Figure>,
    /// What the rule asks for.
    pub limit: Option<Figure>,
    /// Whether the two lie so near that the measuring error could turn the outcome round.
    pub within_error: bool,
    /// Whether too little water was poured in for the rule.
    pub too_little_water: bool,
}

impl Rule {
    fn untold(self, limit: Option<Figure>) -> Judged {
        let why = if limit.is_some() { Untested::NotMeasured } else { Untested::DesignUnknown };
        Judged {
            rule: self,
            finding: Finding::NotTested(why),
            outcome: Outcome::CannotTell,
            found: None,
            at_most: None,
            limit,
            within_error: false,
            too_little_water: false,
        }
    }
}

/// The rules that apply to this house, judged.
pub(super) fn judge(phases: &Phases<'_>, household: &Household, daily: Option<&DailyIntake>) -> Vec<Judged> {
    let occupancy = household.occupancy();
    let applies = |rule: &&Rule| match rule.check {
        Check::HalfWhenLight => occupancy == Occupancy::Light,
        Check::NearlyAllWhenVacant => occupancy == Occupancy::Vacant,
        _ => true,
    };
    let design = household.design_day();
    let share_taken = |rule: &Rule, share: f64| match (design, daily) {
        (Some(day), Some(daily)) => taken(*rule, phases, household, (day * share, daily)),
        (Some(day), None) => not_taken(*rule, phases, day * share),
        (None, _) => rule.untold(None),
    };
    let judged = |rule: &Rule| match rule.check {
        Check::DesignDayTaken => share_taken(rule, 1.0),
        Check::HalfWhenLight => share_taken(rule, SHARE_WHEN_LIGHT),
        Check::NearlyAllWhenVacant => share_taken(rule, NEARLY),
        Check::BackAtStart => back_at_start(*rule, phases, household),
        Check::SixInches => six_inches(*rule, phases),
        Check::HalfDay => half_day(*rule, phases, design),
    };
    RULES.iter().filter(applies).map(judged).collect()
}

/// A volume against which there is no day's intake to hold.
fn not_taken(rule: Rule, phases: &Phases<'_>, asked: f64) -> Judged {
    let why = match () {
        () if phases.first_dose().is_none() => Untested::NotMeasured,
        () if phases.next_day().or(phases.refilled).is_none() => Untested::NobodyLooked,
        () if phases.open_area().is_none() => Untested::DiameterUnknown,
        () => Untested::NotMeasured,
    };
    Judged { finding: Finding::NotTested(why), ..rule.untold(Some(Figure::Volume(cubic_metres(asked)))) }
}

/// A day's intake against a volume, m³.
fn taken(
    rule: Rule,
    phases: &Phases<'_>,
    household: &Household,
    (asked, daily): (f64, &DailyIntake),
) -> Judged {
    let untold = rule.untold(Some(Figure::Volume(cubic_metres(asked))));
    // Gallons go through cubic metres and back.
    let limit = asked * (1.0 - 1e-9);
    let [least, most] = [daily.least, daily.most].map(|volume| volume.value);
    // What was never poured in cannot have been taken.
    let too_little = !phases.was_poured(limit) && !is_full(phases) && daily.form != Form::Fall;
    let outcome = match () {
        () if daily.form == Form::Expected => Outcome::CannotTell,
        () if least >= limit => Outcome::Met,
        () if most >= limit => Outcome::CannotTell,
        () if too_little => Outcome::CannotTell,
        () => Outcome::NotMet,
    };
    let error = WITHIN_ERROR * daily.volume.standard_error.value;
    let below = || untested(phases, household, limit).map_or(Finding::NotMet, Finding::NotTested);
    let finding = match daily.form {
        Form::Expected => Finding::NotTested(Untested::NobodyLooked),
        _ => Finding::against(limit, [least, most], error, below),
    };
    Judged {
        finding,
        outcome,
        found: Some(Figure::Volume(cubic_metres(least))),
        at_most: (least < most).then(|| Figure::Volume(cubic_metres(most))),
        within_error: finding == Finding::Borderline,
        too_little_water: too_little && outcome == Outcome::CannotTell,
        ..untold
    }
}

/// The level a day later against that of the start.
fn back_at_start(rule: Rule, phases: &Phases<'_>, household: &Household) -> Judged {
    let untold = rule.untold(Some(Figure::Length(metres(0.0))));
    let not_tested = |why| Judged { finding: Finding::NotTested(why), ..untold };
    let Some(design) = household.design_day() else { return not_tested(Untested::DesignUnknown) };
    let Some((start, _)) = phases.start.zip(phases.first_dose()) else { return untold };
    let Some(later) = phases.next_day().or(phases.back_at_start()) else {
        return not_tested(Untested::NobodyLooked);
    };
    let Some((before, after)) = start.level.zip(later.level) else { return untold };
    let above = after - before;
    let too_little = !phases.was_poured(design);
    let outcome = match () {
        () if above > phases.same_level() => Outcome::NotMet,
        () if too_little && is_full(phases) => Outcome::NotMet,
        () if too_little => Outcome::CannotTell,
        () => Outcome::Met,
    };
    // A dry bottom is where it is.
    let error = if start.is_dry() && later.is_dry() { 0.0 } else { phases.same_level() };
    let tank_stands_high = later.tank.is_some_and(|tank| tank - start.tank.unwrap_or(0.0) > RUNNING_HEAD_M);
    let not_back = || untested(phases, household, design).map_or(Finding::NotMet, Finding::NotTested);
    let finding = match () {
        () if is_restricted(phases) || too_little => not_back(),
        () if tank_stands_high && above <= error => Finding::NotTested(Untested::TankHeld),
        () => Finding::against(0.0, [-above, -above], error, not_back),
    };
    Judged {
        finding,
        outcome,
        found: Some(Figure::Length(metres(above))),
        within_error: finding == Finding::Borderline,
        too_little_water: too_little,
        ..untold
    }
}

fn six_inches(rule: Rule, phases: &Phases<'_>) -> Judged {
    let limit = inches(CLOSE_TO_INLET_IN);
    let untold = rule.untold(Some(Figure::Length(limit)));
    let Some(level) = phases.start.and_then(|point| point.level) else { return untold };
    let room = phases.inlet() - level;
    Judged {
        found: Some(Figure::Length(metres(room))),
        ..room_left(untold, phases, [room, limit.value], WITHIN_ERROR * phases.stick())
    }
}

fn half_day(rule: Rule, phases: &Phases<'_>, design: Option<f64>) -> Judged {
    let limit = design.map(|day| CLOSE_TO_INLET_DAYS * day);
    let untold = rule.untold(limit.map(|limit| Figure::Volume(cubic_metres(limit))));
    let level = phases.start.and_then(|point| point.level);
    let (Some(limit), Some(level)) = (limit, level) else { return untold };
    let Some(area) = phases.open_area() else {
        return Judged { finding: Finding::NotTested(Untested::DiameterUnknown), ..untold };
    };
    let room = area * (phases.inlet() - level);
    Judged {
        found: Some(Figure::Volume(cubic_metres(room))),
        ..room_left(untold, phases, [room, limit], WITHIN_ERROR * area * phases.stick())
    }
}

/// Room below the inlet against what is asked. After rain a level may stand higher than it usually does.
fn room_left(untold: Judged, phases: &Phases<'_>, [room, limit]: [f64; 2], error: f64) -> Judged {
    let below = || match phases.test.rained() {
        true => Finding::NotTested(Untested::Rain),
        false => Finding::NotMet,
    };
    let finding = Finding::against(limit, [room, room], error, below);
    Judged {
        finding,
        outcome: if room >= limit { Outcome::Met } else { Outcome::NotMet },
        within_error: finding == Finding::Borderline,
        ..untold
    }
}
