//! Pits in trouble and out of it: lives that no smooth curve describes, month by month from the same balance.
//!
//! Owners look into such pits because something is wrong, often several times a year. Unlike [`super::life`] a life goes on at
//! the inlet: the pit backs up, stands there, and may come back. How often and how fast is a choice of this simulation.

use super::HORIZON_YEARS;
use super::balance::Balance;
use super::life::{Incident, Life, MONTH, Nature, Use, standing_m};
use super::random::{Disturbance, Random};
use super::{Population, Trouble};
use std::f64::consts::PI;

/// What befalls the pit, times in years from the as-of day.
#[derive(Debug, Clone, Copy)]
enum Course {
    Ordinary,
    /// Solids carried over from a full tank, or a wall that smears: the resistance grows by `times` within `within` years.
    SuddenLoss {
        from: f64,
        within: f64,
        times: f64,
    },
    /// The household shrinks for good.
    LoadDropped {
        from: f64,
        kept: f64,
    },
    /// The wall opens over some years.
    WallRecovers {
        from: f64,
        within: f64,
        kept: f64,
    },
    /// Clogged until the pit stands at its inlet, and left so.
    BackedUp {
        from: f64,
        times: f64,
    },
    /// Backed up, and then something is done, or something happens: the wall opens within weeks and clogs again.
    Remedied {
        from: f64,
        times: f64,
        at: f64,
        kept: f64,
        remedy: Remedy,
    },
    /// A water table that swings with the years and with the seasons, heights as shares of the depth.
    WaterTable {
        mean: f64,
        swing: f64,
        season: f64,
    },
}

/// What opened the wall again.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Remedy {
    /// Nobody knows.
    Unrecorded,
    /// A rest of so many years.
    Rest(f64),
    /// Jetting, aeration, new gravel.
    Rehabilitation,
}

impl Course {
    fn draw(random: &mut Random, trouble: Trouble) -> Self {
        match trouble {
            Trouble::OftenRead => Self::Ordinary,
            Trouble::FillsWithinMonths => Self::SuddenLoss {
                // It has begun, mostly: that is why somebody reads so often.
                from: random.between(-1.0, 0.1),
                within: random.between(0.2, 1.2),
                times: random.log_normal(8.0, 0.6),
            },
            Trouble::FallsForYears if random.chance(0.5) => {
                Self::LoadDropped { from: random.between(-8.0, -1.0), kept: random.between(0.3, 0.7) }
            }
            Trouble::FallsForYears => Self::WallRecovers {
                from: random.between(-8.0, -1.0),
                within: random.between(1.0, 5.0),
                kept: random.between(0.25, 0.7),
            },
            Trouble::StandsAtInlet => {
                Self::BackedUp { from: random.between(-12.0, -1.5), times: random.between(1.3, 3.0) }
            }
            Trouble::Recovers => {
                let at = random.between(-6.0, -0.3);
                let remedy = random.pick(&[
                    (0.5, Remedy::Unrecorded),
                    (0.25, Remedy::Rest(0.5)),
                    (0.25, Remedy::Rehabilitation),
                ]);
                let (from, times) = (at - random.between(0.5, 3.0), random.between(1.2, 2.5));
                Self::Remedied { from, times, at, kept: random.between(0.25, 0.8), remedy }
            }
            Trouble::WaterTable => Self::WaterTable {
                mean: random.between(0.0, 0.35),
                swing: random.between(0.12, 0.3),
                season: random.between(0.05, 0.2),
            },
        }
    }

    fn is_resting(&self, years: f64) -> bool {
        matches!(*self, Self::Remedied { at, remedy: Remedy::Rest(rest), .. } if (at - rest..at).contains(&years))
    }

    /// Resistance over that of the wall left to itself; `full` is the factor at which the pit stood at its inlet on the day
    /// that it was backed up.
    fn resistance_times(&self, years: f64, full: f64) -> f64 {
        let grown =
            |from: f64, within: f64, times: f64| times.powf(((years - from) / within).clamp(0.0, 1.0));
        match *self {
            Self::SuddenLoss { from, within, times } => grown(from, within, times),
            Self::WallRecovers { from, within, kept } if years >= from => {
                kept + (1.0 - kept) * (-(years - from) / within).exp()
            }
            Self::BackedUp { from, times } => grown(from - 1.0, 1.0, times * full),
            Self::Remedied { from, times, at, kept, .. } => {
                let backed_up = grown(from - 1.0, 1.0, times * full);
                let opened = (kept / times).powf(((years - at) / 0.15).clamp(0.0, 1.0));
                backed_up * opened
            }
            _ => 1.0,
        }
    }

