//! The criterion for one Λ, from six sums a group, in units in which x and y have mean 0 and spread 1.

use super::{Covariance, Criterion, GroupSums, MixedError, Pair};

/// Numbers of a line.
const FIXED: f64 = 2.0;
/// Numbers told in all: two of the line, three of D, σ².
const NUMBERS: f64 = 6.0;
/// A residual this small against the readings' own spread is none.
const LEAST_RESIDUAL: f64 = 1e-24;

/// ZᵀZ, Zᵀy and yᵀy of a group.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ScaledSums {
    pub(super) readings: f64,
    design: Covariance,
    product: Pair,
    square: f64,
}

/// The fleet with x and y brought to mean 0 and spread 1.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Scaled {
    pub(super) groups: Vec<ScaledSums>,
    readings: f64,
    mean_x: f64,
    mean_y: f64,
    scale_x: f64,
    pub(super) scale_y: f64,
}

impl Scaled {
    pub(super) fn of(groups: &[GroupSums]) -> Result<Self, MixedError> {
        let readings: f64 = groups.iter().map(|group| group.readings).sum();
        if groups.len() < 2 {
            return Err(MixedError::TooFewGroups { found: groups.len() });
        }
        if readings <= NUMBERS {
            return Err(MixedError::TooFewReadings { found: readings as usize });
        }
        let mean = |of: fn(&GroupSums) -> f64| {
            groups.iter().map(|group| group.readings * (of(group) / readings)).sum::<f64>()
        };
        let (mean_x, mean_y) = (mean(|group| group.mean_x), mean(|group| group.mean_y));
        let about = |centre: f64, of: fn(&GroupSums) -> (f64, f64)| {
            let square = |group: &GroupSums| {
                let (inside, own) = of(group);
                inside + group.readings * (own - centre) * (own - centre)
            };
            (groups.iter().map(square).sum::<f64>() / readings).sqrt()
        };
        let scale_x = about(mean_x, |group| (group.xx, group.mean_x));
        let scale_y = about(mean_y, |group| (group.yy, group.mean_y));
        if scale_x <= f64::EPSILON * mean_x.abs() || scale_x == 0.0 {
            return Err(MixedError::OneX);
        }
        if scale_y <= f64::EPSILON * mean_y.abs() || scale_y == 0.0 {
            return Err(MixedError::NoResidual);
        }
        let scaled = |group: &GroupSums| {
            let (x, y) = ((group.mean_x - mean_x) / scale_x, (group.mean_y - mean_y) / scale_y);
            let readings = group.readings;
            let both = readings * x;
            let cross = group.xy / (scale_x * scale_y) + readings * x * y;
            ScaledSums {
                readings,
                design: [[readings, both], [both, group.xx / (scale_x * scale_x) + readings * x * x]],
                product: [readings * y, cross],
                square: group.yy / (scale_y * scale_y) + readings * y * y,
            }
        };
        Ok(Self { groups: groups.iter().map(scaled).collect(), readings, mean_x, mean_y, scale_x, scale_y })
    }

    /// A line in the units that were given.
    pub(super) fn line_in_units(&self, line: Pair) -> Pair {
        let [intercept, slope] = self.departure_in_units(line);
        [intercept + self.mean_y, slope]
    }

    /// A difference of two lines in the units that were given.
    pub(super) fn departure_in_units(&self, [at_mean, slope]: Pair) -> Pair {
        let slope = slope * self.scale_y / self.scale_x;
        [at_mean * self.scale_y - slope * self.mean_x, slope]
    }

    /// A covariance of lines, times `unit`, in the units of x that were given.
    pub(super) fn covariance_in_units(&self, matrix: Covariance, unit: f64) -> Covariance {
        let [[mean, both], [_, slope]] = matrix;
        let (slope, both) = (slope / (self.scale_x * self.scale_x), both / self.scale_x);
        let off = both - self.mean_x * slope;
        let intercept = mean - self.mean_x * (both + off);
        [[unit * intercept, unit * off], [unit * off, unit * slope]]
    }

    /// −2 ln-likelihood of the numbers that were given.
    pub(super) fn deviance_in_units(&self, deviance: f64, criterion: Criterion) -> f64 {
        match criterion {
            Criterion::Likelihood => deviance + 2.0 * self.readings * self.scale_y.ln(),
            Criterion::RestrictedLikelihood => {
                deviance + 2.0 * (self.readings - FIXED) * self.scale_y.ln() + 2.0 * self.scale_x.ln()
            }
        }
    }
}

/// The best β and σ² for one Λ.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Profile {
    pub(super) deviance: f64,
    pub(super) fixed: Pair,
    /// In units of σ².
    pub(super) fixed_covariance: Covariance,
    pub(super) residual_variance: f64,
}

