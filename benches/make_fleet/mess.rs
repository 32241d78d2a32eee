//! What is wrong with an invented logbook: each kind of mess, how often it comes, and how often it came.

use super::random::Random;

/// Declares the kinds of mess, each with what it is and its frequency.
macro_rules! mess {
    ($($(#[doc = $doc:literal])* $kind:ident: one in $many:literal,)*) => {
        /// A kind of mess.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub(crate) enum Mess { $($(#[doc = $doc])* $kind,)* }

        impl Mess {
            pub(crate) const ALL: [Self; [$($many),*].len()] = [$(Self::$kind),*];

            /// It befalls one in so many.
            fn one_in(self) -> u32 {
                match self { $(Self::$kind => $many,)* }
            }

            pub(crate) fn description(self) -> &'static str {
                match self { $(Self::$kind => concat!($($doc),*),)* }
            }
        }
    };
}

mess! {
    /// pits: not known when installed
    InstalledUnknown: one in 8,
    /// pits: only the year of the installation known
    InstalledInYear: one in 2,
    /// pits: bedrooms not known
    BedroomsUnknown: one in 30,
    /// pits: occupants not known
    OccupantsUnknown: one in 20,
    /// pits: soil misspelt
    SoilMisspelt: one in 2000,
    /// pits: a word for the bottom depth, pit lost
    WordForBottom: one in 4000,
    /// pits: inlet and bottom swapped, pit lost
    DepthsSwapped: one in 2000,
    /// pits: nobody came for six years
    LongGap: one in 50,
    /// readings: a visit left out
    VisitMissed: one in 12,
    /// readings: only the month known
    DateOfMonth: one in 40,
    /// readings: only the year known
    DateOfYear: one in 400,
    /// readings: in unusual circumstances, which the row says
    Condition: one in 16,
    /// readings: misread by 10 to 50 in
    Misread: one in 150,
    /// readings: the same row twice
    Twice: one in 2000,
    /// readings: a blank row before
    BlankRow: one in 5000,
    /// readings: below the bottom
    BelowBottom: one in 2000,
    /// readings: words for the depth
    WordsForDepth: one in 2000,
    /// readings: a pit that pits.csv does not have
    UnknownPit: one in 4000,
    /// readings: a row cut short
    CutShort: one in 4000,
    /// readings: a date with slashes
    DateWithSlashes: one in 4000,
    /// readings: a date a century too late
    CenturyTooLate: one in 8000,
    /// occupancy: neither people nor a flow
    NobodyCounted: one in 1000,
    /// events: an event nobody knows
    UnknownEvent: one in 500,
}

/// Decides what goes wrong and counts it.
pub(crate) struct Messing {
    is_clean: bool,
    counts: [u64; Mess::ALL.len()],
}

impl Messing {
    pub(crate) fn new(is_clean: bool) -> Self {
        Self { is_clean, counts: [0; Mess::ALL.len()] }
    }

    /// Whether this goes wrong here; it is counted then.
    pub(crate) fn strikes(&mut self, mess: Mess, random: &mut Random) -> bool {
        let strikes = !self.is_clean && random.one_in(mess.one_in());
        self.counts[mess as usize] += u64::from(strikes);
        strikes
    }

    /// The first of several that goes wrong.
    pub(crate) fn first_of<const N: usize>(&mut self, of: [Mess; N], random: &mut Random) -> Option<Mess> {
        of.into_iter().find(|&mess| self.strikes(mess, random))
    }

    pub(crate) fn count(&self, mess: Mess) -> u64 {
        self.counts[mess as usize]
    }
}
