//! Inversion of the characteristic function on graded panels, for sums with the tails of t.
//!
//! P(S > x) = ½ + (1/π)·∫ Im(e^(−itx)·φ(t))/t dt over t > 0. φ is |t|^ν-singular at 0, so panels shrink
//! towards it; elsewhere their phase is bounded. The error is that of the rule with 24 nodes against 16.

use super::body::{Body, Cut};
use super::gauss::{sixteen, twenty_four};
use super::meter::{apart, spend};
use std::f64::consts::PI;
use std::sync::{Arc, OnceLock};

/// Phase over one panel.
const PHASE: f64 = 12.0;
/// Growth of panels away from zero.
const GROWTH: f64 = 4.0;
/// Most nodes of one grid.
const NODES: f64 = 4e6;
/// Grids serve |x| up to 8, 16, 32, … times the spread.
const LEVELS: usize = 24;

/// A sum with its grids, made when they are asked for.
#[derive(Debug, Clone)]
pub struct Graded {
    body: Body,
    cut: Cut,
    levels: Arc<[OnceLock<Option<Grid>>; LEVELS]>,
}

#[derive(Debug)]
struct Grid {
    /// Nodes t and weight·φ(t)/t of both rules.
    fine: Vec<(f64, f64, f64)>,
    coarse: Vec<(f64, f64, f64)>,
}

/// Returns how many nodes it takes to serve |x| up to `reach`.
pub fn nodes(body: &Body, cut: Cut, reach: f64) -> f64 {
    40.0 * (cut.limit * (reach + body.turning()) / PHASE + 20.0)
}

impl Graded {
    /// Prepares a sum whose characteristic function may be cut at `cut`.
    ///
    /// Method: M35.
    pub fn new(body: Body, cut: Cut) -> Graded {
        Graded { body, cut, levels: Arc::new([const { OnceLock::new() }; LEVELS]) }
    }

    /// Returns P(S > x) and a bound on its error; nothing where x is too far out.
    pub fn survival(&self, x: f64) -> Option<(f64, f64)> {
        let grid = self.grid(x)?;
        if !spend((grid.fine.len() + grid.coarse.len()) as u64) {
            return None;
        }
        let sum = |nodes: &[(f64, f64, f64)]| {
            let (mut value, mut size) = (0.0, 0.0);
            for &(t, re, im) in nodes {
                let (sin, cos) = sine_cosine(t, x);
                value += im * cos - re * sin;
                size += (im * cos).abs() + (re * sin).abs();
            }
            (value / PI, size / PI)
        };
        let ((fine, size), (coarse, _)) = (sum(&grid.fine), sum(&grid.coarse));
        let error = (fine - coarse).abs() + self.cut.error + 8.0 * f64::EPSILON * (0.5 + size);
        Some((0.5 + fine, error))
    }

    /// Returns the density at `x`.
    pub fn density(&self, x: f64) -> Option<f64> {
        let grid = self.grid(x).filter(|it| spend(it.fine.len() as u64))?;
        let terms = grid.fine.iter().map(|&(t, re, im)| {
            let (sin, cos) = sine_cosine(t, x);
            t * (re * cos + im * sin)
        });
        Some(terms.sum::<f64>() / PI)
    }

    fn grid(&self, x: f64) -> Option<&Grid> {
        let mut reach = 8.0 * self.body.spread();
        for level in self.levels.iter() {
            if x.abs() <= reach {
                return level
                    .get_or_init(|| apart(|| Grid::new(&self.body, self.cut, reach)))
                    .as_ref();
            }
            reach *= 2.0;
        }
        None
    }
}

impl Grid {
    fn new(body: &Body, cut: Cut, reach: f64) -> Option<Grid> {
        let most = nodes(body, cut, reach);
        // A value of the characteristic function is dearer than an evaluation.
        if most > NODES || !spend(8 * most as u64) {
            return None;
        }
        let edges = edges(body, cut, reach);
        let make = |rule: &[(f64, f64)]| {
            let (mut ts, mut weights) = (Vec::new(), Vec::new());
            for pair in edges.windows(2) {
                let half = 0.5 * (pair[1] - pair[0]);
                let middle = pair[0] + half;
                for &(x, w) in rule {
                    ts.push(middle + half * x);
                    weights.push(half * w);
                }
            }
            let values = body.characteristic(&ts)?;
            let nodes = ts.iter().zip(&weights).zip(values);
            Some(nodes.map(|((&t, w), (re, im))| (t, w * re / t, w * im / t)).collect())
        };
        Some(Grid { fine: make(twenty_four())?, coarse: make(sixteen())? })
    }
}

/// Returns the edges of the panels from 0 to the cut-off.
fn edges(body: &Body, cut: Cut, reach: f64) -> Vec<f64> {
    let longest = PHASE / (reach.max(4.0 * body.spread()) + body.turning());
    let order = 1.0 + body.lowest_dof().min(6.0);
    let first = longest * libm::pow(1e-15, 1.0 / order);
    let mut edges = vec![0.0, first.min(cut.limit)];
    let mut at = edges[1];
    while at < cut.limit {
        at = (at * GROWTH).min(at + longest).min(cut.limit);
        edges.push(at);
    }
    edges
}

/// Returns sine and cosine of the product, whose rounding error is made good (Dekker's exact product).
fn sine_cosine(t: f64, x: f64) -> (f64, f64) {
    let product = t * x;
    let split = |a: f64| {
        let c = 134_217_729.0 * a;
        let high = c - (c - a);
        (high, a - high)
    };
    let ((th, tl), (xh, xl)) = (split(t), split(x));
    let rest = ((th * xh - product) + th * xl + tl * xh) + tl * xl;
    let (sin, cos) = libm::sincos(product);
    (sin + rest * cos, cos - rest * sin)
}
