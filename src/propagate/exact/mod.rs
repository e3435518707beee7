//! The exact distribution of a sum: the shapes of its results. The arithmetic follows; until then
//! every sum is refused.
#![allow(missing_docs, dead_code)]
use crate::evidence::Piece;
#[derive(Debug, Clone)]
pub enum Term {
    Piece(Piece),
    Star { centre: Piece, slope: f64, arms: Vec<Arm> },
}
#[derive(Debug, Clone)]
pub struct Arm {
    pub slope: f64,
    pub product: f64,
    pub pieces: Vec<Piece>,
}
#[derive(Debug, Clone, Copy)]
pub struct Probability {
    pub value: f64,
    pub error: f64,
}
#[derive(Debug, Clone, Copy)]
pub struct Interval {
    pub low: f64,
    pub high: f64,
    pub relative_error: f64,
}
#[derive(Debug, Clone)]
pub struct Refusal;
impl std::fmt::Display for Refusal {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "its arithmetic is not there yet")
    }
}
#[derive(Debug, Clone)]
pub struct Sum;
impl Sum {
    pub fn new(_: Vec<Term>) -> Result<Sum, Refusal> {
        Err(Refusal)
    }
    pub fn is_symmetric(&self) -> bool {
        true
    }
    pub fn is_unimodal(&self) -> bool {
        true
    }
    pub fn survival(&self, _x: f64) -> Probability {
        Probability { value: 0.0, error: 0.0 }
    }
    pub fn cdf(&self, _x: f64) -> Probability {
        Probability { value: 0.0, error: 0.0 }
    }
    pub fn density(&self, _x: f64) -> f64 {
        0.0
    }
    pub fn interval(&self, _p: f64) -> Result<Interval, Refusal> {
        Err(Refusal)
    }
}
