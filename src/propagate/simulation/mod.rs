//! Simulation: the shape of its result. The work follows.
#![allow(missing_docs, dead_code)]
#[derive(Debug, Clone)]
pub struct Outcome;
impl Outcome {
    pub fn above(&self, _x: f64) -> Option<f64> {
        None
    }
    pub fn below(&self, _x: f64) -> Option<f64> {
        None
    }
}
