//! The pit itself: a rim to measure from, an inlet, a bottom and, if known, a cross-section.

use crate::quantity::{Area, Length, Volume, VolumeRate};
use thiserror::Error;
use uom::si::length::meter;
use uom::si::time::day;

/// A seepage pit: where its inlet and bottom lie below the rim, and what lies between them.
///
/// The rim is the top of the access port, the datum of every stick reading. Depths count downward from the
/// rim, levels upward from the pit bottom; freeboard is what is left between liquid and inlet invert.
///
/// ```
/// use soaklife::pit::{CrossSection, Pit};
/// use soaklife::quantity::{as_gallons, as_inches, feet, inches};
///
/// let pit = Pit::new(inches(30.0), inches(210.0))?.with_cross_section(CrossSection::round(feet(6.0))?);
/// assert_eq!(as_inches(pit.effective_depth()).round(), 180.0);
/// let level = pit.level_at_depth(inches(90.0));
/// assert_eq!(as_inches(pit.freeboard(level)).round(), 60.0);
/// // EPA 625/1-80-012 sizes pits by open water: 211.5 gal a foot at 6 ft.
/// let stored = pit.storage_between(inches(0.0), inches(12.0)).ok_or("no cross-section")?;
/// assert!((as_gallons(stored) - 211.507).abs() < 0.001);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pit {
    inlet_depth: Length,
    bottom_depth: Length,
    cross_section: Option<CrossSection>,
    liquid_fraction: f64,
}

/// The shape of a pit seen from above, inside the lining.
///
/// Tables of design area count the *excavation*, stone annulus included (EPA 625/1-80-012, Table 7-6 note b);
/// stored volume needs the *inside* dimensions. Give the one that the question at hand calls for.
///
/// ```
/// # use soaklife::pit::CrossSection;
/// # use soaklife::quantity::feet;
/// assert!(matches!(CrossSection::round(feet(6.0))?, CrossSection::Round { .. }));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum CrossSection {
    /// A round pit.
    Round {
        /// Diameter.
        diameter: Length,
    },
    /// A rectangular pit.
    Rectangular {
        /// Longer side.
        length: Length,
        /// Shorter side.
        width: Length,
    },
}

/// Why a pit cannot be as described. Lengths are in metres.
///
/// ```
/// # use soaklife::pit::{Pit, PitError};
/// # use soaklife::quantity::inches;
/// assert!(matches!(Pit::new(inches(30.0), inches(20.0)), Err(PitError::BottomNotBelowInlet { .. })));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum PitError {
    /// The depth of the inlet is negative or not a number.
    #[error("the inlet cannot lie {found_m} m below the rim: give a depth of zero or more")]
    InletDepth {
        /// Depth given, m.
        found_m: f64,
    },
    /// The bottom does not lie below the inlet.
    #[error("the pit bottom ({bottom_m} m below the rim) must lie below the inlet ({inlet_m} m)")]
    BottomNotBelowInlet {
        /// Depth of the inlet invert, m.
        inlet_m: f64,
        /// Depth of the bottom, m.
        bottom_m: f64,
    },
    /// A length beyond any pit: areas and volumes made from it would be no numbers any more.
    #[error("{found_m} m is no length of a pit: give {MOST_M} m at most")]
    TooLong {
        /// Length given, m.
        found_m: f64,
    },
    /// A side or diameter is zero, negative or not a number.
    #[error("a cross-section cannot measure {found_m} m: give a length above zero")]
    CrossSection {
        /// Length given, m.
        found_m: f64,
    },
    /// The share of the volume that liquid can fill is not above 0 and at most 1.
    #[error(
        "the liquid fraction must be above 0 and at most 1 (1 hollow, about 0.35 stone-filled), not {found}"
    )]
    LiquidFraction {
        /// Fraction given.
        found: f64,
    },
}

/// Longest length that a pit may have, m.
const MOST_M: f64 = 1e9;

impl CrossSection {
    /// A round pit of the given diameter.
    ///
    /// # Errors
    /// [`PitError::CrossSection`] unless the diameter is above zero and finite; [`PitError::TooLong`] beyond 1e9 m.
    ///
    /// ```
    /// # use soaklife::pit::CrossSection;
    /// # use soaklife::quantity::feet;
    /// assert!(CrossSection::round(feet(6.0)).is_ok() && CrossSection::round(feet(0.0)).is_err());
    /// ```
    pub fn round(diameter: Length) -> Result<Self, PitError> {
        Ok(Self::Round { diameter: positive(diameter)? })
    }

