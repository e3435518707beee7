//! A sum of independent parts and stars: its characteristic function, and how far that and the sum reach.

use super::shape::{NORMAL_REACH, Part, Shape, canonical};
use super::star::{Grid, Star, total_reach};
use super::tabulated::Tabulated;

/// What the characteristic function beyond the cut-off may add to a probability.
const TRUNCATION: f64 = 3e-16;

/// A sum of independent parts and stars.
#[derive(Debug, Clone)]
pub struct Body {
    /// Parts, in canonical order.
    pub parts: Vec<Part>,
    /// Stars.
    pub stars: Vec<Star>,
}

/// Where the characteristic function may be cut off.
#[derive(Debug, Clone, Copy)]
pub struct Cut {
    /// Largest t.
    pub limit: f64,
    /// What lies beyond adds at most this to a probability.
    pub error: f64,
}

impl Body {
    /// Returns the sum of `parts` and `stars`.
    pub fn new(parts: Vec<Part>, stars: Vec<Star>) -> Body {
        Body { parts: canonical(parts), stars }
    }

    /// Whether a part has the tails of t.
    pub fn is_heavy(&self) -> bool {
        self.parts.iter().any(Part::is_heavy) || self.stars.iter().any(Star::is_heavy)
    }

    /// Whether −S is distributed like S.
    pub fn is_symmetric(&self) -> bool {
        self.stars.iter().all(Star::is_symmetric)
    }

    /// Returns −S.
    pub fn mirrored(&self) -> Body {
        let stars = self.stars.iter().map(Star::mirrored).collect();
        Body { parts: self.parts.clone(), stars }
    }

    /// Returns where |S| is beyond with next to no probability (below 1e-17).
    pub fn reach(&self) -> f64 {
        total_reach(&self.parts) + self.stars.iter().map(Star::reach).sum::<f64>()
    }

    /// Returns the standard deviation, t taken by its scale.
    pub fn spread(&self) -> f64 {
        let one = |it: &Part| {
            let square = match it.shape {
                Shape::T(_) => it.scale * it.scale,
                _ => it.variance_proxy(),
            };
            square * it.count as f64
        };
        let stars: f64 = self.stars.iter().map(|it| it.spread() * it.spread()).sum();
        (self.parts.iter().map(one).sum::<f64>() + stars).sqrt()
    }

    /// Returns the half-width of the bounded part of S: how fast its characteristic function turns.
    pub fn turning(&self) -> f64 {
        let parts = self.parts.iter().map(|it| match it.half_width() {
            Some(it_width) => it_width * it.count as f64,
            None => 0.0,
        });
        let stars = self.stars.iter().map(|it| it.reach().min(2.0 * NORMAL_REACH * it.spread()));
        parts.sum::<f64>() + stars.sum::<f64>()
    }

    /// Returns the lowest ν of t in S.
    pub fn lowest_dof(&self) -> f64 {
        let rays = self.stars.iter().flat_map(|it| {
            let rays = it.rays.iter().flat_map(|ray| &ray.parts);
            rays.chain(std::iter::once(&it.centre))
        });
        let dof = |it: &Part| if let Shape::T(cf) = &it.shape { cf.dof() } else { f64::INFINITY };
        self.parts.iter().chain(rays).map(dof).fold(f64::INFINITY, f64::min)
    }

    /// Returns the cut-off t beyond which the characteristic function is next to nothing; `None` where
    /// it is beyond `most`.
    pub fn cut(&self, most: f64) -> Option<Cut> {
        let grids: Option<Vec<Grid>> =
            self.stars.iter().map(|it| it.grid(8.0 / it.spread())).collect();
        let grids = grids?;
        let envelope = |t: f64| {
            let parts: f64 = self.parts.iter().map(|it| it.envelope(t)).product();
            let stars = self.stars.iter().zip(&grids);
            parts
                * stars.map(|(star, grid)| (2.0 * grid.envelope(star, t)).min(1.0)).product::<f64>()
        };
        // ∫ of a power law t^(−q)/t beyond T is T^(−q)/q, and q grows with t.
        let beyond = |t: f64| {
            let here = envelope(t);
            let order = libm::log(here / envelope(1.1 * t).max(1e-300)) / libm::log(1.1);
            if here < 1e-290 { 0.0 } else { here / (order.max(0.1) * std::f64::consts::PI) }
        };
        let mut high = 1.0 / self.spread();
        while beyond(high) > TRUNCATION {
            high *= 2.0;
            if high > most {
                return None;
            }
        }
        let mut low = 0.5 * high;
        while high > 1.05 * low {
            let middle = (low * high).sqrt();
            if beyond(middle) > TRUNCATION { low = middle } else { high = middle }
        }
        (high <= most).then(|| Cut { limit: high, error: beyond(high) })
    }

    /// Returns the characteristic function at each of `ts`, rising, as real and imaginary parts; `None`
    /// where a star needs too many nodes.
    pub fn characteristic(&self, ts: &[f64]) -> Option<Vec<(f64, f64)>> {
        let mut values: Vec<(f64, f64)> = ts
            .iter()
            .map(|&t| {
                let mut product = 1.0;
                for it in &self.parts {
                    if product == 0.0 {
                        break;
                    }
                    product *= it.characteristic(t);
                }
                (product, 0.0)
            })
            .collect();
        for star in &self.stars {
            let end = ts.last().copied().unwrap_or(0.0);
            let mut table = Tabulated::new(star, ts.len(), end)?;
            for (&t, value) in ts.iter().zip(&mut values) {
                if value.0.abs() + value.1.abs() < 1e-25 {
                    *value = (0.0, 0.0);
                    continue;
                }
                let (re, im) = table.at(t)?;
                *value = (value.0 * re - value.1 * im, value.0 * im + value.1 * re);
            }
        }
        Some(values)
    }

    /// Returns the sum of S and `more`.
    pub fn with(&self, more: Vec<Part>) -> Body {
        let mut parts = self.parts.clone();
        parts.extend(more);
        Body::new(parts, self.stars.clone())
    }

    /// Returns S without one of the part at `index`.
    pub fn without(&self, index: usize) -> Body {
        let mut rest = self.clone();
        if rest.parts[index].count > 1 {
            rest.parts[index].count -= 1;
        } else {
            rest.parts.remove(index);
        }
        rest
    }
}
