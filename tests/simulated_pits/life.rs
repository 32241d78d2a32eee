//! The life of one pit: what it is, who uses it, and how its level goes, month by month.

use super::balance::Balance;
use super::clogging::{Clogging, Law};
use super::random::{Disturbance, Random};
use super::{GALLONS_PER_PERSON, HORIZON_YEARS, Population, Soil};
use std::f64::consts::PI;

const FOOT_M: f64 = 0.3048;
pub(super) const INCH_M: f64 = 0.0254;
pub(super) const GALLON_M3: f64 = 0.003_785_411_784;
pub(super) const MONTH: f64 = 1.0 / 12.0;
/// The standing level is what stands on the average of these many months: no wet week makes a failure.
const STANDING_MONTHS: usize = 3;
/// A pit found at its inlet is replaced within about this time.
const REPLACED_WITHIN_YEARS: f64 = 0.5;

/// What the pit is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Nature {
    pub(super) soil: Soil,
    pub(super) balance: Balance,
    pub(super) clogging: Clogging,
    pub(super) effective_m: f64,
    /// This pit's share of the design flow.
    pub(super) design_m3_per_day: f64,
}

impl Nature {
    pub(super) fn draw(random: &mut Random, population: &Population) -> Self {
        let after_dry_years = random.chance(population.dry_for_years);
        // Only coarse soil stays open that long.
        let soil = if after_dry_years { Soil::Sand } else { random.pick(&population.soils) };
        let law = match after_dry_years {
            true => Law::AfterDryYears,
            false => random.pick(&[(0.55, Law::WithLoad), (0.45, Law::ToLongTermRate)]),
        };
        let suction_m = soil.suction_m() * random.log_normal(1.0, 0.25);
        let floor_share = match law {
            Law::AfterDryYears => random.between(0.6, 1.0),
            _ if random.chance(0.6) => 0.0,
            _ => random.between(0.05, 0.3),
        };
        let persons = 2.0 * random.pick(&[(0.2, 2.0), (0.45, 3.0), (0.27, 4.0), (0.08, 5.0)]);
        let (diameter_m, effective_m, design_m3_per_day) = sized_for(random, soil, persons);
        let balance = Balance { diameter_m, suction_m, floor_share };
        let clogging = Clogging::draw(random, soil, law, suction_m);
        Self { soil, balance, clogging, effective_m, design_m3_per_day }
    }

    /// Years a new pit lasts at its design load, without any disturbance; infinite beyond `limit_years`.
    pub(super) fn undisturbed_life_years(&self, limit_years: f64) -> f64 {
        let (mut years, mut load_m) = (0.0, 0.0);
        while years < limit_years {
            let resistance = self.clogging.resistance_d(load_m);
            let level = self.balance.level_m(self.design_m3_per_day, resistance);
            if level >= self.effective_m {
                return years;
            }
            load_m += self.design_m3_per_day * MONTH * 365.25 / self.balance.wetted_m2(level);
            years += MONTH;
        }
        f64::INFINITY
    }
}

/// Diameter, effective depth and design flow of a pit: wall area = design flow ÷ rate, with what the builder had at
/// hand; where one pit cannot do it, several share the flow and one of them is looked at.
fn sized_for(random: &mut Random, soil: Soil, persons: f64) -> (f64, f64, f64) {
    let flow = persons * GALLONS_PER_PERSON * GALLON_M3;
    let wall_m2 = flow / soil.long_term_rate_m_per_day() * random.log_normal(1.0, 0.2);
    let largest_m2 = PI * 7.0 * FOOT_M * 14.0 * FOOT_M;
    let pits = (wall_m2 / largest_m2).ceil();
    let depth_ft = random.log_normal(11.0, 0.3).clamp(4.0, 20.0);
    let diameter_ft = wall_m2 / pits / (PI * depth_ft * FOOT_M) / FOOT_M;
    let diameter_ft = ((diameter_ft * 2.0).round() / 2.0).clamp(3.0, 10.0);
    // A diameter out of reach: the depth gives way.
    let depth_ft = (wall_m2 / pits / (PI * diameter_ft * FOOT_M) / FOOT_M).clamp(4.0, 20.0);
    (diameter_ft * FOOT_M, (depth_ft * 12.0).round() * INCH_M, flow / pits)
}

/// Something that befell the pit, times in years from the as-of day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Incident {
    PumpedOut { at: f64, left: f64, back_within_years: f64 },
    PipeRepaired { at: f64, flow_kept: f64 },
    Rested { from: f64, to: f64, load_kept: f64 },
    Rehabilitated { at: f64 },
}

impl Incident {
    fn at(self) -> f64 {
        match self {
            Self::PumpedOut { at, .. } | Self::PipeRepaired { at, .. } | Self::Rehabilitated { at } => at,
            Self::Rested { to, .. } => to,
        }
    }
}

