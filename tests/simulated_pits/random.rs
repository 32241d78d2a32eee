//! Random numbers that are the same everywhere: nothing here depends on a crate's choice of generator.

use soaklife::numerics::normal;

/// xoshiro256++ (Blackman and Vigna 2021, *ACM Trans. Math. Softw.* 47(4), 36), seeded by SplitMix64 (Steele,
/// Lea and Flood 2014) as its authors advise.
#[derive(Debug, Clone)]
pub(crate) struct Random {
    state: [u64; 4],
}

impl Random {
    /// A stream of its own for each `stream` of a seed, so that one more pit leaves the others as they were.
    pub(crate) fn new(seed: u64, stream: u64) -> Self {
        let mut counter = split_mix(&mut { seed }) ^ stream.wrapping_mul(0xd134_2543_de82_ef95);
        Self { state: std::array::from_fn(|_| split_mix(&mut counter)) }
    }

    pub(crate) fn bits(&mut self) -> u64 {
        let [a, b, c, d] = self.state;
        let result = a.wrapping_add(d).rotate_left(23).wrapping_add(a);
        let (c, d) = (c ^ a, d ^ b);
        self.state = [a ^ d, b ^ c, c ^ (b << 17), d.rotate_left(45)];
        result
    }

    /// Between 0 and 1, never either: the inverse of a distribution must exist there.
    pub(crate) fn unit(&mut self) -> f64 {
        ((self.bits() >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    pub(crate) fn chance(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    pub(crate) fn normal(&mut self) -> f64 {
        normal::quantile(self.unit()).expect("a number strictly between 0 and 1 has a quantile")
    }

    pub(crate) fn log_normal(&mut self, median: f64, log_standard_deviation: f64) -> f64 {
        median * (log_standard_deviation * self.normal()).exp()
    }

    /// Waiting time of events that come at random with this mean.
    pub(crate) fn wait(&mut self, mean: f64) -> f64 {
        -mean * self.unit().ln()
    }

    /// One of `choices` in proportion to its weight.
    pub(crate) fn pick<T: Copy>(&mut self, choices: &[(f64, T)]) -> T {
        let mut left = self.unit() * choices.iter().map(|(weight, _)| weight).sum::<f64>();
        for &(weight, choice) in choices {
            left -= weight;
            if left < 0.0 {
                return choice;
            }
        }
        choices.last().expect("there is something to choose from").1
    }
}

fn split_mix(counter: &mut u64) -> u64 {
    *counter = counter.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mixed = (*counter ^ (*counter >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    mixed ^ (mixed >> 31)
}

/// A disturbance that fades: Ornstein–Uhlenbeck on the log scale, stationary from the start.
#[derive(Debug, Clone)]
pub(crate) struct Disturbance {
    log_standard_deviation: f64,
    memory_years: f64,
    log_value: f64,
}

impl Disturbance {
    pub(crate) fn new(random: &mut Random, log_standard_deviation: f64, memory_years: f64) -> Self {
        let log_value = log_standard_deviation * random.normal();
        Self { log_standard_deviation, memory_years, log_value }
    }

    /// The factor after `years` more; its mean is 1.
    pub(crate) fn next(&mut self, random: &mut Random, years: f64) -> f64 {
        let kept = (-years / self.memory_years).exp();
        let fresh = self.log_standard_deviation * (1.0 - kept * kept).sqrt();
        self.log_value = kept * self.log_value + fresh * random.normal();
        (self.log_value - self.log_standard_deviation.powi(2) / 2.0).exp()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// First outputs of SplitMix64 from 1234567 and of xoshiro256++ from the state 1, 2, 3, 4, as commonly given for
    /// the reference programs (from memory).
    #[test]
    fn the_generators_are_the_published_ones() {
        let mut counter = 1_234_567;
        assert_eq!(split_mix(&mut counter), 6_457_827_717_110_365_317);
        assert_eq!(split_mix(&mut counter), 3_203_168_211_198_807_973);
        let mut random = Random { state: [1, 2, 3, 4] };
        assert_eq!([random.bits(), random.bits()], [41_943_041, 58_720_359]);
    }

    #[test]
    fn a_disturbance_keeps_its_spread_and_its_memory() {
        let mut random = Random::new(5, 0);
        let mut disturbance = Disturbance::new(&mut random, 0.3, 2.0);
        let factors: Vec<f64> = (0..100_000).map(|_| disturbance.next(&mut random, 0.25)).collect();
        let logs: Vec<f64> = factors.iter().map(|factor| factor.ln() + 0.045).collect();
        let mean_product = |lag: usize| {
            logs.iter().zip(&logs[lag..]).map(|(a, b)| a * b).sum::<f64>() / (logs.len() - lag) as f64
        };
        assert!((factors.iter().sum::<f64>() / factors.len() as f64 - 1.0).abs() < 0.02);
        assert!((mean_product(0).sqrt() - 0.3).abs() < 0.01);
        assert!((mean_product(8) / mean_product(0) - (-1f64).exp()).abs() < 0.04, "memory of eight quarters");
    }
}
