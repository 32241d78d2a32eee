//! The standard normal distribution, with full relative accuracy in both tails.

use std::f64::consts::{FRAC_1_SQRT_2, LN_2, PI};

use thiserror::Error;

/// 1/√(2π).
pub(super) const DENSITY_AT_ZERO: f64 = 0.398_942_280_401_432_7;
/// What `FRAC_1_SQRT_2` lacks of 1/√2.
const FRAC_1_SQRT_2_LOW: f64 = -4.833_646_656_726_457e-17;
/// Beyond this many standard deviations the continued fraction below has converged.
const FAR_TAIL: f64 = 10.0;
const CONTINUED_FRACTION_DEPTH: u32 = 40;

/// Why a quantile of the normal distribution does not exist.
///
/// ```
/// # use soaklife::numerics::normal::{self, NormalError};
/// assert_eq!(normal::quantile(1.5), Err(NormalError::ProbabilityOutOfRange { probability: 1.5 }));
/// ```
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum NormalError {
    /// A quantile is finite only for a probability strictly between 0 and 1.
    #[error("probability {probability} is not strictly between 0 and 1")]
    ProbabilityOutOfRange {
        /// The probability asked for.
        probability: f64,
    },
}

/// How dense are the values of a standard normal variable around `z`?
///
/// # Formula
/// φ(z) = exp(−z²/2) / √(2π); `z` in standard deviations from the mean. NaN for NaN.
///
/// # Example
/// ```
/// use soaklife::numerics::normal;
/// assert_eq!(normal::density(0.0), 1.0 / (2.0 * std::f64::consts::PI).sqrt());
/// ```
///
/// # Source
/// Abramowitz and Stegun (1964), 26.2.1.
pub fn density(z: f64) -> f64 {
    if z.abs() > 40.0 {
        return 0.0;
    }
    // A coarse z squares without rounding, so the exponent keeps its digits far out.
    let coarse = (z * 16.0).trunc() / 16.0;
    (-0.5 * coarse * coarse).exp() * (-0.5 * (z - coarse) * (z + coarse)).exp() * DENSITY_AT_ZERO
}

/// How likely is a standard normal variable to be at most `z`?
///
/// # Formula
/// Φ(z) = ½ erfc(−z/√2), relative error about 1e-15 down to the smallest normal number. NaN for NaN.
///
/// # Example
/// ```
/// use soaklife::numerics::normal;
/// assert_eq!(normal::cdf(0.0), 0.5);
/// assert!((normal::cdf(1.0) - normal::cdf(-1.0) - 0.682_689_492_137_086).abs() < 1e-15);
/// ```
///
/// # Source
/// Abramowitz and Stegun (1964), 26.2.2 and 7.1.22.
pub fn cdf(z: f64) -> f64 {
    if z.abs() > 40.0 {
        return if z < 0.0 { 0.0 } else { 1.0 };
    }
    // z/√2 in twice the precision: erfc magnifies a rounding of its argument by 2z²/2.
    let scaled = -z * FRAC_1_SQRT_2;
    let lost = (-z).mul_add(FRAC_1_SQRT_2, -scaled) - z * FRAC_1_SQRT_2_LOW;
    0.5 * libm::erfc(scaled) - lost * density(z) * std::f64::consts::SQRT_2
}

/// How likely is a standard normal variable to exceed `z`?
///
/// # Formula
/// 1 − Φ(z) = Φ(−z), computed directly. NaN for NaN.
///
/// # Example
/// ```
/// use soaklife::numerics::normal;
/// // 6.22096057427178e-16: the difference 1 − Φ(8) would keep one digit of it.
/// assert!((normal::upper_tail(8.0) / 6.220_960_574_271_786e-16 - 1.0).abs() < 1e-14);
/// ```
///
/// # Source
/// Abramowitz and Stegun (1964), 26.2.3.
pub fn upper_tail(z: f64) -> f64 {
    cdf(-z)
}

/// The natural logarithm of [`cdf`], also where the cdf itself is too small for an `f64`.
///
/// # Formula
/// ln Φ(z); for z < −10, −z²/2 − ½ ln 2π + ln(Mills ratio at −z). Negative infinity only once −z²/2 overflows.
///
/// # Example
/// ```
/// use soaklife::numerics::normal;
/// assert!((normal::log_cdf(0.0) + std::f64::consts::LN_2).abs() < 1e-15);
/// assert!((normal::log_cdf(-40.0) + 804.608_442_013_753_8).abs() < 1e-12);
/// ```
///
/// # Source
/// Abramowitz and Stegun (1964), 26.2.14.
pub fn log_cdf(z: f64) -> f64 {
    if z > 0.0 {
        (-upper_tail(z)).ln_1p()
    } else if z < -FAR_TAIL {
        -0.5 * z * z - 0.5 * (LN_2 + PI.ln()) - inverse_upper_mills_ratio(-z).ln()
    } else {
        cdf(z).ln()
    }
}

/// How far above its mean of zero does a normal variable lie, turned over, when it is known to lie below `z`?
/// The inverse Mills ratio of the lower tail: minus the mean of a standard normal variable cut off above `z`.
///
/// # Formula
/// φ(z) / Φ(z), which tends to −z for z → −∞ and to 0 for z → ∞. NaN for NaN.
///
/// # Example
/// ```
/// use soaklife::numerics::normal;
/// assert!((normal::inverse_mills_ratio(0.0) - (2.0 / std::f64::consts::PI).sqrt()).abs() < 1e-15);
/// ```
///
/// # Source
/// Johnson, Kotz and Balakrishnan (1994), *Continuous Univariate Distributions* vol. 1, section 13.10.1.
pub fn inverse_mills_ratio(z: f64) -> f64 {
    if z < -FAR_TAIL { inverse_upper_mills_ratio(-z) } else { density(z) / cdf(z) }
}

