//! How the clogging layer thickens with what has passed through it.

use super::Soil;
use super::random::Random;

/// Resistance of the clogging layer as a function of the cumulative load per wetted area.
///
/// Which of the laws a real pit follows is not known, so the population holds all of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Clogging {
    /// `R = R0 + R1 (M / M1)^p` once the load has passed `onset_m`.
    ///
    /// Cumulative mass of solids per area drives clogging: Siegrist (1987), *J. Environ. Qual.* 16, 181–187, as
    /// cited; p = 1 is the usual form, the other exponents are a choice of this simulation.
    WithLoad { clean_d: f64, growth_d: f64, scale_m: f64, power: f64, onset_m: f64 },
    /// `1/R = 1/R∞ + (1/R0 − 1/R∞) exp(−M / M1)`: acceptance falls exponentially to a long-term rate.
    ///
    /// Healy and Laak (1974), *J. Environ. Eng. Div. ASCE* 100(5), 1133–1146, for the existence of such a rate.
    ToLongTermRate { clean_d: f64, for_good_d: f64, scale_m: f64 },
}

/// Years at the sizing rate in which a layer that grows with load comes to the resistance the sizing allows for.
///
/// Set so that a new pit at its design load lasts 30–35 years in the median, the trade's 30–40 years.
const GROWTH_YEARS: f64 = 33.0;
/// Years at the sizing rate in which the excess of acceptance over the long-term rate falls to 1/e; same purpose.
const DECLINE_YEARS: f64 = 9.5;
/// Depth at which the published rates are taken to hold: half-way up a customary pit.
const RATE_DEPTH_M: f64 = 2.4;

/// The law of one pit's wall, apart from what the soil says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Law {
    WithLoad,
    ToLongTermRate,
    AfterDryYears,
}

impl Clogging {
    /// Draws the wall of one pit.
    pub(super) fn draw(random: &mut Random, soil: Soil, law: Law, suction_m: f64) -> Self {
        let rate = soil.long_term_rate_m_per_day();
        // Resistance at which a wall wetted up to the reference depth takes the published rate on average.
        let reference_d = (RATE_DEPTH_M / 2.0 + suction_m) / rate;
        let clean_d = reference_d * random.log_normal(0.05, 0.5);
        let yearly_m = rate * 365.25;
        match law {
            Law::WithLoad => Self::WithLoad {
                clean_d,
                growth_d: reference_d,
                scale_m: yearly_m * random.log_normal(GROWTH_YEARS, 0.4),
                power: random.log_normal(1.5, 0.25),
                onset_m: 0.0,
            },
            Law::ToLongTermRate => Self::ToLongTermRate {
                clean_d,
                for_good_d: reference_d * random.log_normal(1.7, 0.4),
                scale_m: yearly_m * random.log_normal(DECLINE_YEARS, 0.4),
            },
            // Clean gravelly sand passes the load through the floor until a mat has formed; then it closes
            // faster than a wall that has been wet all along.
            Law::AfterDryYears => Self::WithLoad {
                clean_d: suction_m / rate * random.log_normal(0.02, 0.4),
                growth_d: reference_d,
                scale_m: yearly_m * random.log_normal(0.4 * GROWTH_YEARS, 0.5),
                power: random.log_normal(1.4, 0.2),
                onset_m: yearly_m * random.between(15.0, 180.0),
            },
        }
    }

    /// Resistance after `load_m` cubic metres per square metre, days.
    pub(super) fn resistance_d(&self, load_m: f64) -> f64 {
        match *self {
            Self::WithLoad { clean_d, growth_d, scale_m, power, onset_m } => {
                clean_d + growth_d * ((load_m - onset_m).max(0.0) / scale_m).powf(power)
            }
            Self::ToLongTermRate { clean_d, for_good_d, scale_m } => {
                let excess = 1.0 / clean_d - 1.0 / for_good_d;
                1.0 / (1.0 / for_good_d + excess * (-load_m / scale_m).exp())
            }
        }
    }
}
