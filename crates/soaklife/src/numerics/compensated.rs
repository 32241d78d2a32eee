//! Sums and products that keep their rounding errors: about twice the digits of `f64`.

/// The sum of two numbers and its rounding error, so that `high + low` is exact.
///
/// # Source
/// Knuth, *The Art of Computer Programming* vol. 2, section 4.2.2, theorem B.
pub(super) fn two_sum(a: f64, b: f64) -> (f64, f64) {
    let high = a + b;
    let b_seen = high - a;
    (high, (a - (high - b_seen)) + (b - b_seen))
}

/// The product of two numbers and its rounding error, so that `high + low` is exact short of underflow.
pub(super) fn two_product(a: f64, b: f64) -> (f64, f64) {
    let high = a * b;
    (high, a.mul_add(b, -high))
}

/// A running sum held as an unevaluated pair.
///
/// # Source
/// Ogita, Rump and Oishi (2005), *SIAM J. Sci. Comput.* 26, 1955–1988: algorithms Sum2 and Dot2.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct CompensatedSum {
    high: f64,
    low: f64,
}

impl CompensatedSum {
    pub(super) fn add(&mut self, term: f64) {
        let (high, error) = two_sum(self.high, term);
        self.high = high;
        self.low += error;
    }

    pub(super) fn add_product(&mut self, a: f64, b: f64) {
        let (product, error) = two_product(a, b);
        self.add(product);
        self.low += error;
    }

    /// A product with a weight that most often is 1, and then has no rounding error.
    pub(super) fn add_weighted(&mut self, weight: f64, term: f64) {
        if weight == 1.0 { self.add(term) } else { self.add_product(weight, term) }
    }

    pub(super) fn value(self) -> f64 {
        self.high + self.low
    }

    /// The quotient as a pair, good to about twice the digits of `f64`.
    pub(super) fn divided_by(self, divisor: f64) -> (f64, f64) {
        let quotient = self.value() / divisor;
        let mut remainder = self;
        remainder.add_product(-quotient, divisor);
        two_sum(quotient, remainder.value() / divisor)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sum_keeps_what_plain_addition_loses() {
        let mut sum = CompensatedSum::default();
        for term in [1e16, 1.0, -1e16] {
            sum.add(term);
        }
        assert_eq!(sum.value(), 1.0);
    }

    #[test]
    fn a_product_keeps_its_rounding_error() {
        // (1 + e)(1 − e) − 1 = −e², exactly, with e = 2⁻³⁰.
        let e = f64::powi(2.0, -30);
        let mut sum = CompensatedSum::default();
        sum.add_product(1.0 + e, 1.0 - e);
        sum.add(-1.0);
        assert_eq!(sum.value(), -e * e);
    }

    #[test]
    fn a_quotient_is_returned_as_a_pair() {
        let mut one = CompensatedSum::default();
        one.add(1.0);
        let (high, low) = one.divided_by(3.0);
        // 3 high is 1 − 2⁻⁵⁴ exactly, so the part left over is 2⁻⁵⁴ / 3.
        assert_eq!(high, 1.0 / 3.0);
        assert_eq!(low, f64::powi(2.0, -54) / 3.0);
    }
}
