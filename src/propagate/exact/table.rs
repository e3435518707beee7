//! A survival function as piecewise Chebyshev polynomials on panels that shrink where it is rough.

use super::chebyshev;

/// Nodes of a panel.
const NODES: usize = 16;
/// Deepest bisection.
const DEPTH: usize = 44;
/// Size of the last coefficients at which a panel is good.
const TOLERANCE: f64 = 1e-15;

/// Panels over (−R, R).
#[derive(Debug, Clone)]
pub struct Table {
    edges: Vec<f64>,
    panels: Vec<[f64; NODES]>,
    /// Error of any value.
    error: f64,
}

impl Table {
    /// Tabulates `survival` (value and error) between the first and the last of the rising `breaks`.
    pub fn new(survival: &dyn Fn(f64) -> (f64, f64), breaks: &[f64]) -> Table {
        let mut table = Table { edges: vec![breaks[0]], panels: Vec::new(), error: 0.0 };
        for pair in breaks.windows(2) {
            table.fill(survival, pair[0], pair[1], DEPTH);
        }
        table.error += 4.0 * TOLERANCE;
        table
    }

    /// Whether `x` lies within the table.
    pub fn holds(&self, x: f64) -> bool {
        self.edges[0] <= x && x <= self.edges[self.edges.len() - 1]
    }

    /// Returns the value at an `x` that it holds.
    pub fn survival(&self, x: f64) -> f64 {
        let (panel, u, _) = self.find(x);
        chebyshev::value(panel, u)
    }

    /// Returns minus the derivative at an `x` that it holds.
    pub fn density(&self, x: f64) -> f64 {
        let (panel, u, half) = self.find(x);
        -chebyshev::slope(panel, u) / half
    }

    /// Returns the bound on the error of its values.
    pub fn error(&self) -> f64 {
        self.error
    }

    fn find(&self, x: f64) -> (&[f64; NODES], f64, f64) {
        let after = self.edges.partition_point(|it| *it <= x);
        let index = after.clamp(1, self.panels.len()) - 1;
        let half = 0.5 * (self.edges[index + 1] - self.edges[index]);
        let u = (x - self.edges[index]) / half - 1.0;
        (&self.panels[index], u.clamp(-1.0, 1.0), half)
    }

    fn fill(&mut self, survival: &dyn Fn(f64) -> (f64, f64), lo: f64, hi: f64, depth: usize) {
        let half = 0.5 * (hi - lo);
        let mut values = [0.0; NODES];
        for (k, value) in values.iter_mut().enumerate() {
            let (found, error) = survival(lo + half * (1.0 + chebyshev::node::<NODES>(k)));
            *value = found;
            self.error = self.error.max(error);
        }
        let panel = chebyshev::coefficients(&values);
        let last = panel[NODES - 3..].iter().fold(0.0, |most: f64, it| most.max(it.abs()));
        if last > TOLERANCE.max(0.5 * self.error) && depth > 0 {
            self.fill(survival, lo, lo + half, depth - 1);
            self.fill(survival, lo + half, hi, depth - 1);
            return;
        }
        if last > TOLERANCE {
            self.error = self.error.max(8.0 * last);
        }
        self.edges.push(hi);
        self.panels.push(panel);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A step of width 1e-8, in closed form.
    #[test]
    fn a_narrow_step_is_tabulated_with_its_slope() {
        let step = |x: f64| (0.5 * libm::erfc(x / 1e-8), 0.0);
        let table = Table::new(&step, &[-0.7, 1.0]);
        for z in [-3.0, -0.4, 0.0, 1.7, 4.0] {
            let x = z * 1e-8;
            assert!((table.survival(x) - step(x).0).abs() < 1e-14, "{z}");
        }
        let slope = 1.0 / (1e-8 * std::f64::consts::PI.sqrt());
        assert!((table.density(0.0) / slope - 1.0).abs() < 1e-6);
        assert_eq!(table.error(), 4e-15);
    }
}
