//! The characteristic function of a star with light tails, read off polynomials: a mean over many nodes
//! each, its values are dear, but it turns no faster than the star reaches.
//!
//! A function whose transform vanishes beyond R is, over a panel of half-width h, a Chebyshev series whose
//! n-th coefficient is at most 2·J_n(hR). Source: Jacobi's expansion of exp(iz cos θ), DLMF 10.12.

use super::chebyshev::{coefficients, node, value};
use super::star::{Grid, Star};

/// Nodes of a panel, and hR over it: 2·J₂₄(4) is 5e-17.
const NODES: usize = 24;
const PHASE: f64 = 4.0;

/// A star's characteristic function at rising t.
pub struct Tabulated<'a> {
    star: &'a Star,
    grid: Grid,
    /// Width of a panel; nothing where each value is worked out by itself.
    width: Option<f64>,
    panel: Option<Panel>,
}

/// Coefficients of real part and imaginary part over t; the latter keeps its digits near zero so.
struct Panel {
    index: f64,
    re: [f64; NODES],
    im: [f64; NODES],
}

impl Tabulated<'_> {
    /// Prepares about `count` values up to `end`; `None` where the star needs too many nodes.
    ///
    /// Method: M108.
    pub fn new(star: &Star, count: usize, end: f64) -> Option<Tabulated<'_>> {
        let grid = star.grid(4.0 / star.spread())?;
        let width = 2.0 * PHASE / star.reach();
        let panels = (end / width).ceil();
        let saves = 2.0 * panels * (NODES as f64) < count as f64;
        let width = (saves && !star.is_heavy() && width.is_finite()).then_some(width);
        Some(Tabulated { star, grid, width, panel: None })
    }

    /// Returns real and imaginary part at `t` > 0; `None` where the star needs too many nodes.
    pub fn at(&mut self, t: f64) -> Option<(f64, f64)> {
        let Some(width) = self.width else { return self.exactly(t) };
        let index = (t / width).floor();
        let panel = match self.panel.take() {
            Some(panel) if panel.index == index => panel,
            _ => self.fill(index, width)?,
        };
        let place = 2.0 * (t / width - index) - 1.0;
        let im = if self.star.is_symmetric() { 0.0 } else { t * value(&panel.im, place) };
        let found = (value(&panel.re, place), im);
        self.panel = Some(panel);
        Some(found)
    }

    fn exactly(&mut self, t: f64) -> Option<(f64, f64)> {
        if t > self.grid.limit() {
            self.grid = self.star.grid((2.0 * self.grid.limit()).max(t))?;
        }
        Some(self.grid.characteristic(self.star, t))
    }

    fn fill(&mut self, index: f64, width: f64) -> Option<Panel> {
        let (mut re, mut im) = ([0.0; NODES], [0.0; NODES]);
        for k in (0..NODES).rev() {
            let t = width * (index + 0.5 * (1.0 + node::<NODES>(k)));
            let found = self.exactly(t)?;
            (re[k], im[k]) = (found.0, found.1 / t);
        }
        Some(Panel { index, re: coefficients(&re), im: coefficients(&im) })
    }
}

#[cfg(test)]
mod tests {
    use super::super::shape::{Part, Shape};
    use super::super::star::Ray;
    use super::*;

    fn part(shape: Shape, scale: f64) -> Part {
        Part { shape, scale, count: 1 }
    }

    /// Against the mean over the nodes, value by value, of stars with and without symmetry. What is read off may
    /// differ by the rounding of 24 terms and of the mean; an imaginary part, that starts at zero, less than t.
    /// Method: M108.
    #[test]
    fn what_is_read_off_is_the_mean_itself() {
        let ray =
            |slope, product, shape, scale| Ray { slope, product, parts: vec![part(shape, scale)] };
        let stars = [
            (0.0, ray(0.0, 0.7, Shape::Rectangle, 1.0), part(Shape::Rectangle, 1.0)),
            (0.4, ray(0.3, 0.7, Shape::Rectangle, 0.5), part(Shape::Normal, 0.8)),
            (0.1, ray(0.2, 0.9, Shape::Normal, 0.3), part(Shape::Arcsine, 1.1)),
        ];
        for (slope, ray, centre) in stars {
            let star = Star { centre, slope, rays: vec![ray] };
            let end = 6.0 / star.spread();
            let mut table = Tabulated::new(&star, 4000, end).unwrap();
            assert!(table.width.is_some(), "4000 values are worth a table");
            let mut each = Tabulated::new(&star, 10, end).unwrap();
            assert!(each.width.is_none(), "10 are not");
            for k in 1..=4000 {
                let t = end * f64::from(k) / 4000.0;
                let (read, exact) = (table.at(t).unwrap(), each.at(t).unwrap());
                assert!((read.0 - exact.0).abs() < 4e-15, "{slope} {t}: {read:?} {exact:?}");
                assert!(
                    (read.1 - exact.1).abs() < 4e-15 * t.max(1e-3),
                    "{slope} {t}: {read:?} {exact:?}"
                );
            }
        }
    }
}
