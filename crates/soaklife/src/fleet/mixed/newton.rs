//! The lowest point of a smooth function of three variables, by a damped Newton method with differences.

use super::MixedError;
use nalgebra::{Matrix3, Vector3};

/// Step of the differences, against a variable of one or more: truncation and rounding both stay below 1e−8 of it.
const DIFFERENCE: f64 = 1e-4;
const MOST_STEPS: usize = 200;
/// A step this small, against a variable of one or more, ends the search; so does a small one that gains nothing.
const SMALL: f64 = 1e-9;
const SMALL_IN_VAIN: f64 = 1e-5;
/// A gain this small, against the value, is rounding.
const NO_GAIN: f64 = 1e-13;
const MOST_DAMPING: f64 = 1e12;

/// Where `function` is lowest of the points found from several starts; it gives nothing where it cannot be computed.
///
/// An error only if every start ends in one: that of the first.
pub(super) fn lowest_from(
    function: impl Fn([f64; 3]) -> Option<f64>,
    starts: &[[f64; 3]],
) -> Result<[f64; 3], MixedError> {
    let mut lowest: Option<([f64; 3], f64)> = None;
    let mut failed = None;
    for start in starts {
        match descend(&function, *start) {
            Ok(point) => {
                let value = function(point).unwrap_or(f64::INFINITY);
                if lowest.is_none_or(|(_, before)| value < before) {
                    lowest = Some((point, value));
                }
            }
            Err(error) => failed = failed.or(Some(error)),
        }
    }
    match (lowest, failed) {
        (Some((point, _)), _) => Ok(point),
        (None, Some(error)) => Err(error),
        (None, None) => Err(MixedError::NotConverged { steps: 0 }),
    }
}

fn descend(function: &impl Fn([f64; 3]) -> Option<f64>, start: [f64; 3]) -> Result<[f64; 3], MixedError> {
    let at = |point: Vector3<f64>| function(point.into());
    let mut point = Vector3::from(start);
    let mut value = at(point).ok_or(MixedError::NoResidual)?;
    let mut damping = 1.0;
    for _ in 0..MOST_STEPS {
        let (gradient, curvature) = slopes(&at, point, value).ok_or(MixedError::NoResidual)?;
        loop {
            let damped = curvature + Matrix3::identity() * damping;
            let step = damped.cholesky().map(|factored| -factored.solve(&gradient));
            let lower = step.and_then(|step| Some((step, at(point + step)?)));
            match lower {
                Some((step, found)) if found <= value => {
                    let (length, gain) = (relative(step, point), value - found);
                    point += step;
                    value = found;
                    damping = (damping * 0.1).max(1e-12);
                    let in_vain = gain <= NO_GAIN * (1.0 + value.abs()) && length < SMALL_IN_VAIN;
                    if length < SMALL || in_vain {
                        return Ok(point.into());
                    }
                    break;
                }
                // No step leads down any more: this is as low as the arithmetic can tell.
                Some((step, _)) if relative(step, point) < SMALL => return Ok(point.into()),
                _ => damping = (damping * 10.0).max(1e-6),
            }
            if damping > MOST_DAMPING {
                return Err(MixedError::NotConverged { steps: MOST_STEPS });
            }
        }
    }
    Err(MixedError::NotConverged { steps: MOST_STEPS })
}

/// The longest part of a step, against a variable of one or more.
fn relative(step: Vector3<f64>, point: Vector3<f64>) -> f64 {
    step.zip_map(&point, |part, variable| part.abs() / variable.abs().max(1.0)).amax()
}

/// Gradient and curvature by central differences.
fn slopes(
    at: &impl Fn(Vector3<f64>) -> Option<f64>,
    point: Vector3<f64>,
    value: f64,
) -> Option<(Vector3<f64>, Matrix3<f64>)> {
    let length = point.map(|variable| DIFFERENCE * variable.abs().max(1.0));
    let along = |axis: usize| Vector3::ith(axis, length[axis]);
    let (mut gradient, mut curvature) = (Vector3::zeros(), Matrix3::zeros());
    for axis in 0..3 {
        let (ahead, behind) = (at(point + along(axis))?, at(point - along(axis))?);
        gradient[axis] = (ahead - behind) / (2.0 * length[axis]);
        curvature[(axis, axis)] = (ahead - 2.0 * value + behind) / (length[axis] * length[axis]);
        for other in 0..axis {
            let (one, two) = (along(axis), along(other));
            let mixed = at(point + one + two)? - at(point + one - two)? - at(point - one + two)?
                + at(point - one - two)?;
            curvature[(axis, other)] = mixed / (4.0 * length[axis] * length[other]);
            curvature[(other, axis)] = curvature[(axis, other)];
        }
    }
    Some((gradient, curvature))
}