    /// A rectangular pit of the given sides.
    ///
    /// # Errors
    /// [`PitError::CrossSection`] unless both sides are above zero and finite; [`PitError::TooLong`] beyond 1e9 m.
    ///
    /// ```
    /// # use soaklife::pit::CrossSection;
    /// # use soaklife::quantity::{as_square_feet, feet};
    /// assert!((as_square_feet(CrossSection::rectangular(feet(8.0), feet(6.0))?.area()) - 48.0).abs() < 1e-9);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn rectangular(length: Length, width: Length) -> Result<Self, PitError> {
        Ok(Self::Rectangular { length: positive(length)?, width: positive(width)? })
    }

    /// Plan area: πD²/4, or length × width.
    ///
    /// ```
    /// # use soaklife::pit::CrossSection;
    /// # use soaklife::quantity::{as_square_feet, feet};
    /// assert!((as_square_feet(CrossSection::round(feet(6.0))?.area()) - 28.2743).abs() < 0.00005);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn area(self) -> Area {
        match self {
            Self::Round { diameter } => diameter * diameter * std::f64::consts::FRAC_PI_4,
            Self::Rectangular { length, width } => length * width,
        }
    }

    /// Perimeter of the wall: πD, or twice the sum of the sides.
    ///
    /// ```
    /// # use soaklife::pit::CrossSection;
    /// # use soaklife::quantity::{as_feet, feet};
    /// assert!((as_feet(CrossSection::round(feet(6.0))?.perimeter()) - 18.8496).abs() < 0.00005);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn perimeter(self) -> Length {
        match self {
            Self::Round { diameter } => diameter * std::f64::consts::PI,
            Self::Rectangular { length, width } => (length + width) * 2.0,
        }
    }
}

fn positive(length: Length) -> Result<Length, PitError> {
    match length.get::<meter>() {
        found_m if found_m > MOST_M && found_m.is_finite() => Err(PitError::TooLong { found_m }),
        found_m if found_m > 0.0 && found_m.is_finite() => Ok(length),
        found_m => Err(PitError::CrossSection { found_m }),
    }
}

impl Pit {
    /// A pit from the depths of its inlet invert and its bottom below the rim; hollow, cross-section unknown.
    ///
    /// # Errors
    /// [`PitError::InletDepth`] unless the inlet depth is zero or more;
    /// [`PitError::BottomNotBelowInlet`] unless the bottom is finite and deeper than the inlet;
    /// [`PitError::TooLong`] for a bottom deeper than 1e9 m.
    ///
    /// ```
    /// # use soaklife::pit::Pit;
    /// # use soaklife::quantity::inches;
    /// assert!(Pit::new(inches(-1.0), inches(210.0)).is_err());
    /// ```
    pub fn new(inlet_depth: Length, bottom_depth: Length) -> Result<Self, PitError> {
        let (inlet_m, bottom_m) = (inlet_depth.get::<meter>(), bottom_depth.get::<meter>());
        if !(inlet_m.is_finite() && inlet_m >= 0.0) {
            return Err(PitError::InletDepth { found_m: inlet_m });
        }
        if !(bottom_m.is_finite() && bottom_m > inlet_m) {
            return Err(PitError::BottomNotBelowInlet { inlet_m, bottom_m });
        }
        if bottom_m > MOST_M {
            return Err(PitError::TooLong { found_m: bottom_m });
        }
        Ok(Self { inlet_depth, bottom_depth, cross_section: None, liquid_fraction: 1.0 })
    }