/// The household's water: constant shares of the design flow between changes of the people who live there.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Use {
    /// First year of each share, from the as-of day, and the share; oldest first.
    pub(super) steps: Vec<(f64, f64)>,
    pub(super) swing: f64,
}

impl Use {
    pub(super) fn draw(random: &mut Random, population: &Population, age: f64) -> Self {
        let swing = population.household.swing(random);
        // People move in and out every 25 years on the average in a calm house, every 6 in a restless one.
        let between_changes = 25.0 * (6.0 / 25.0f64).powf(swing);
        let usual = random.log_normal(population.load_ratio_median, 0.2);
        let share = |random: &mut Random| {
            let spread = 0.12 + 0.28 * swing;
            random.log_normal(usual, spread).clamp(0.15, 1.2)
        };
        let mut steps = vec![(-age, share(random))];
        let mut at = -age + random.wait(between_changes);
        while at < HORIZON_YEARS {
            steps.push((at, share(random)));
            at += 0.3 + random.wait(between_changes);
        }
        Self { steps, swing }
    }

    /// The same household, smaller by a factor from a time on.
    pub(super) fn shrunk(mut self, from: f64, kept: f64) -> Self {
        let at_once = (from, self.share_at(from));
        let later = self.steps.iter().position(|step| step.0 > from).unwrap_or(self.steps.len());
        self.steps.insert(later, at_once);
        self.steps.iter_mut().skip(later).for_each(|step| step.1 *= kept);
        self
    }

    pub(super) fn share_at(&self, years: f64) -> f64 {
        self.steps.iter().rev().find(|(from, _)| *from <= years).unwrap_or(&self.steps[0]).1
    }
}

/// The course of the standing level.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Life {
    pub(super) nature: Nature,
    pub(super) household: Use,
    pub(super) incidents: Vec<Incident>,
    pub(super) age: f64,
    /// Level that each month's flow would keep, from the month of installation to the horizon or the inlet.
    pub(super) monthly_m: Vec<f64>,
    /// Resistance of the wall in each of those months, its moods included, days.
    pub(super) monthly_resistance_d: Vec<f64>,
    /// When the standing level reached the inlet, years from the as-of day.
    pub(super) reached: Option<f64>,
}

impl Life {
    /// A pit still in service on the as-of day: others are drawn anew, as a record of them is not kept up.
    pub(super) fn draw_in_service(random: &mut Random, population: &Population) -> Self {
        loop {
            let nature = Nature::draw(random, population);
            // An old valley: more was built forty years ago than lately.
            let age = random.between(2.0, 60.0).max(random.between(2.0, 60.0));
            let household = Use::draw(random, population, age);
            let life = Self::run(random, nature, household, age);
            let still_there = match life.reached {
                Some(years) if years <= -REPLACED_WITHIN_YEARS => false,
                Some(years) if years <= 0.0 => random.chance(0.8),
                _ => true,
            };
            if still_there {
                return life;
            }
        }
    }

    fn run(random: &mut Random, nature: Nature, household: Use, age: f64) -> Self {
        let swing = household.swing;
        let months_before = (age / MONTH).round() as usize;
        let months = months_before + (HORIZON_YEARS / MONTH) as usize;
        let mut incidents = draw_incidents(random, age);
        // Two disturbances of the inflow, of months and of years, and two of the acceptance.
        let flow_spread = 0.04 + 0.10 * swing;
        let acceptance_spread = random.log_normal(0.07, 0.4);
        let memories = [random.between(0.1, 0.5), random.between(1.5, 6.0), random.between(0.2, 0.8)];
        let mut disturbances = [
            (flow_spread, memories[0]),
            (flow_spread, memories[1]),
            (acceptance_spread, memories[2]),
            (acceptance_spread, random.between(2.0, 6.0)),
        ]
        .map(|(spread, memory)| Disturbance::new(random, spread, memory));
        let season = random.between(0.0, 0.08);
        // Wettest ground between January and April.
        let wettest = random.between(0.0, 0.3);

        let (mut load_m, mut flow_kept) = (0.0, 1.0);
        let mut monthly_m: Vec<f64> = Vec::with_capacity(months + 1);
        let mut monthly_resistance_d: Vec<f64> = Vec::with_capacity(months + 1);
        let mut reached = None;
        let mut standing_before = 0.0;
        for month in 0..=months {
            let years = month as f64 * MONTH - months_before as f64 * MONTH;
            let [use_short, use_long, wall_short, wall_long] =
                disturbances.each_mut().map(|disturbance| disturbance.next(random, MONTH));
            let resistance = nature.clogging.resistance_d(load_m);
            let mut resting = false;
            for incident in &mut incidents {
                match incident {
                    Incident::PipeRepaired { at, flow_kept: kept } if is_this_month(*at, years) => {
                        flow_kept *= *kept;
                    }
                    Incident::Rested { from, to, load_kept } => {
                        resting |= (*from..*to).contains(&years);
                        if is_this_month(*to, years) {
                            load_m *= *load_kept;
                        }
                    }
                    Incident::PumpedOut { at, back_within_years, .. } if is_this_month(*at, years) => {
                        let level = monthly_m.last().copied().unwrap_or(0.0);
                        // A layer that has stood dry is opener for a while than the balance knows.
                        *back_within_years *= nature.balance.response_years(level, resistance);
                    }
                    _ => {}
                }
            }
            let seasonal = (-season * (2.0 * PI * (years - wettest)).cos()).exp();
            let acceptance = wall_short * wall_long * seasonal;
            let share = if resting { 0.0 } else { household.share_at(years) };
            let flow = nature.design_m3_per_day * share * flow_kept * use_short * use_long;
            let level = nature.balance.level_m(flow / acceptance, resistance);
            load_m += flow * MONTH * 365.25 / nature.balance.wetted_m2(level.min(nature.effective_m));
            monthly_m.push(level);
            monthly_resistance_d.push(resistance / acceptance);
            let standing = standing_m(&monthly_m);
            if standing >= nature.effective_m {
                let share_of_month = (nature.effective_m - standing_before) / (standing - standing_before);
                reached = Some(years - MONTH * (1.0 - share_of_month.clamp(0.0, 1.0)));
                break;
            }
            standing_before = standing;
        }
        // Nobody pumps out a pit that is about to be replaced.
        incidents.retain(|incident| reached.is_none_or(|reached| incident.at() < reached));
        Self {
            nature,
            household,
            incidents,
            age: months_before as f64 * MONTH,
            monthly_m,
            monthly_resistance_d,
            reached,
        }
    }

