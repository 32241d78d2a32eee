//! Exponential and normal distribution without a branch, so that loops over many arguments vectorise.
//!
//! For sums over hundreds of hypotheses, where eight digits suffice and the exact functions of [`super::normal`] would
//! take most of the time. Plain multiplications and additions: the same bits on every machine.

use std::f64::consts::LOG2_E;

/// Adding it leaves the nearest integer in the low bits of the sum: 1.5 · 2^52.
const ROUNDING: f64 = 6_755_399_441_055_744.0;
/// ln 2 to the bits that an integer up to 2^11 leaves exact, and the rest.
const LN_2_HIGH: f64 = 0.693_147_180_369_123_8;
const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;
/// Below it the exponential is as good as nothing (1e-304).
const LEAST_EXPONENT: f64 = -700.0;
/// (e^r − 1 − r)/r² in powers of r, |r| ≤ ln 2 / 2, met at the eight Chebyshev nodes: e^r to 2e-13.
const EXPONENTIAL: [f64; 8] = [
    0.499_999_999_999_550_7,
    0.166_666_666_666_625_83,
    0.041_666_666_786_337_556,
    0.008_333_333_344_209_498,
    0.001_388_883_909_064_149,
    0.000_198_412_245_815_446_23,
    2.486_788_345_355_731e-5,
    2.761_757_685_405_160_5e-6,
];
/// 1/√(2π).
const DENSITY_AT_ZERO: f64 = 0.398_942_280_401_432_7;
/// Scale of the variable t = (x − k)/(x + k) in which the tail is a polynomial.
const TAIL_SCALE: f64 = 3.5;
/// (x + k) R(x) in powers of t, R the Mills ratio: a Chebyshev fit at 400 nodes, relative error below 1.3e-8.
const TAIL: [f64; 11] = [
    1.865_974_373_421_315_2,
    -1.417_653_459_205_157_5,
    0.790_653_830_532_575_9,
    -0.290_891_978_448_701_1,
    0.043_626_856_921_951_49,
    0.016_206_506_370_864_55,
    -0.007_958_345_270_948_26,
    -0.001_047_940_016_775_647,
    0.001_123_142_565_870_884,
    8.714_813_718_230_681e-5,
    -0.000_120_126_576_546_293_35,
];

/// e^x for x ≤ 0, relative error below 1e-11; arguments below −700 count as −700.
///
/// e^x = 2^n e^r with |r| ≤ ln 2 / 2, the second factor by a polynomial of degree 9.
///
/// ```
/// use soaklife::numerics::branch_free::exponential;
/// assert!((exponential(-1.0) - (-1.0_f64).exp()).abs() < 1e-12);
/// assert!(exponential(-1e300) < 1e-300);
/// ```
#[inline]
#[must_use]
pub fn exponential(x: f64) -> f64 {
    let x = if x < LEAST_EXPONENT { LEAST_EXPONENT } else { x };
    let shifted = x * LOG2_E + ROUNDING;
    let n = shifted - ROUNDING;
    let r = (x - n * LN_2_HIGH) - n * LN_2_LOW;
    // In pairs, because a processor can work on several short chains of additions at once, not on a long one.
    let [c0, c1, c2, c3, c4, c5, c6, c7] = EXPONENTIAL;
    let square = r * r;
    let rest = (c0 + c1 * r) + square * ((c2 + c3 * r) + square * ((c4 + c5 * r) + square * (c6 + c7 * r)));
    let series = 1.0 + (r + square * rest);
    f64::from_bits(series.to_bits().wrapping_add(shifted.to_bits() << 52))
}

