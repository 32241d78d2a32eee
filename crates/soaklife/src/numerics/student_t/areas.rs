//! The two areas under the density on one side of zero: up to t, and beyond it.

use std::f64::consts::{FRAC_1_PI, PI, SQRT_2};

use super::StudentT;
use crate::numerics::normal;

/// The area between 0 and t, and the area beyond t; they add up to one half.
/// The smaller is computed directly, so both keep their digits.
#[derive(Debug, Clone, Copy)]
pub(super) struct Areas {
    pub(super) between: f64,
    pub(super) beyond: f64,
}

/// Whole degrees of freedom up to here are summed in closed form.
const CLOSED_FORM_UP_TO: f64 = 64.0;
/// From here the expansion about the normal distribution has converged wherever ln(1 + t²/ν) is small; from the second
/// figure on, wherever the area beyond t is not zero.
const NEARLY_NORMAL_FROM: f64 = 100.0;
const NEARLY_NORMAL_EVERYWHERE_FROM: f64 = 1e4;
const SMALL_GROWTH: f64 = 0.15;
/// Less than this beyond t, and one half minus the closed sum would lose digits.
const SMALL: f64 = 0.01;
/// Below this square of the cosine the power series has converged after some forty terms.
const FAR_OUT: f64 = 0.4;
/// The fraction needs fewer than 100 steps where it is used; the cap is never met.
const FRACTION_CAP: u32 = 1_000;

/// Both areas for t ≥ 0.
pub(super) fn areas(distribution: &StudentT, t: f64) -> Areas {
    let nu = distribution.degrees_of_freedom;
    if nu >= NEARLY_NORMAL_EVERYWHERE_FROM
        || (nu >= NEARLY_NORMAL_FROM && distribution.log_growth(t) < SMALL_GROWTH)
    {
        return nearly_normal(distribution, t);
    }
    if nu <= CLOSED_FORM_UP_TO && nu.fract() == 0.0 {
        let cosine_square = nu / (nu + t * t);
        if cosine_square < FAR_OUT {
            let beyond = power_series(distribution, cosine_square);
            if beyond > f64::MIN_POSITIVE {
                return Areas { between: 0.5 - beyond, beyond };
            }
        } else {
            let between = closed_form(nu, t);
            // False also for a NaN, which the general way hands on.
            if 0.5 - between >= SMALL {
                return Areas { between, beyond: 0.5 - between };
            }
        }
    }
    by_continued_fraction(distribution, t)
}

/// Finite sums in the angle θ = atan(t/√ν), Abramowitz and Stegun (1964), 26.7.3 and 26.7.4.
fn closed_form(nu: f64, t: f64) -> f64 {
    let tangent = t / nu.sqrt();
    let cosine_square = 1.0 / (1.0 + tangent * tangent);
    let cosine = cosine_square.sqrt();
    let (mut term, mut sum) = (1.0, 1.0);
    if nu % 2.0 == 0.0 {
        let mut k = 2.0;
        while k < nu {
            term *= cosine_square * ((k - 1.0) / k);
            sum += term;
            k += 2.0;
        }
        return 0.5 * tangent * cosine * sum;
    }
    if nu == 1.0 {
        return tangent.atan() * FRAC_1_PI;
    }
    let mut k = 3.0;
    while k < nu {
        term *= cosine_square * ((k - 1.0) / k);
        sum += term;
        k += 2.0;
    }
    (tangent.atan() + tangent * cosine_square * sum) * FRAC_1_PI
}

/// The area beyond at a whole number of degrees of freedom: c √(1 − x) xᵃ Σ xⁿ ∏ (a + k − ½)/(a + k), k = 1 … n, with a = ν/2 and x
/// the square of the cosine. Every term is positive, so that no digit is lost.
///
/// # Source
/// NIST Digital Library of Mathematical Functions, 8.17.8.
fn power_series(distribution: &StudentT, x: f64) -> f64 {
    let nu = distribution.degrees_of_freedom;
    let (mut above, mut below) = (0.5 * nu + 0.5, 0.5 * nu + 1.0);
    let (mut term, mut sum) = (1.0, 1.0);
    while term > f64::EPSILON * 0.25 {
        term *= x * above / below;
        sum += term;
        above += 1.0;
        below += 1.0;
    }
    distribution.tail_constant * (1.0 - x).sqrt() * x.sqrt().powi(nu as i32) * sum
}

/// The regularised incomplete beta function by whichever of its two fractions converges fast.
fn by_continued_fraction(distribution: &StudentT, t: f64) -> Areas {
    let nu = distribution.degrees_of_freedom;
    let square = t * t / nu;
    let (x, root_of_complement) = if square > 1.0 {
        let inverse = if square.is_finite() { 1.0 / square } else { (nu.sqrt() / t).powi(2) };
        (inverse / (1.0 + inverse), 1.0 / (1.0 + inverse).sqrt())
    } else {
        let growth = 1.0 + square;
        (1.0 / growth, t / nu.sqrt() / growth.sqrt())
    };
    let a = 0.5 * nu;
    // t times the density, over ν: the front factor both fractions share.
    let front = distribution.tail_constant * root_of_complement * (-a * distribution.log_growth(t)).exp();
    if x < (a + 1.0) / (a + 2.5) {
        let beyond = front * beta_fraction(a, 0.5, x);
        Areas { between: 0.5 - beyond, beyond }
    } else {
        let between = front * nu * beta_fraction(0.5, a, root_of_complement * root_of_complement);
        Areas { between, beyond: 0.5 - between }
    }
}