    /// What was done, as far as anybody could have written a date beside it.
    fn incidents(&self) -> Vec<Incident> {
        match *self {
            Self::Remedied { at, remedy: Remedy::Rest(rest), kept, .. } => {
                vec![Incident::Rested { from: at - rest, to: at, load_kept: kept }]
            }
            Self::Remedied { at, remedy: Remedy::Rehabilitation, .. } => {
                vec![Incident::Rehabilitated { at }]
            }
            _ => Vec::new(),
        }
    }

    /// The time by which the pit stands at its inlet, if the course says so.
    fn backed_up_from(&self) -> Option<f64> {
        match *self {
            Self::BackedUp { from, .. } | Self::Remedied { from, .. } => Some(from),
            _ => None,
        }
    }

    /// Who stands at the inlet is replaced within months, unless the story is that nobody does it.
    fn is_replaced_when_full(&self) -> bool {
        self.backed_up_from().is_none()
    }
}

/// A life in this kind of trouble, of a pit that is still in service on the as-of day.
pub(super) fn draw(random: &mut Random, population: &Population, trouble: Trouble) -> Life {
    loop {
        let nature = Nature::draw(random, population);
        let age = random.between(4.0, 60.0).max(random.between(4.0, 60.0));
        let course = Course::draw(random, trouble);
        let household = match course {
            Course::LoadDropped { from, kept } => Use::draw(random, population, age).shrunk(from, kept),
            _ => Use::draw(random, population, age),
        };
        if course.backed_up_from().is_some_and(|from| from < 1.5 - age) {
            continue;
        }
        if let Some(life) = run(random, nature, household, age, course) {
            return life;
        }
    }
}

/// `None` if the pit was given up before the as-of day.
fn run(random: &mut Random, nature: Nature, household: Use, age: f64, course: Course) -> Option<Life> {
    let months_before = (age / MONTH).round() as usize;
    let months = months_before + (HORIZON_YEARS / MONTH) as usize;
    let (mut moods, mut table) = (Moods::draw(random, &household), Table::draw(random, course));
    let full = course.backed_up_from().map_or(1.0, |from| times_until_full(&nature, &household, age, from));
    let (mut load_m, mut full_months) = (0.0, 0);
    let mut monthly_m: Vec<f64> = Vec::with_capacity(months + 1);
    let mut monthly_resistance_d = Vec::with_capacity(months + 1);
    let mut reached = None;
    for month in 0..=months {
        let years = (month as f64 - months_before as f64) * MONTH;
        let (flow_mood, acceptance) = moods.next(random, years);
        let share = if course.is_resting(years) { 0.0 } else { household.share_at(years) };
        let flow = nature.design_m3_per_day * share * flow_mood;
        let resistance = nature.clogging.resistance_d(load_m) * course.resistance_times(years, full);
        let table_m = table.next_m(random, years, nature.effective_m);
        let level = level_above_table(&nature.balance, flow, resistance / acceptance, table_m);
        load_m += flow * MONTH * 365.25 / nature.balance.wetted_m2(level.min(nature.effective_m));
        monthly_m.push(level);
        monthly_resistance_d.push(resistance / acceptance);
        let is_full = standing_m(&monthly_m) >= nature.effective_m;
        full_months = if is_full { full_months + 1 } else { 0 };
        if years <= 0.0 && full_months > 6 && course.is_replaced_when_full() {
            return None;
        }
        if is_full && years >= 0.0 {
            reached = Some(years);
            break;
        }
    }
    let (incidents, age) = (course.incidents(), months_before as f64 * MONTH);
    Some(Life { nature, household, incidents, age, monthly_m, monthly_resistance_d, reached })
}

/// How much more resistance than the wall left to itself would bring the pit to its inlet on a day.
fn times_until_full(nature: &Nature, household: &Use, age: f64, day: f64) -> f64 {
    let (mut load_m, mut years) = (0.0, -age);
    while years < day {
        let flow = nature.design_m3_per_day * household.share_at(years);
        let level = nature.balance.level_m(flow, nature.clogging.resistance_d(load_m));
        load_m += flow * MONTH * 365.25 / nature.balance.wetted_m2(level.min(nature.effective_m));
        years += MONTH;
    }
    let flow = nature.design_m3_per_day * household.share_at(day);
    nature.balance.accepted_m3_per_day(nature.effective_m, nature.clogging.resistance_d(load_m)) / flow
}

