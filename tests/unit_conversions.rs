//! Unit factors against printed lists (NIST SP 811 appendix B as reproduced by handbooks; exact by definition).

use soaklife::quantity::{
    as_feet, as_gallons, as_gallons_per_day, as_inches, as_litres, as_square_feet, centimetres, cubic_metres,
    cubic_metres_per_day, feet, gallons, inches, litres, litres_per_day, metres,
};

fn assert_factor(found: f64, printed: f64) {
    // A factor is a handful of multiplications: a few units in the last place.
    assert!((found / printed - 1.0).abs() < 1e-15 * 8.0, "{found} for {printed}");
}

#[test]
fn lengths() {
    assert_factor(feet(1.0).value, 0.3048);
    assert_factor(inches(1.0).value, 0.0254);
    assert_factor(as_inches(centimetres(2.54)), 1.0);
    assert_factor(as_feet(metres(0.3048)), 1.0);
    assert_factor(as_square_feet(metres(0.3048) * metres(0.3048)), 1.0);
}

/// The gallon is 231 in³: 3.785 411 784 L exactly. The pre-1959 foot (0.304 800 6 m) must not creep in.
#[test]
fn volumes() {
    assert_factor(as_litres(gallons(1.0)), 3.785_411_784);
    assert_factor(gallons(1.0).value, 3.785_411_784e-3);
    assert_factor(as_gallons(inches(231.0) * inches(1.0) * inches(1.0)), 1.0);
    assert_factor(as_gallons(feet(1.0) * feet(1.0) * feet(1.0)), 1728.0 / 231.0);
    assert_factor(as_gallons(cubic_metres(2.831_684_659_2e-2)), 7.480_519_480_519_481);
    assert_factor(as_litres(litres(42.0)), 42.0);
}

#[test]
fn flows() {
    assert_factor(as_gallons_per_day(litres_per_day(3.785_411_784)), 1.0);
    assert_factor(as_gallons_per_day(cubic_metres_per_day(1.0)), 1.0 / 3.785_411_784e-3);
    // 1 gal/day/ft² = 4.074 583 333 cm/day (231 × 2.54³ / 30.48²).
    let loading_cm_per_day = litres_per_day(3.785_411_784).value * 86_400.0 / (0.3048 * 0.3048) * 100.0;
    assert_factor(loading_cm_per_day, 231.0 * 2.54f64.powi(3) / 30.48f64.powi(2));
}