/// a B(a, b) I_x(a, b) / (x^a (1 − x)^b) by the modified Lentz method.
///
/// # Source
/// NIST Digital Library of Mathematical Functions, 8.17.22.
fn beta_fraction(a: f64, b: f64, x: f64) -> f64 {
    // Standing in for a zero that would stop the recurrence.
    const TINY: f64 = 1e-300;
    let off_zero = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / off_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut fraction = d;
    for step in 1..=FRACTION_CAP {
        let m = f64::from(step);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / off_zero(1.0 + even * d);
        c = off_zero(1.0 + even / c);
        fraction *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / off_zero(1.0 + odd * d);
        c = off_zero(1.0 + odd / c);
        let change = d * c;
        fraction *= change;
        // False also for a NaN, which would never converge.
        if change.is_nan() || (change - 1.0).abs() <= f64::EPSILON {
            break;
        }
    }
    fraction
}

/// Expansion about the normal distribution for many degrees of freedom.
///
/// With z = √(ν ln(1 + t²/ν)) the density in z is G φ(z) √(w/(1 − e^−w)), w = z²/ν and G = c√(2π). The root is
/// expanded in w = ln(1 + t²/ν), radius of convergence 2π, and integrated term by term. From 1e4 degrees of freedom
/// w < 0.15 wherever the area beyond is not zero.
fn nearly_normal(distribution: &StudentT, t: f64) -> Areas {
    const EXPANSION: [f64; 10] = [
        1.0 / 4.0,
        1.0 / 96.0,
        -1.0 / 384.0,
        -1.0 / 10_240.0,
        19.0 / 368_640.0,
        79.0 / 61_931_520.0,
        -55.0 / 49_545_216.0,
        -2_339.0 / 118_908_518_400.0,
        11_813.0 / 475_634_073_600.0,
        677.0 / 1_993_133_260_800.0,
    ];
    let nu = distribution.degrees_of_freedom;
    // Below 1e-8 standard deviations z and t agree to the last digit, and t² may underflow.
    let z = if t < 1e-8 { t } else { (nu * distribution.log_growth(t)).sqrt() };
    if z > 40.0 {
        return Areas { between: 0.5, beyond: 0.0 };
    }
    let scale = distribution.density_at_zero() * (2.0 * PI).sqrt();
    let mut between = 0.5 * libm::erf(z / SQRT_2);
    let mut beyond = normal::upper_tail(z);
    let mut moment = Areas { between, beyond };
    let mut boundary = z * normal::density(z);
    let (mut odd, mut power) = (1.0, 1.0);
    for coefficient in EXPANSION {
        moment.between = odd * moment.between - boundary;
        moment.beyond = odd * moment.beyond + boundary;
        power /= nu;
        between += coefficient * power * moment.between;
        beyond += coefficient * power * moment.beyond;
        boundary *= z * z;
        odd += 2.0;
    }
    let beyond = scale * beyond;
    // Beside a small tail the other area is what the tail leaves: so the cdf cannot fall by a rounding.
    let between = if beyond < SMALL { 0.5 - beyond } else { scale * between };
    Areas { between, beyond }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn power_series_and_fraction_agree() {
        for nu in 1..=64 {
            let distribution = StudentT::new(f64::from(nu)).unwrap();
            for step in 1..40 {
                let x = FAR_OUT * (f64::from(step) / 40.0).powi(2);
                let t = (f64::from(nu) * (1.0 / x - 1.0)).sqrt();
                let (series, general) =
                    (power_series(&distribution, x), by_continued_fraction(&distribution, t).beyond);
                assert!((series / general - 1.0).abs() <= 1e-13, "nu = {nu}, t = {t}: {series} {general}");
            }
        }
    }

    /// The two ways to the same area must agree where both apply.
    #[test]
    fn closed_form_and_fraction_agree() {
        for nu in 1..=64 {
            let distribution = StudentT::new(f64::from(nu)).unwrap();
            for step in 0..40 {
                let t = 0.05 * f64::from(step);
                let (closed, general) =
                    (closed_form(f64::from(nu), t), by_continued_fraction(&distribution, t).between);
                assert!(
                    (closed - general).abs() <= 3e-14 * closed.abs(),
                    "nu = {nu}, t = {t}: {closed} {general}"
                );
            }
        }
    }

    #[test]
    fn fraction_and_expansion_agree() {
        for nu in [NEARLY_NORMAL_FROM, 150.5, 400.0] {
            let distribution = StudentT::new(nu).unwrap();
            for step in 1..40 {
                // Up to the t at which the growth stops being small.
                let t = f64::from(step) / 40.0 * (nu * SMALL_GROWTH.exp_m1()).sqrt();
                let (a, b) = (by_continued_fraction(&distribution, t), nearly_normal(&distribution, t));
                assert!((a.beyond / b.beyond - 1.0).abs() < 2e-13, "nu = {nu}, t = {t}: {a:?} {b:?}");
                assert!((a.between / b.between - 1.0).abs() < 2e-13, "nu = {nu}, t = {t}: {a:?} {b:?}");
            }
        }
    }

    #[test]
    fn areas_add_up_to_one_half() {
        for nu in [1e-3, 0.5, 3.0, 63.0, 100.5, 5e3, 1e6, 1e308] {
            let distribution = StudentT::new(nu).unwrap();
            for t in [0.0, 1e-300, 1e-9, 0.3, 1.7, 5.0, 1e3, 1e200, f64::INFINITY] {
                let both = areas(&distribution, t);
                assert!((both.between + both.beyond - 0.5).abs() < 1e-14, "nu = {nu}, t = {t}: {both:?}");
            }
        }
    }
}