    /// Standing level at a time, metres, at most the inlet; a pit that has reached its inlet counts as standing there.
    pub(super) fn standing_m(&self, years: f64) -> f64 {
        if self.reached.is_some_and(|reached| reached <= years) {
            return self.nature.effective_m;
        }
        let month = ((years + self.age) / MONTH).round() as usize;
        standing_m(&self.monthly_m[..(month + 1).min(self.monthly_m.len())]).min(self.nature.effective_m)
    }

    /// Resistance of the wall at a time up to the inlet, its moods included, days.
    pub(super) fn resistance_d(&self, years: f64) -> f64 {
        let month = ((years + self.age) / MONTH).round().max(0.0) as usize;
        self.monthly_resistance_d[month.min(self.monthly_resistance_d.len() - 1)]
    }

    /// What a perfect stick would find on a day before the as-of day: also the dip after pumping out.
    pub(super) fn level_found_m(&self, years: f64) -> f64 {
        let place = ((years + self.age) / MONTH).max(0.0);
        let last = self.monthly_m.len() - 1;
        let (before, after) = ((place as usize).min(last), (place as usize + 1).min(last));
        let mut level =
            self.monthly_m[before] + (self.monthly_m[after] - self.monthly_m[before]) * place.fract();
        for incident in &self.incidents {
            if let Incident::PumpedOut { at, left, back_within_years } = *incident
                && at <= years
            {
                level *= 1.0 - (1.0 - left) * (-(years - at) / back_within_years).exp();
            }
        }
        level.min(self.nature.effective_m)
    }
}

fn is_this_month(at: f64, years: f64) -> bool {
    (years - MONTH..years).contains(&at)
}

pub(super) fn standing_m(monthly_m: &[f64]) -> f64 {
    let recent = &monthly_m[monthly_m.len().saturating_sub(STANDING_MONTHS)..];
    recent.iter().sum::<f64>() / recent.len() as f64
}

/// What was done to a pit of this age so far; nothing is foreseen.
///
/// How often is a choice of this simulation: pumped out about every 15 years, a repair of the pipe (which then lets
/// less ground water in) every 50, a rest every 70.
fn draw_incidents(random: &mut Random, age: f64) -> Vec<Incident> {
    let mut incidents = Vec::new();
    let mut at = -age + random.wait(15.0);
    while at < 0.0 {
        let left = random.between(0.0, 0.25);
        incidents.push(Incident::PumpedOut { at, left, back_within_years: random.log_normal(3.0, 0.5) });
        at += random.wait(15.0);
    }
    at = -age + random.wait(50.0);
    while at < 0.0 {
        incidents.push(Incident::PipeRepaired { at, flow_kept: random.between(0.75, 0.97) });
        at += random.wait(50.0);
    }
    at = -age + random.wait(70.0);
    while at < -1.5 {
        let to = at + random.between(0.25, 1.0);
        incidents.push(Incident::Rested { from: at, to, load_kept: random.between(0.5, 0.9) });
        at = to + random.wait(70.0);
    }
    incidents
}