/// Λ Λᵀ.
pub(super) fn scatter([intercept, both, slope]: [f64; 3]) -> Covariance {
    [[intercept * intercept, intercept * both], [intercept * both, both * both + slope * slope]]
}

/// Nothing if the lines leave no residual, or the numbers run out.
pub(super) fn profile(scaled: &Scaled, factor: [f64; 3], criterion: Criterion) -> Option<Profile> {
    let mut precision = [[0.0; 2]; 2];
    let mut product = [0.0; 2];
    let (mut square, mut log_determinants) = (0.0, 0.0);
    for group in &scaled.groups {
        let (kernel, log_determinant) = kernel(group, factor);
        log_determinants += log_determinant;
        let through = times(kernel, group.design);
        let design_through = times(group.design, through);
        let response = apply(kernel, group.product);
        let design_response = apply(group.design, response);
        for row in 0..2 {
            for column in 0..2 {
                precision[row][column] += group.design[row][column] - design_through[row][column];
            }
            product[row] += group.product[row] - design_response[row];
        }
        square += group.square - dot(group.product, response);
    }
    let determinant = determinant(precision);
    let fixed_covariance = inverse(precision, determinant);
    let fixed = apply(fixed_covariance, product);
    let residual = square - dot(fixed, product);
    let freedom = match criterion {
        Criterion::RestrictedLikelihood => scaled.readings - FIXED,
        Criterion::Likelihood => scaled.readings,
    };
    let residual_variance = residual / freedom;
    let restriction = match criterion {
        Criterion::RestrictedLikelihood => determinant.ln(),
        Criterion::Likelihood => 0.0,
    };
    let deviance =
        log_determinants + restriction + freedom * (1.0 + (std::f64::consts::TAU * residual_variance).ln());
    (residual_variance > LEAST_RESIDUAL && deviance.is_finite()).then_some(Profile {
        deviance,
        fixed,
        fixed_covariance,
        residual_variance,
    })
}

/// A group's line, in units of σ² where it is a covariance.
pub(super) struct Told {
    pub(super) departure: Pair,
    pub(super) departure_covariance: Covariance,
    pub(super) line_error_covariance: Covariance,
}

impl Profile {
    /// The best linear unbiased prediction, K (Zᵀy − Aβ̂) with K = ΛM⁻¹Λᵀ, and its errors: K, and K + (I − KA) P⁻¹ (I − KA)ᵀ.
    pub(super) fn line_of(&self, group: &ScaledSums, factor: [f64; 3]) -> Told {
        let (kernel, _) = kernel(group, factor);
        let expected = apply(group.design, self.fixed);
        let departure = apply(kernel, std::array::from_fn(|at| group.product[at] - expected[at]));
        let taken = times(kernel, group.design);
        let left = [[1.0 - taken[0][0], -taken[0][1]], [-taken[1][0], 1.0 - taken[1][1]]];
        let by_fleet = times(times(left, self.fixed_covariance), transposed(left));
        let line_error = [0, 1].map(|row| [0, 1].map(|column| kernel[row][column] + by_fleet[row][column]));
        Told { departure, departure_covariance: kernel, line_error_covariance: line_error }
    }
}

/// ΛM⁻¹Λᵀ and ln det M of a group, M = ΛᵀAΛ + I.
fn kernel(group: &ScaledSums, [intercept, both, slope]: [f64; 3]) -> (Covariance, f64) {
    let factor = [[intercept, 0.0], [both, slope]];
    let inner = times(times(transposed(factor), group.design), factor);
    let inner = [[inner[0][0] + 1.0, inner[0][1]], [inner[1][0], inner[1][1] + 1.0]];
    let determinant = determinant(inner);
    (times(times(factor, inverse(inner, determinant)), transposed(factor)), determinant.ln())
}

fn times(left: Covariance, right: Covariance) -> Covariance {
    [0, 1].map(|row| [0, 1].map(|column| left[row][0] * right[0][column] + left[row][1] * right[1][column]))
}

fn apply(matrix: Covariance, pair: Pair) -> Pair {
    matrix.map(|row| dot(row, pair))
}

fn dot(left: Pair, right: Pair) -> f64 {
    left[0] * right[0] + left[1] * right[1]
}

fn transposed([[a, b], [c, d]]: Covariance) -> Covariance {
    [[a, c], [b, d]]
}

fn determinant([[a, b], [c, d]]: Covariance) -> f64 {
    a * d - b * c
}

fn inverse([[a, b], [c, d]]: Covariance, determinant: f64) -> Covariance {
    [[d / determinant, -b / determinant], [-c / determinant, a / determinant]]
}
