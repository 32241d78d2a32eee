//! Sums of losses, and what they come to against a reference.

use super::prediction::Prediction;

/// The losses of the predictions made.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Losses {
    count: usize,
    error: f64,
    pinball: f64,
    crps: f64,
}

/// The means of the losses.
#[derive(Debug, Clone, Copy)]
pub(super) struct MeanLosses {
    pub(super) error: f64,
    pub(super) pinball: f64,
    pub(super) crps: f64,
}

impl Losses {
    pub(super) fn add(&mut self, prediction: &Prediction, outcome: f64) {
        self.count += 1;
        self.error += (outcome - prediction.median).abs();
        self.pinball += prediction.quantiles.mean_pinball_loss(outcome);
        self.crps += prediction.quantiles.crps(outcome);
    }

    pub(super) fn merge(&mut self, next: &Self) {
        self.count += next.count;
        self.error += next.error;
        self.pinball += next.pinball;
        self.crps += next.crps;
    }

    pub(super) fn means(&self) -> Option<MeanLosses> {
        let mean = |sum: f64| sum / self.count as f64;
        (self.count > 0).then(|| MeanLosses {
            error: mean(self.error),
            pinball: mean(self.pinball),
            crps: mean(self.crps),
        })
    }
}

/// Two scores on the same cases.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Comparison {
    count: usize,
    own: f64,
    reference: f64,
}

impl Comparison {
    pub(super) fn add(&mut self, own: f64, reference: f64) {
        self.count += 1;
        self.own += own;
        self.reference += reference;
    }

    pub(super) fn merge(&mut self, next: &Self) {
        self.count += next.count;
        self.own += next.own;
        self.reference += next.reference;
    }

    /// 1 − own ÷ reference: 1 is perfect, 0 no better than the reference, below 0 worse.
    pub(super) fn skill(&self) -> Option<f64> {
        (self.reference > 0.0).then(|| 1.0 - self.own / self.reference)
    }

    /// The mean score of the reference.
    pub(super) fn reference(&self) -> Option<f64> {
        (self.count > 0).then(|| self.reference / self.count as f64)
    }
}
