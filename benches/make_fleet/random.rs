//! Random numbers that are the same everywhere.

/// SplitMix64 (Steele, Lea and Flood 2014, *OOPSLA*), with a stream of its own for every pit, so that one pit more leaves the
/// others as they were.
pub(crate) struct Random(u64);

impl Random {
    pub(crate) fn new(seed: u64, pit: u64) -> Self {
        Self(mixed(seed) ^ mixed(pit.wrapping_add(0x2545_f491_4f6c_dd1d)))
    }

    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        mixed(self.0)
    }

    /// A whole number below `limit`.
    pub(crate) fn below(&mut self, limit: u32) -> u32 {
        ((u128::from(self.bits()) * u128::from(limit)) >> 64) as u32
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub(crate) fn one_in(&mut self, many: u32) -> bool {
        self.below(many) == 0
    }

    /// About a standard normal number: never beyond 3.5, which keeps invented readings believable.
    pub(crate) fn bell(&mut self) -> f64 {
        (0..4).map(|_| self.between(-1.0, 1.0)).sum::<f64>() * 0.75f64.sqrt()
    }

    /// One of `choices` in proportion to its weight.
    pub(crate) fn pick<T: Copy>(&mut self, choices: &[(u32, T)], otherwise: T) -> T {
        let mut left = self.below(choices.iter().map(|(weight, _)| weight).sum());
        for &(weight, choice) in choices {
            match left.checked_sub(weight) {
                Some(rest) => left = rest,
                None => return choice,
            }
        }
        otherwise
    }
}

fn mixed(number: u64) -> u64 {
    let number = (number ^ (number >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let number = (number ^ (number >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    number ^ (number >> 31)
}