/// Mills ratio (1 − Φ(x))/φ(x) for x ≥ 0, relative error below 2e-8.
///
/// ```
/// use soaklife::numerics::branch_free::mills_ratio;
/// assert!((mills_ratio(0.0) - 1.253_314_137_3).abs() < 2e-8); // √(π/2)
/// ```
#[inline]
#[must_use]
pub fn mills_ratio(x: f64) -> f64 {
    let scale = 1.0 / (x + TAIL_SCALE);
    let t = (x - TAIL_SCALE) * scale;
    let [c0, c1, c2, c3, c4, c5, c6, c7, c8, c9, c10] = TAIL;
    let square = t * t;
    let even = c0 + square * (c2 + square * (c4 + square * (c6 + square * (c8 + square * c10))));
    let odd = c1 + square * (c3 + square * (c5 + square * (c7 + square * c9)));
    (even + t * odd) * scale
}

/// The normal distribution at a place, all parts at once.
///
/// ```
/// use soaklife::numerics::branch_free::Normal;
/// let half = Normal::at(0.0);
/// assert!((half.below - 0.5).abs() < 1e-8 && (half.density - 0.398_942_28).abs() < 1e-8);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Normal {
    /// φ(z).
    pub density: f64,
    /// Φ(z).
    pub below: f64,
    /// φ(z)/Φ(z), the mean of −z beyond z.
    pub inverse_mills: f64,
}

impl Normal {
    /// At a finite z; absolute error of Φ below 1e-8, relative error of the tail below 2e-8.
    ///
    /// ```
    /// use soaklife::numerics::branch_free::Normal;
    /// use soaklife::numerics::normal;
    /// assert!((Normal::at(-6.0).below / normal::cdf(-6.0) - 1.0).abs() < 2e-8);
    /// ```
    #[inline]
    #[must_use]
    pub fn at(z: f64) -> Self {
        let size = z.abs();
        let density = DENSITY_AT_ZERO * exponential(-0.5 * size * size);
        let tail = density * mills_ratio(size);
        let below = if z > 0.0 { 1.0 - tail } else { tail };
        let inverse_mills = if z > 0.0 { density / below } else { 1.0 / mills_ratio(size) };
        Self { density, below, inverse_mills }
    }
}

/// Φ(z), absolute error below 1e-8, for finite z; at infinity there is no number without a branch.
///
/// ```
/// use soaklife::numerics::branch_free::cdf;
/// assert!((cdf(1.96) - 0.975_002_1).abs() < 1e-7);
/// ```
#[inline]
#[must_use]
pub fn cdf(z: f64) -> f64 {
    let size = z.abs();
    let tail = DENSITY_AT_ZERO * exponential(-0.5 * size * size) * mills_ratio(size);
    if z > 0.0 { 1.0 - tail } else { tail }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numerics::normal;
    use std::f64::consts::LN_2;

    fn grid() -> impl Iterator<Item = f64> {
        (0..=7_600).map(|step| f64::from(step - 3_800) / 100.0)
    }

    #[test]
    fn the_exponential_agrees_with_the_exact_one() {
        for x in grid().map(|x| -x.abs() * 18.0) {
            let exact = x.exp();
            assert!((exponential(x) / exact - 1.0).abs() < 1e-11, "e^{x}");
        }
        assert_eq!(exponential(0.0), 1.0);
        assert_eq!(exponential(f64::NEG_INFINITY), exponential(LEAST_EXPONENT));
        assert!(exponential(f64::NAN).is_nan() && cdf(f64::NAN).is_nan() && mills_ratio(f64::NAN).is_nan());
        assert!((LN_2_HIGH + LN_2_LOW - LN_2).abs() < 1e-16);
    }

    #[test]
    fn tails_agree_with_the_exact_ones() {
        for z in grid().filter(|z| z.abs() < 36.0) {
            let [exact, quick] = [normal::cdf(z), cdf(z)];
            assert!((quick - exact).abs() < 1e-8 && (quick / exact - 1.0).abs() < 2.1e-8, "Φ({z})");
            let at = Normal::at(z);
            assert!((at.below - quick).abs() < 1e-15);
            assert!((at.inverse_mills / normal::inverse_mills_ratio(z) - 1.0).abs() < 1e-7, "φ/Φ({z})");
            assert!((at.density / normal::density(z) - 1.0).abs() < 1e-11);
        }
    }
}
