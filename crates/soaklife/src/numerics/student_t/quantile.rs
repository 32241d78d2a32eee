//! The inverse of the tail area.

use std::f64::consts::{FRAC_PI_2, PI};

use super::StudentT;
use super::areas::areas;
use crate::numerics::{normal, root};

/// Steps of the open search before the bracketed one takes over.
const OPEN_STEPS: u32 = 12;
const BRACKETED_CAP: u32 = 400;
/// Natural logarithms of the smallest and the largest positive `f64`.
const SMALLEST_LOG: f64 = -744.0;
const LARGEST_LOG: f64 = 709.7;

/// The t ≥ 0 that T exceeds with probability `tail`, 0 < tail ≤ ½; `None` if it is too large to represent.
pub(super) fn exceeded_with(distribution: &StudentT, tail: f64) -> Option<f64> {
    if tail >= 0.5 {
        return Some(0.0);
    }
    let nu = distribution.degrees_of_freedom;
    let t = if nu == 1.0 {
        // One half minus the tail is exact where the angle is small.
        if tail > 0.25 { (PI * (0.5 - tail)).tan() } else { 1.0 / (PI * tail).tan() }
    } else if nu == 2.0 {
        (1.0 - 2.0 * tail) / (2.0 * tail * (1.0 - tail)).sqrt()
    } else {
        let target = Target::new(distribution, tail);
        if nu < 1.5 && target.log_excess(LARGEST_LOG) > 0.0 {
            return None;
        }
        target.open_search(start(distribution, tail), OPEN_STEPS).or_else(|| target.bracketed_search())?
    };
    t.is_finite().then_some(t)
}

/// The equation to solve: the smaller of the two areas, which keeps its digits, is the one compared.
struct Target<'a> {
    distribution: &'a StudentT,
    area: f64,
    is_beyond: bool,
}

impl Target<'_> {
    fn new(distribution: &StudentT, tail: f64) -> Target<'_> {
        let is_beyond = tail <= 0.25;
        Target { distribution, area: if is_beyond { tail } else { 0.5 - tail }, is_beyond }
    }

    fn area_at(&self, t: f64) -> f64 {
        let both = areas(self.distribution, t);
        if self.is_beyond { both.beyond } else { both.between }
    }

    /// Positive while t = exp(`log_t`) is too small.
    fn log_excess(&self, log_t: f64) -> f64 {
        let ratio = self.area_at(log_t.exp()).max(f64::from_bits(1)) / self.area;
        if self.is_beyond { ratio.ln() } else { -ratio.ln() }
    }

    /// Steps along the Taylor series of the inverse, kept in the bracket seen so far.
    ///
    /// With u the missing area over the density f and g = −f′/f, t moves by u + g u²/2 + (g′ + 2g²) u³/6, which leaves
    /// an error of fourth order; far from the answer by a Newton step in ln(area) against ln(t) instead.
    fn open_search(&self, start: f64, most_steps: u32) -> Option<f64> {
        let nu = self.distribution.degrees_of_freedom;
        let (mut t, mut below, mut above) = (start, 0.0, f64::INFINITY);
        for _ in 0..most_steps {
            let density = self.distribution.density(t);
            let area = self.area_at(t);
            let missing = if self.is_beyond { area - self.area } else { self.area - area };
            if missing == 0.0 {
                return Some(t);
            }
            if missing > 0.0 {
                below = t
            } else {
                above = t
            }
            let u = missing / density;
            let scale = nu + t * t;
            let g = (nu + 1.0) * t / scale;
            let size = u.abs() * g.max(1.0 / t);
            let next = if size < 0.2 {
                let g_slope = (nu + 1.0) * (nu - t * t) / (scale * scale);
                t + u * (1.0 + u * (0.5 * g + u * (g_slope + 2.0 * g * g) / 6.0))
            } else {
                let steepness = t * density / area;
                let log_step = if self.is_beyond { (area / self.area).ln() } else { (self.area / area).ln() };
                t * (log_step / steepness).clamp(-20.0, 20.0).exp()
            };
            if !(next > below && next < above) {
                // Once the step is below the spacing of floats, t is the answer.
                return (size < 1e-13).then_some(t);
            }
            t = next;
            if size < 5e-5 {
                return Some(t);
            }
        }
        None
    }

    /// Certain, if slower: the logarithm of t runs over every positive float.
    fn bracketed_search(&self) -> Option<f64> {
        let found =
            root::bracketed_root(|w| self.log_excess(w), SMALLEST_LOG, LARGEST_LOG, 0.0, BRACKETED_CAP);
        // Without a change of sign the answer is below the smallest positive float.
        Some(found.map_or(0.0, |root| root.at.exp()))
    }
}

fn start(distribution: &StudentT, tail: f64) -> f64 {
    let nu = distribution.degrees_of_freedom;
    if nu >= 1.0 {
        let t = hill(nu, tail);
        if t > 0.0 && t.is_finite() {
            return t;
        }
    }
    let central = (0.5 - tail) / distribution.density_at_zero();
    let power_law = nu.sqrt() * ((distribution.tail_constant / tail).ln() / nu).min(LARGEST_LOG).exp();
    if central * central < nu { central } else { power_law.clamp(f64::MIN_POSITIVE, 1e300) }
}