/// φ(z) / (1 − Φ(z)) for z > 10 by Laplace's continued fraction, Abramowitz and Stegun (1964), 26.2.14.
fn inverse_upper_mills_ratio(z: f64) -> f64 {
    let mut tail = z;
    for k in (1..=CONTINUED_FRACTION_DEPTH).rev() {
        tail = z + f64::from(k) / tail;
    }
    tail
}

/// Which value does a standard normal variable stay below with the given probability?
///
/// # Formula
/// z with Φ(z) = `probability`, relative error about 1e-16 for probabilities from 1e-316.
///
/// # Errors
/// [`NormalError::ProbabilityOutOfRange`] unless 0 < `probability` < 1.
///
/// # Example
/// ```
/// use soaklife::numerics::normal;
/// assert_eq!(normal::quantile(0.5)?, 0.0);
/// assert!((normal::quantile(0.975)? - 1.959_963_984_540_054).abs() < 1e-15);
/// assert!(normal::quantile(1.0).is_err());
/// # Ok::<(), normal::NormalError>(())
/// ```
///
/// # Source
/// Wichura (1988), algorithm AS 241 (PPND16), *Applied Statistics* 37, 477–484.
pub fn quantile(probability: f64) -> Result<f64, NormalError> {
    if !(probability > 0.0 && probability < 1.0) {
        return Err(NormalError::ProbabilityOutOfRange { probability });
    }
    let from_half = probability - 0.5;
    if from_half.abs() <= 0.425 {
        let r = 0.180_625 - from_half * from_half;
        return Ok(from_half * ratio(&CENTRE, r));
    }
    let tail = if from_half < 0.0 { probability } else { 1.0 - probability };
    let r = (-tail.ln()).sqrt();
    let size = if r <= 5.0 { ratio(&NEAR_TAIL, r - 1.6) } else { ratio(&TAIL, r - 5.0) };
    Ok(if from_half < 0.0 { -size } else { size })
}

/// Numerator and denominator coefficients of one of Wichura's rational approximations, highest power first.
type Rational = [[f64; 8]; 2];

fn ratio([numerator, denominator]: &Rational, r: f64) -> f64 {
    let value = |coefficients: &[f64; 8]| coefficients.iter().fold(0.0, |sum, c| sum * r + c);
    value(numerator) / value(denominator)
}

const CENTRE: Rational = [
    [
        2.509_080_928_730_122_7e3,
        3.343_057_558_358_813e4,
        6.726_577_092_700_87e4,
        4.592_195_393_154_987e4,
        1.373_169_376_550_946e4,
        1.971_590_950_306_551_3e3,
        1.331_416_678_917_843_8e2,
        3.387_132_872_796_366_5,
    ],
    [
        5.226_495_278_852_854e3,
        2.872_908_573_572_194_3e4,
        3.930_789_580_009_271e4,
        2.121_379_430_158_659_7e4,
        5.394_196_021_424_751e3,
        6.871_870_074_920_579e2,
        4.231_333_070_160_091e1,
        1.0,
    ],
];

const NEAR_TAIL: Rational = [
    [
        7.745_450_142_783_414e-4,
        2.272_384_498_926_918_4e-2,
        2.417_807_251_774_506e-1,
        1.270_458_252_452_368_4,
        3.647_848_324_763_204_5,
        5.769_497_221_460_691,
        4.630_337_846_156_546,
        1.423_437_110_749_683_5,
    ],
    [
        1.050_750_071_644_416_9e-9,
        5.475_938_084_995_345e-4,
        1.519_866_656_361_645_7e-2,
        1.481_039_764_274_800_8e-1,
        6.897_673_349_851e-1,
        1.676_384_830_183_803_8,
        2.053_191_626_637_759,
        1.0,
    ],
];

const TAIL: Rational = [
    [
        2.010_334_399_292_288_1e-7,
        2.711_555_568_743_487_6e-5,
        1.242_660_947_388_078_4e-3,
        2.653_218_952_657_612_4e-2,
        2.965_605_718_285_048_7e-1,
        1.784_826_539_917_291_3,
        5.463_784_911_164_114,
        6.657_904_643_501_103,
    ],
    [
        2.044_263_103_389_939_8e-15,
        1.421_511_758_316_446e-7,
        1.846_318_317_510_054_8e-5,
        7.868_691_311_456_133e-4,
        1.487_536_129_085_061_5e-2,
        1.369_298_809_227_358e-1,
        5.998_322_065_558_88e-1,
        1.0,
    ],
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_are_exact() {
        assert_eq!(cdf(f64::NEG_INFINITY), 0.0);
        assert_eq!(cdf(f64::INFINITY), 1.0);
        assert_eq!(upper_tail(f64::INFINITY), 0.0);
        assert_eq!(density(f64::INFINITY), 0.0);
        assert_eq!(inverse_mills_ratio(f64::INFINITY), 0.0);
        assert_eq!(inverse_mills_ratio(-1e300), 1e300);
        assert!(density(f64::NAN).is_nan() && cdf(f64::NAN).is_nan() && log_cdf(f64::NAN).is_nan());
    }

    #[test]
    fn quantile_refuses_what_has_no_finite_answer() {
        for probability in [0.0, 1.0, -0.1, 1.1, f64::NAN, f64::INFINITY] {
            assert!(quantile(probability).is_err());
        }
        assert!(quantile(f64::from_bits(1)).unwrap() < -38.0);
    }
}
