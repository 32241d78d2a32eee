//! The highest point of a function of one variable, by golden sections.

/// 1/φ.
const SECTION: f64 = 0.618_033_988_749_894_9;

/// Where `function` is highest between `low` and `high`, after so many further evaluations; each shrinks the interval by
/// 0.618. The function should have one peak in between; with several, one of them is found.
///
/// # Source
/// Kiefer (1953), Sequential minimax search for a maximum.
///
/// ```
/// use soaklife::numerics::golden_section::highest;
/// let top = highest(|x| -(x - 0.3) * (x - 0.3), -1.0, 2.0, 40);
/// assert!((top - 0.3).abs() < 1e-7);
/// ```
pub fn highest(mut function: impl FnMut(f64) -> f64, mut low: f64, mut high: f64, evaluations: usize) -> f64 {
    let inner = |low: f64, high: f64| [high - SECTION * (high - low), low + SECTION * (high - low)];
    let [mut left, mut right] = inner(low, high);
    let (mut at_left, mut at_right) = (function(left), function(right));
    for _ in 0..evaluations {
        if at_left > at_right {
            high = right;
            (right, at_right) = (left, at_left);
            [left, _] = inner(low, high);
            at_left = function(left);
        } else {
            low = left;
            (left, at_left) = (right, at_right);
            [_, right] = inner(low, high);
            at_right = function(right);
        }
    }
    if at_left > at_right { left } else { right }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_evaluation_shrinks_the_interval_by_the_golden_section() {
        for peak in [-1.0, -0.93, 0.0, 0.3, 1.1, 1.999, 2.0] {
            for evaluations in [0, 1, 2, 5, 12, 25] {
                let mut spent = 0;
                let steep_to_the_left = |x: f64| {
                    spent += 1;
                    if x < peak { 3.0 * (x - peak) } else { peak - x }
                };
                let top = highest(steep_to_the_left, -1.0, 2.0, evaluations);
                assert_eq!(spent, evaluations + 2);
                let width = 3.0 * SECTION.powi(evaluations as i32 + 1);
                assert!((top - peak).abs() <= width * (1.0 + 1e-9), "{peak}, {evaluations}: {top}");
            }
        }
    }
}
