//! General statistics on plain `f64`: no unit, no file, no clock, no global state.
//!
//! | module | question it answers |
//! | --- | --- |
//! | [`normal`] | densities, tails and quantiles of the standard normal distribution |
//! | [`normal_mixture`] | the same for a weighted mixture of normal distributions |
//! | [`branch_free`] | the same to eight digits, fast, for sums over many hypotheses |
//! | [`student_t`] | the same for Student's t, at any number of degrees of freedom |
//! | [`root`] | where does a continuous function change sign? |
//! | [`least_squares`] | which coefficients of a linear model fit best, and how sure are they? |
//! | [`levenberg_marquardt`] | which parameters of a model of any shape fit best, and how sure are they? |
//! | [`straight_line`] | the same for one straight line, without allocation |
//! | [`inverse_prediction`] | where does a fitted line meet a given value? |
//! | [`mann_kendall`] | is there a monotone trend at all? |
//! | [`theil_sen`] | how steep is it, judged by the median of all pairwise slopes? |
//! | [`two_state`] | where does a level that drifts stand now, and how fast does it rise? |
//! | [`binomial`] | how far can a share seen in a few trials be from the true one? |
//! | [`golden_section`] | where is a function of one variable highest? |
//! | [`poisson_binomial`] | how many of many unlike things happen? |
//! | [`lattice_normal`] | the same, about, from a few sums |
//! | [`compound_sum`] | what does an uncertain number of uncertain amounts add up to? |
//! | [`compound_interest`] | how do sums at different times compare? |
//! | [`quantile_score`] | how good was a forecast that came as quantiles? |
//!
//! Every function is total: whatever `f64` goes in, it returns, and a successful result holds finite numbers.
//! Functions of one `f64` that return a bare `f64` hand a NaN argument back as NaN.

pub mod binomial;
pub mod branch_free;
mod compensated;
pub mod compound_interest;
pub mod compound_sum;
pub mod golden_section;
pub mod inverse_prediction;
pub mod lattice_normal;
pub mod least_squares;
pub mod levenberg_marquardt;
pub mod mann_kendall;
pub mod normal;
pub mod normal_mixture;
pub mod poisson_binomial;
pub mod quantile_score;
pub mod root;
pub mod straight_line;
pub mod student_t;
pub mod theil_sen;
pub mod two_state;
