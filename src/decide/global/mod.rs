//! STAND-IN
#![allow(missing_docs, unused)]
use crate::budget::Shape;
use crate::propagate::density::Density;
pub type Sides = (Option<f64>, Option<f64>);
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Prior {
    Normal { mean: f64, sd: f64 },
    Bounded { low: f64, high: f64, shape: Shape },
}
impl Prior {
    pub fn mean(&self) -> f64 {
        0.0
    }
    pub fn sd(&self) -> f64 {
        0.0
    }
}
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Risks {
    pub consumer: f64,
    pub producer: f64,
    pub in_tolerance: f64,
    pub accepted: f64,
}
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Share {
    Actual,
    Observed,
}
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("no")]
pub struct NoSpread;
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoBand {
    Smallest(f64),
    Unknown,
}
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoPopulation {
    TooLittle { count: usize },
    NoMoreThanMeasurement { observed: f64, measurement: f64 },
}
pub struct Found {
    pub mean: f64,
    pub sd: f64,
    pub observed_sd: f64,
    pub sd_uncertainty: f64,
    pub mean_uncertainty: f64,
}
pub fn risks(
    prior: &Prior,
    tolerance: Sides,
    acceptance: Option<Sides>,
    density: &Density,
) -> Option<Risks> {
    None
}
pub fn guard_band_for_consumer(
    promise: f64,
    prior: &Prior,
    tolerance: Sides,
    density: &Density,
) -> Result<f64, NoBand> {
    Err(NoBand::Unknown)
}
pub fn guard_band_for_posterior(
    promise: f64,
    prior: &Prior,
    tolerance: Sides,
    density: &Density,
) -> Result<f64, NoBand> {
    Err(NoBand::Unknown)
}
pub fn posterior_risk(
    prior: &Prior,
    error: f64,
    tolerance: Sides,
    density: &Density,
) -> Option<f64> {
    None
}
pub fn spread_for_share(
    share: f64,
    of: Share,
    mean: f64,
    tolerance: Sides,
    density: &Density,
) -> Result<f64, NoSpread> {
    Err(NoSpread)
}
pub fn acceptance_probability(
    true_error: f64,
    acceptance: Option<Sides>,
    density: &Density,
) -> Option<f64> {
    let Some((low, high)) = acceptance else { return Some(0.0) };
    let above = high.map_or(Some(0.0), |it| density.above(it - true_error))?;
    let below = low.map_or(Some(0.0), |it| density.below(true_error - it))?;
    Some(1.0 - above - below)
}
pub fn from_tur_quadrature(tur: f64, expanded: f64) -> Option<f64> {
    (tur >= 1.0).then(|| tur * expanded * (1.0 - libm::sqrt(1.0 - 1.0 / (tur * tur))))
}
pub fn from_tur_two_percent(tur: f64, expanded: f64) -> f64 {
    (expanded * (1.04 - libm::exp(0.38 * libm::log(tur) - 0.54))).max(0.0)
}
pub fn clopper_pearson(k: u64, n: u64, confidence: f64) -> Option<(f64, f64)> {
    None
}
pub fn population_from_history(
    errors: &[f64],
    varying: f64,
    dof: f64,
) -> Result<Found, NoPopulation> {
    Err(NoPopulation::TooLittle { count: errors.len() })
}
