//! Whether a pit was found so close to its inlet that published rules count it as failed, whatever a forecast says.

use super::History;
use crate::quantity::{Length, inches};
use crate::reading::Reading;
use jiff::civil::Date;

/// Liquid less than this below the inlet is close to the inlet, inches.
///
/// # Source
/// 310 CMR 15.303(1)(a)4 and R.I. Gen. Laws 23-19.15-4, both written for cesspools.
pub const CLOSE_TO_INLET_IN: f64 = 6.0;
/// So is less room below the inlet than this many days of design flow.
///
/// # Source
/// 310 CMR 15.303(1)(a)4, written for cesspools.
pub const CLOSE_TO_INLET_DAYS: f64 = 0.5;

/// A pit that its last reading found close to its inlet.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::quantity::{as_inches, inches};
/// use soaklife::{History, Pit, Reading};
///
/// let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let found = |depth_in| Reading::at_depth(&pit, date(2026, 5, 1), inches(depth_in));
/// let close = History::new(pit).with_readings([found(34.0)?]).close_to_inlet(date(2026, 6, 30)).ok_or("not close")?;
/// assert_eq!((as_inches(close.left).round(), close.is_within_six_inches), (4.0, true));
/// assert_eq!(History::new(pit).with_readings([found(40.0)?]).close_to_inlet(date(2026, 6, 30)), None);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CloseToInlet {
    /// The reading.
    pub reading: Reading,
    /// What it found left below the inlet.
    pub left: Length,
    /// Whether that is less than [`CLOSE_TO_INLET_IN`].
    pub is_within_six_inches: bool,
    /// Days of design flow that the room below the inlet holds, where pit and design are known well enough to say.
    pub days_of_design_flow: Option<f64>,
}

impl CloseToInlet {
    /// Whether the room below the inlet holds less than [`CLOSE_TO_INLET_DAYS`] of design flow.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let reading = Reading::at_depth(&pit, date(2026, 5, 1), inches(34.0))?;
    /// # let close = History::new(pit).with_readings([reading]).close_to_inlet(date(2026, 6, 30)).ok_or("not close")?;
    /// assert!(!close.is_within_half_a_day()); // nobody knows how wide the pit is
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn is_within_half_a_day(&self) -> bool {
        self.days_of_design_flow.is_some_and(|days| days < CLOSE_TO_INLET_DAYS)
    }
}

impl History {
    /// Whether the last reading that says where the liquid stands found it close to the inlet, or at the inlet.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::{feet, gallons_per_day, inches};
    /// # use soaklife::{History, LoadHistory, Pit, Reading};
    /// use soaklife::pit::CrossSection;
    /// let pit = Pit::new(inches(30.0), inches(210.0))?.with_cross_section(CrossSection::round(feet(5.0))?);
    /// let reading = Reading::at_depth(&pit, date(2026, 5, 1), inches(42.0))?;
    /// let load = LoadHistory::constant(gallons_per_day(450.0), gallons_per_day(180.0))?;
    /// let history = History::new(pit).with_load(load).with_readings([reading]);
    /// let close = history.close_to_inlet(date(2026, 6, 30)).ok_or("not close")?; // a foot left, but the pit is narrow
    /// assert!(close.is_within_half_a_day() && !close.is_within_six_inches);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn close_to_inlet(&self, as_of: Date) -> Option<CloseToInlet> {
        self.is_close_to_inlet(self.latest_standing(as_of)?)
    }

    /// The same by the last reading that says where the liquid stands.
    pub(crate) fn is_close_to_inlet(&self, reading: Reading) -> Option<CloseToInlet> {
        let level = reading.level(self.pit());
        let left = self.pit().freeboard(level).max(Length::default());
        let design_flow = self.load().map(|load| load.design_flow());
        let close = CloseToInlet {
            reading,
            left,
            is_within_six_inches: left < inches(CLOSE_TO_INLET_IN),
            days_of_design_flow: design_flow.and_then(|flow| self.pit().days_of_flow_left(level, flow)),
        };
        (close.is_within_six_inches || close.is_within_half_a_day()).then_some(close)
    }
}