/// Hill (1970), algorithm 396, *Communications of the ACM* 13, 619–620: good to five digits or better from ν = 3, to
/// one from ν = 1.3.
fn hill(nu: f64, tail: f64) -> f64 {
    let a = 1.0 / (nu - 0.5);
    let b = 48.0 / (a * a);
    let mut c = ((20_700.0 * a / b - 98.0) * a - 16.0) * a + 96.36;
    let d = ((94.5 / (b + c) - 3.0) / b + 1.0) * (a * FRAC_PI_2).sqrt() * nu;
    let mut y = (2.0 * tail * d).powf(2.0 / nu);
    if y > 0.05 + a {
        let x = normal::quantile(tail).unwrap_or(0.0);
        y = x * x;
        if nu < 5.0 {
            c += 0.3 * (nu - 4.5) * (x + 0.6);
        }
        c += (((0.05 * d * x - 5.0) * x - 7.0) * x - 2.0) * x + b;
        y = (((((0.4 * y + 6.3) * y + 36.0) * y + 94.5) / c - y - 3.0) / b + 1.0) * x;
        (nu * (a * y * y).exp_m1()).sqrt()
    } else {
        y = ((1.0 / (((nu + 6.0) / (nu * y) - 0.089 * d - 0.822) * (nu + 2.0) * 3.0) + 0.5 / (nu + 4.0)) * y
            - 1.0)
            * (nu + 1.0)
            / (nu + 2.0)
            + 1.0 / y;
        (nu * y).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TAILS: [f64; 12] = [0.49, 0.4, 0.3, 0.25, 0.2, 0.1, 0.05, 0.025, 5e-3, 1e-4, 1e-8, 1e-14];

    fn for_each_tail(degrees: &[f64], mut check: impl FnMut(&StudentT, f64, f64)) {
        for &nu in degrees {
            let distribution = StudentT::new(nu).unwrap();
            for tail in TAILS {
                let answer = Target::new(&distribution, tail).bracketed_search().unwrap();
                check(&distribution, tail, answer);
            }
        }
    }

    fn steps_from(distribution: &StudentT, tail: f64, start: f64) -> Option<u32> {
        let target = Target::new(distribution, tail);
        (1..=OPEN_STEPS).find(|&most| target.open_search(start, most).is_some())
    }

    /// Two ways to the same answer: by the bracket alone, and by the series.
    #[test]
    fn both_searches_find_the_same() {
        for_each_tail(&[0.05, 0.3, 0.8, 1.3, 3.0, 5.0, 30.0, 1e4], |distribution, tail, answer| {
            let found = exceeded_with(distribution, tail).unwrap();
            assert!((found / answer - 1.0).abs() < 1e-12, "{distribution:?}, {tail}: {found}, {answer}");
            // The logarithm of an answer of many digits has fewer of its own.
            assert!(Target::new(distribution, tail).log_excess(answer.ln()).abs() < 1e-12);
        });
    }

    #[test]
    fn hills_start_has_five_digits_and_more_with_the_degrees_of_freedom() {
        for (nu, error) in
            [(3.0, 1e-5), (4.0, 1e-6), (5.0, 5e-6), (12.0, 1e-7), (30.0, 1e-6), (100.0, 1e-8), (1e4, 1e-14)]
        {
            for_each_tail(&[nu], |_, tail, answer| {
                assert!(
                    (hill(nu, tail) / answer - 1.0).abs() < error,
                    "{nu}, {tail}: {}, {answer}",
                    hill(nu, tail)
                );
            });
        }
    }

    #[test]
    fn from_its_start_a_quantile_takes_one_step_or_few() {
        for_each_tail(&[2.5, 3.0, 5.0, 12.0, 30.0, 1e4], |distribution, tail, _| {
            assert_eq!(
                steps_from(distribution, tail, start(distribution, tail)),
                Some(1),
                "{distribution:?}, {tail}"
            );
        });
        for_each_tail(&[0.1, 0.3, 0.7, 0.95, 1.3], |distribution, tail, _| {
            let steps = steps_from(distribution, tail, start(distribution, tail));
            assert!(steps.is_some_and(|steps| steps <= 3), "{distribution:?}, {tail}: {steps:?}");
        });
    }

    /// The series errs by the fourth power of the distance: from 5 % off one step leaves some 1e-5, which a second mends.
    #[test]
    fn near_the_answer_two_steps_are_enough_and_far_from_it_few() {
        for_each_tail(&[0.3, 0.8, 3.0, 12.0, 100.0], |distribution, tail, answer| {
            let steps = |times: f64| steps_from(distribution, tail, answer * times);
            assert_eq!(steps(1.001), Some(2), "{distribution:?}, {tail}");
            if (0.1..0.45).contains(&tail) {
                assert_eq!((steps(0.95), steps(1.05)), (Some(2), Some(2)), "{distribution:?}, {tail}");
            }
            for (times, most) in [(0.3, 8), (0.8, 4), (1.2, 4), (3.0, 6)] {
                let steps = steps(times);
                assert!(steps.is_some_and(|n| n <= most), "{distribution:?}, {tail}, {times}: {steps:?}");
            }
        });
    }
}