/// Disturbances of the inflow and of the acceptance, of months and of years, and the season.
struct Moods {
    disturbances: [Disturbance; 4],
    season: f64,
    wettest: f64,
}

impl Moods {
    fn draw(random: &mut Random, household: &Use) -> Self {
        let flow = 0.04 + 0.10 * household.swing;
        let wall = random.log_normal(0.07, 0.4);
        let memories =
            [(0.1, 0.5), (1.5, 6.0), (0.2, 0.8), (2.0, 6.0)].map(|(low, high)| random.between(low, high));
        let spreads = [flow, flow, wall, wall];
        let disturbances =
            std::array::from_fn(|place| Disturbance::new(random, spreads[place], memories[place]));
        Self { disturbances, season: random.between(0.0, 0.08), wettest: random.between(0.0, 0.3) }
    }

    /// Factor of the inflow, and of the acceptance.
    fn next(&mut self, random: &mut Random, years: f64) -> (f64, f64) {
        let [use_short, use_long, wall_short, wall_long] =
            self.disturbances.each_mut().map(|disturbance| disturbance.next(random, MONTH));
        let seasonal = (-self.season * (2.0 * PI * (years - self.wettest)).cos()).exp();
        (use_short * use_long, wall_short * wall_long * seasonal)
    }
}

/// Height of the water table above the bottom of the pit.
struct Table {
    /// As shares of the depth: mean, standard deviation of the years' swing, and half the seasonal range.
    shares: Option<[f64; 3]>,
    /// The swing in standard deviations, which fades over some years.
    swung: f64,
    memory_years: f64,
    wettest: f64,
}

impl Table {
    fn draw(random: &mut Random, course: Course) -> Self {
        let shares = match course {
            Course::WaterTable { mean, swing, season } => Some([mean, swing, season]),
            _ => None,
        };
        let (swung, memory_years) = (random.normal(), random.between(1.5, 6.0));
        Self { shares, swung, memory_years, wettest: random.between(0.1, 0.4) }
    }

    fn next_m(&mut self, random: &mut Random, years: f64, effective_m: f64) -> f64 {
        let Some([mean, swing, season]) = self.shares else { return 0.0 };
        let kept = (-MONTH / self.memory_years).exp();
        self.swung = kept * self.swung + (1.0 - kept * kept).sqrt() * random.normal();
        let share = mean + swing * self.swung + season * (2.0 * PI * (years - self.wettest)).cos();
        share.max(0.0) * effective_m
    }
}

/// Level at which the pit takes the flow while ground water stands `table_m` above its bottom: below the table the head over the
/// layer is the difference of both levels, and no suction pulls.
///
/// With u the height above the table, `Q R = (π D)(u²/2 + (ψ + h) u) + s (π D²/4) u`.
fn level_above_table(balance: &Balance, flow_m3_per_day: f64, resistance_d: f64, table_m: f64) -> f64 {
    if table_m <= 0.0 {
        return balance.level_m(flow_m3_per_day, resistance_d);
    }
    let perimeter = PI * balance.diameter_m;
    let floor = balance.floor_share * perimeter * balance.diameter_m / 4.0;
    let linear = perimeter * (balance.suction_m + table_m) + floor;
    let taken = flow_m3_per_day * resistance_d;
    table_m + 2.0 * taken / (linear + (linear * linear + 2.0 * perimeter * taken).sqrt())
}

/// Days of the readings, newest first: several a year while there is trouble, yearly where it has lasted for years.
pub(super) fn reading_times(random: &mut Random, trouble: Trouble, age: f64) -> Vec<f64> {
    let is_often = matches!(trouble, Trouble::OftenRead | Trouble::FillsWithinMonths);
    let few = if is_often { 0.07 } else { 0.15 };
    let (fewest, most) = random.pick(&[(few, (1, 1)), (few, (2, 2)), (0.25, (3, 4)), (0.45, (5, 14))]);
    let count = random.between(f64::from(fewest), f64::from(most + 1)) as usize;
    let apart = match trouble {
        _ if is_often => random.between(0.08, 0.35),
        Trouble::WaterTable => random.between(0.2, 1.0),
        _ => random.between(0.25, 1.2),
    };
    let mut at = -random.between(0.0, apart.max(0.3));
    let mut times = Vec::new();
    while times.len() < count && at > -age + 0.1 {
        times.push(at);
        at -= apart * random.between(0.6, 1.4);
    }
    times
}