    /// The same pit with its cross-section.
    ///
    /// ```
    /// # use soaklife::pit::{CrossSection, Pit};
    /// # use soaklife::quantity::{feet, inches};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?.with_cross_section(CrossSection::round(feet(5.0))?);
    /// assert!(pit.cross_section().is_some());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn with_cross_section(self, cross_section: CrossSection) -> Self {
        Self { cross_section: Some(cross_section), ..self }
    }

    /// The same pit with the share of its volume that liquid can fill: 1 hollow, about 0.35 stone-filled.
    ///
    /// # Errors
    /// [`PitError::LiquidFraction`] unless the share is above 0 and at most 1.
    ///
    /// ```
    /// # use soaklife::pit::{CrossSection, Pit};
    /// # use soaklife::quantity::{feet, inches};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?.with_cross_section(CrossSection::round(feet(5.0))?);
    /// assert_eq!(pit.with_liquid_fraction(0.35)?.liquid_fraction(), 0.35);
    /// assert!(pit.with_liquid_fraction(35.0).is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn with_liquid_fraction(self, liquid_fraction: f64) -> Result<Self, PitError> {
        if liquid_fraction > 0.0 && liquid_fraction <= 1.0 {
            Ok(Self { liquid_fraction, ..self })
        } else {
            Err(PitError::LiquidFraction { found: liquid_fraction })
        }
    }

    /// Depth of the inlet invert below the rim.
    ///
    /// ```
    /// # use soaklife::pit::{CrossSection, Pit};
    /// # use soaklife::quantity::{feet, inches};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?.with_cross_section(CrossSection::round(feet(5.0))?);
    /// assert_eq!(pit.inlet_depth(), inches(30.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn inlet_depth(&self) -> Length {
        self.inlet_depth
    }

    /// Depth of the pit bottom below the rim.
    ///
    /// ```
    /// # use soaklife::pit::{CrossSection, Pit};
    /// # use soaklife::quantity::{feet, inches};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?.with_cross_section(CrossSection::round(feet(5.0))?);
    /// assert_eq!(pit.bottom_depth(), inches(210.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn bottom_depth(&self) -> Length {
        self.bottom_depth
    }

    /// The cross-section, if known.
    ///
    /// ```
    /// # use soaklife::pit::Pit;
    /// # use soaklife::quantity::inches;
    /// assert_eq!(Pit::new(inches(30.0), inches(210.0))?.cross_section(), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn cross_section(&self) -> Option<CrossSection> {
        self.cross_section
    }

    /// Share of the volume that liquid can fill.
    ///
    /// ```
    /// # use soaklife::pit::{CrossSection, Pit};
    /// # use soaklife::quantity::{feet, inches};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?.with_cross_section(CrossSection::round(feet(5.0))?);
    /// assert_eq!(pit.liquid_fraction(), 1.0); // hollow unless said otherwise
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn liquid_fraction(&self) -> f64 {
        self.liquid_fraction
    }

    /// Inlet invert down to the pit bottom.
    ///
    /// ```
    /// # use soaklife::pit::{CrossSection, Pit};
    /// # use soaklife::quantity::{as_inches, feet, inches};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?.with_cross_section(CrossSection::round(feet(5.0))?);
    /// assert!((as_inches(pit.effective_depth()) - 180.0).abs() < 1e-9);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn effective_depth(&self) -> Length {
        self.bottom_depth - self.inlet_depth
    }

    /// Height above the bottom of a surface that the stick finds at `depth` below the rim.
    ///
    /// ```
    /// # use soaklife::pit::{CrossSection, Pit};
    /// # use soaklife::quantity::{as_inches, feet, inches};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?.with_cross_section(CrossSection::round(feet(5.0))?);
    /// assert!((as_inches(pit.level_at_depth(inches(90.0))) - 120.0).abs() < 1e-9);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn level_at_depth(&self, depth: Length) -> Length {
        self.bottom_depth - depth
    }

    /// Depth below the rim of a surface that stands at `level` above the bottom.
    ///
    /// ```
    /// # use soaklife::pit::{CrossSection, Pit};
    /// # use soaklife::quantity::{as_inches, feet, inches};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?.with_cross_section(CrossSection::round(feet(5.0))?);
    /// assert!((as_inches(pit.depth_at_level(inches(120.0))) - 90.0).abs() < 1e-9);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn depth_at_level(&self, level: Length) -> Length {
        self.bottom_depth - level
    }

    /// What is left between liquid and inlet invert; negative if the liquid stands above the invert.
    ///
    /// ```
    /// # use soaklife::pit::{CrossSection, Pit};
    /// # use soaklife::quantity::{as_inches, feet, inches};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?.with_cross_section(CrossSection::round(feet(5.0))?);
    /// assert!((as_inches(pit.freeboard(inches(120.0))) - 60.0).abs() < 1e-9);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn freeboard(&self, level: Length) -> Length {
        self.effective_depth() - level
    }

    /// Wall wetted by liquid standing at `level`, perimeter × level; nothing if the cross-section is unknown.
    ///
    /// The floor is not counted: EPA, the Public Health Service and New Jersey credit sidewall only.
    ///
    /// # Source
    /// EPA 625/1-80-012 (1980), Table 7-6, p. 237.
    ///
    /// ```
    /// # use soaklife::pit::{CrossSection, Pit};
    /// # use soaklife::quantity::{as_square_feet, feet, inches};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?.with_cross_section(CrossSection::round(feet(5.0))?);
    /// // EPA 625/1-80-012, Table 7-6: 157 ft² at 5 ft by 10 ft.
    /// let area = pit.wetted_area(feet(10.0)).ok_or("no cross-section")?;
    /// assert_eq!(as_square_feet(area).round(), 157.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn wetted_area(&self, level: Length) -> Option<Area> {
        Some(self.cross_section?.perimeter() * level)
    }

    /// Whole sidewall between bottom and inlet: the area that the design counted on.
    ///
    /// ```
    /// # use soaklife::pit::{CrossSection, Pit};
    /// # use soaklife::quantity::{as_square_feet, feet, inches};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?.with_cross_section(CrossSection::round(feet(5.0))?);
    /// // The same table by adding columns: 157 + 79 = 236 ft² at 5 ft by 15 ft.
    /// assert_eq!(as_square_feet(pit.sidewall_area().ok_or("no cross-section")?).round(), 236.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn sidewall_area(&self) -> Option<Area> {
        self.wetted_area(self.effective_depth())
    }

    /// Liquid held between two levels, plan area × height × liquid fraction; nothing if the cross-section is
    /// unknown, negative if `upper` lies below `lower`.
    ///
    /// ```
    /// # use soaklife::pit::{CrossSection, Pit};
    /// # use soaklife::quantity::{as_gallons, feet, inches};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?.with_cross_section(CrossSection::round(feet(5.0))?);
    /// let foot = pit.storage_between(feet(3.0), feet(4.0)).ok_or("no cross-section")?;
    /// assert!((as_gallons(foot) - 146.880).abs() < 0.0005);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn storage_between(&self, lower: Length, upper: Length) -> Option<Volume> {
        Some(self.cross_section?.area() * (upper - lower) * self.liquid_fraction)
    }

    /// Days of flow that the pit could still hold above `level` if it absorbed nothing.
    ///
    /// Nothing if the cross-section is unknown or the flow is not above zero.
    ///
    /// ```
    /// use soaklife::pit::{CrossSection, Pit};
    /// use soaklife::quantity::{feet, gallons_per_day, inches};
    /// let pit = Pit::new(inches(24.0), inches(144.0))?.with_cross_section(CrossSection::round(feet(6.0))?);
    /// // 12 in of a 6 ft pit hold 211.507 gal.
    /// let days = pit.days_of_flow_left(inches(108.0), gallons_per_day(211.507)).ok_or("unknown")?;
    /// assert!((days - 1.0).abs() < 1e-5);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn days_of_flow_left(&self, level: Length, flow: VolumeRate) -> Option<f64> {
        let left = self.storage_between(level, self.effective_depth())?;
        let days = (left / flow).get::<day>();
        (days.is_finite() && flow.value > 0.0).then_some(days)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{as_gallons, as_square_feet, feet, inches};

    #[test]
    fn refuses_impossible_pits_and_says_why() {
        assert!(matches!(Pit::new(inches(-1.0), inches(10.0)), Err(PitError::InletDepth { .. })));
        assert!(matches!(Pit::new(inches(20.0), inches(20.0)), Err(PitError::BottomNotBelowInlet { .. })));
        assert!(matches!(Pit::new(inches(f64::NAN), inches(20.0)), Err(PitError::InletDepth { .. })));
        assert!(matches!(
            Pit::new(inches(2.0), inches(f64::INFINITY)),
            Err(PitError::BottomNotBelowInlet { .. })
        ));
        assert!(matches!(CrossSection::round(feet(0.0)), Err(PitError::CrossSection { .. })));
        let pit = Pit::new(inches(2.0), inches(20.0)).unwrap();
        for fraction in [0.0, -0.1, 1.01, f64::NAN] {
            assert!(matches!(pit.with_liquid_fraction(fraction), Err(PitError::LiquidFraction { .. })));
        }
    }

    #[test]
    fn a_rectangular_pit_wets_its_four_walls() {
        let pit = Pit::new(feet(2.0), feet(12.0))
            .unwrap()
            .with_cross_section(CrossSection::rectangular(feet(8.0), feet(4.0)).unwrap());
        assert!((as_square_feet(pit.wetted_area(feet(5.0)).unwrap()) - 120.0).abs() < 1e-9);
        let stored = as_gallons(pit.storage_between(feet(0.0), feet(1.0)).unwrap());
        assert!((stored - 32.0 * 1728.0 / 231.0).abs() < 1e-9);
    }
}
