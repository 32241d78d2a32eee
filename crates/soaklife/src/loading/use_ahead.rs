//! What is assumed of the household from the day of the forecast on.

use std::fmt;

/// How much water the house will use.
///
/// The load to come is the actual ÷ design flow ρ(t), t in years from the day of the forecast. Only a forecast that knows the
/// load of today tells the two apart.
///
/// ```
/// use soaklife::loading::use_ahead::UseAhead;
/// assert_eq!((UseAhead::default(), UseAhead::AsToday.name()), (UseAhead::Drifts, "as-today"));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[non_exhaustive]
pub enum UseAhead {
    /// As households do: people move in and out, so that the use drifts toward a typical one over a tenure
    /// ([`crate::prior::PopulationPrior::tenure_years`]): ρ(t) = ρ* + (ρ − ρ*) e^(−t/τ).
    #[default]
    Drifts,
    /// The use of today stays: ρ(t) = ρ. A house that is empty today stays empty.
    AsToday,
}

impl UseAhead {
    /// Every assumption.
    ///
    /// ```
    /// use soaklife::loading::use_ahead::UseAhead;
    /// assert_eq!(UseAhead::ALL.map(UseAhead::name), ["drifts", "as-today"]);
    /// ```
    pub const ALL: [Self; 2] = [Self::Drifts, Self::AsToday];

    /// The name used in commands and tables.
    ///
    /// ```
    /// use soaklife::loading::use_ahead::UseAhead;
    /// assert_eq!(UseAhead::Drifts.name(), "drifts");
    /// ```
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Drifts => "drifts",
            Self::AsToday => "as-today",
        }
    }

    /// The other one.
    ///
    /// ```
    /// use soaklife::loading::use_ahead::UseAhead;
    /// assert_eq!(UseAhead::Drifts.other(), UseAhead::AsToday);
    /// ```
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Drifts => Self::AsToday,
            Self::AsToday => Self::Drifts,
        }
    }
}

impl fmt::Display for UseAhead {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Drifts => "drifts toward a typical use, as households do",
            Self::AsToday => "stays as today",
        })
    }
}
