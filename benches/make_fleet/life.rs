//! An invented pit: what it is, who lives there, and where its liquid stands year by year.
//!
//! The level is the one at which wall and suction take up what flows in: level² + 2 · suction · level grows with use times the
//! resistance of the clogging layer. The layer grows with the years, comes to rest, or begins to grow only after dry years.
//! The figures are choices within what the trade holds common, without a source.

use super::random::Random;

/// The year in which the logbook ends.
pub(crate) const LAST_YEAR: u32 = 2026;
/// So fast the liquid follows the balance, inches a year: a sound pit gives no cause to doubt its readings.
const FASTEST_IN_A_YEAR: f64 = 7.0;
const OLDEST_YEARS: u32 = 50;

pub(crate) const SOILS: [(u32, Soil); 6] = [
    (10, Soil { word: "gravel", suction_in: 8.0, usual_life_years: 60.0 }),
    (25, Soil { word: "sand", suction_in: 10.0, usual_life_years: 48.0 }),
    (35, Soil { word: "loam", suction_in: 20.0, usual_life_years: 38.0 }),
    (10, Soil { word: "silt", suction_in: 25.0, usual_life_years: 34.0 }),
    (15, Soil { word: "clay", suction_in: 30.0, usual_life_years: 30.0 }),
    (5, UNKNOWN),
];
const UNKNOWN: Soil = Soil { word: "", suction_in: 18.0, usual_life_years: 40.0 };

#[derive(Clone, Copy)]
pub(crate) struct Soil {
    pub(crate) word: &'static str,
    suction_in: f64,
    usual_life_years: f64,
}

pub(crate) struct Pit {
    pub(crate) built: u32,
    pub(crate) diameter_ft: u32,
    pub(crate) inlet_in: f64,
    /// From the inlet down to the bottom.
    pub(crate) effective_in: f64,
    pub(crate) bedrooms: u32,
    pub(crate) people: u32,
    /// The people before and the year in which they left, if the house changed hands.
    pub(crate) people_before: Option<(u32, u32)>,
    pub(crate) soil: Soil,
    clogging: Clogging,
}

/// How the resistance grows, as a share of what lifts the liquid to the inlet at the usual load.
#[derive(Clone, Copy)]
enum Clogging {
    Steady { life_years: f64 },
    LevelsOff { most: f64, within_years: f64 },
    AfterDryYears { dry_years: f64, life_years: f64 },
}

impl Pit {
    pub(crate) fn invent(random: &mut Random) -> Self {
        let soil = random.pick(&SOILS, UNKNOWN);
        let life_years = soil.usual_life_years * (0.45 * random.bell()).exp();
        let clogging = match random.below(100) {
            0..60 => Clogging::Steady { life_years },
            60..85 => Clogging::LevelsOff {
                most: random.between(0.1, 0.9),
                within_years: random.between(3.0, 12.0),
            },
            _ => Clogging::AfterDryYears { dry_years: random.between(5.0, 50.0), life_years },
        };
        let mut age = 2 + random.below(OLDEST_YEARS - 1);
        if let Clogging::Steady { life_years } = clogging {
            // One that has come to its end was replaced, once or more, by its like.
            age = (f64::from(age) % life_years.max(3.0)) as u32 + 1;
        }
        let bedrooms = 2 + random.below(4);
        let mut people = || (bedrooms + random.below(3)).saturating_sub(1);
        let (now, before) = (people(), people());
        let built = LAST_YEAR - age;
        let has_changed = age > 4 && random.one_in(8);
        Self {
            built,
            diameter_ft: 4 + random.below(5),
            inlet_in: f64::from(18 + random.below(43)),
            effective_in: f64::from(84 + 6 * random.below(15)),
            bedrooms,
            people: now,
            people_before: has_changed.then(|| (before, built + 2 + random.below(age - 3))),
            soil,
            clogging,
        }
    }

    /// Where the liquid stands in the balance of a year, inches above the bottom.
    fn balance_in(&self, year: u32) -> f64 {
        let age = f64::from(year) + 0.5 - f64::from(self.built);
        let resistance = match self.clogging {
            Clogging::Steady { life_years } => age / life_years,
            Clogging::LevelsOff { most, within_years } => most * (1.0 - (-age / within_years).exp()),
            Clogging::AfterDryYears { dry_years, life_years } => (age - dry_years).max(0.0) / life_years,
        };
        let people = match self.people_before {
            Some((before, until)) if year < until => before,
            _ => self.people,
        };
        let load = f64::from(people.max(1)) / f64::from(self.bedrooms);
        let (suction, at_inlet) = (self.soil.suction_in, self.effective_in);
        let head = at_inlet * (at_inlet + 2.0 * suction) * resistance * load;
        (suction * suction + head).sqrt() - suction
    }

    /// The standing level of every year from the first whole one, inches above the bottom, at most the inlet.
    pub(crate) fn levels_in(&self) -> impl Iterator<Item = (u32, f64)> {
        let mut level = self.balance_in(self.built + 1);
        (self.built + 1..=LAST_YEAR).map(move |year| {
            level += (self.balance_in(year) - level).clamp(-FASTEST_IN_A_YEAR, FASTEST_IN_A_YEAR);
            level = level.min(self.effective_in);
            (year, level)
        })
    }

    pub(crate) fn bottom_in(&self) -> f64 {
        self.inlet_in + self.effective_in
    }
}
