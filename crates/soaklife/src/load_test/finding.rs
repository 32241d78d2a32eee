//! What may be said of a rule once errors, rain, the tank and the water offered are looked at.

/// What may be said of a rule.
///
/// ```
/// use soaklife::load_test::finding::{Finding, Untested};
/// let words = [Finding::Met, Finding::Borderline, Finding::NotTested(Untested::Rain)].map(Finding::in_words);
/// assert_eq!(words, ["met", "borderline", "not tested"]);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Finding {
    /// It is met, by more than the measuring error.
    Met,
    /// It is not met, by more than the measuring error.
    NotMet,
    /// What was found lies within its own error of the limit.
    Borderline,
    /// The test could not say.
    NotTested(Untested),
}

/// Why a rule was not tested.
///
/// ```
/// use soaklife::load_test::finding::Untested;
/// assert_eq!(Untested::TankHeld.key(), "tank_held");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Untested {
    /// The design flow is not known.
    DesignUnknown,
    /// The diameter is not known.
    DiameterUnknown,
    /// What the rule compares was not measured.
    NotMeasured,
    /// Nobody looked a day after the water stopped.
    NobodyLooked,
    /// Half the design flow was offered, and the rule asks for all of it.
    HalfOffered,
    /// Less was offered than the rule asks for, and the pit took all of it.
    LittleOffered,
    /// The pit took all that was offered, so what it can take at most was not seen.
    AllTaken,
    /// The tank rose, so water did not reach the pit, or came late.
    TankHeld,
    /// It rained about the time of the test.
    Rain,
}

impl Finding {
    /// The finding in words.
    ///
    /// ```
    /// use soaklife::load_test::finding::Finding;
    /// assert_eq!(Finding::NotMet.in_words(), "not met");
    /// ```
    #[must_use]
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Met => "met",
            Self::NotMet => "not met",
            Self::Borderline => "borderline",
            Self::NotTested(_) => "not tested",
        }
    }

    /// Why the rule was not tested.
    ///
    /// ```
    /// use soaklife::load_test::finding::{Finding, Untested};
    /// assert_eq!(Finding::NotTested(Untested::Rain).untested(), Some(Untested::Rain));
    /// assert_eq!(Finding::Met.untested(), None);
    /// ```
    #[must_use]
    pub fn untested(self) -> Option<Untested> {
        match self {
            Self::NotTested(why) => Some(why),
            _ => None,
        }
    }

    /// From a range, and the error by which it must clear a limit; `below` says what a range under the limit means.
    pub(super) fn against(limit: f64, [least, most]: [f64; 2], error: f64, below: impl Fn() -> Self) -> Self {
        let clears = |distance: f64| distance > 0.0 && distance >= error;
        match () {
            () if least == limit && error == 0.0 => Self::Met,
            () if clears(least - limit) => Self::Met,
            () if clears(limit - most) => below(),
            // A range wider than the error comes from what the tank may have held.
            () if most - least > error => Self::NotTested(Untested::TankHeld),
            () => Self::Borderline,
        }
    }
}

impl Untested {
    /// A stable name for other programs.
    ///
    /// ```
    /// use soaklife::load_test::finding::Untested;
    /// assert_eq!(Untested::Rain.key(), "rain");
    /// ```
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::DesignUnknown => "design_unknown",
            Self::DiameterUnknown => "diameter_unknown",
            Self::NotMeasured => "not_measured",
            Self::NobodyLooked => "nobody_looked",
            Self::HalfOffered => "half_offered",
            Self::LittleOffered => "little_offered",
            Self::AllTaken => "all_taken",
            Self::TankHeld => "tank_held",
            Self::Rain => "rain",
        }
    }
}
