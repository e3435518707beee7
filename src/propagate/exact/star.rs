//! A term in which one variable multiplies others: slope·Y + Σ (a_k + c_k·Y)·X_k.
//!
//! Given Y it is a sum of scaled parts; its characteristic function is the mean over Y of theirs. The
//! nodes over Y follow the phase that the largest t in use turns through.

use super::gauss::twenty_four;
use super::shape::{Part, Shape, canonical};

/// Phase over one panel of 24 nodes.
const PHASE: f64 = 10.0;
/// Most nodes over Y for one t.
const NODES: usize = 60_000;

/// (a + c·Y)·X, X a sum of parts.
#[derive(Debug, Clone)]
pub struct Ray {
    /// a.
    pub slope: f64,
    /// c.
    pub product: f64,
    /// X.
    pub parts: Vec<Part>,
}

/// slope·Y + Σ (a_k + c_k·Y)·X_k.
#[derive(Debug, Clone)]
pub struct Star {
    /// Y, of count 1.
    pub centre: Part,
    /// Its slope.
    pub slope: f64,
    /// The rest.
    pub rays: Vec<Ray>,
}

/// Nodes y and weights over Y, good up to |t| = `limit`.
#[derive(Debug, Clone)]
pub struct Grid {
    limit: f64,
    nodes: Vec<(f64, f64)>,
}

impl Star {
    /// Whether −S is distributed like S.
    pub fn is_symmetric(&self) -> bool {
        self.slope == 0.0 || self.rays.iter().all(|it| it.slope == 0.0 || it.product == 0.0)
    }

    /// Whether a part has the tails of t.
    pub fn is_heavy(&self) -> bool {
        self.centre.is_heavy() || self.rays.iter().flat_map(|it| &it.parts).any(Part::is_heavy)
    }

    /// Returns the term whose sum is minus this one's.
    pub fn mirrored(&self) -> Star {
        let mut other = self.clone();
        for it in &mut other.rays {
            it.product = -it.product;
        }
        other
    }

    /// Returns what S is made of where Y = y, but for the shift slope·y.
    pub fn given(&self, y: f64) -> Vec<Part> {
        let mut parts = Vec::new();
        for ray in &self.rays {
            let factor = ray.slope + ray.product * y;
            parts.extend(ray.parts.iter().map(|it| it.times(factor)).filter(|it| it.scale > 0.0));
        }
        canonical(parts)
    }

    /// Returns where |S| is beyond with next to no probability.
    pub fn reach(&self) -> f64 {
        let y = self.centre.reach();
        let ray = |it: &Ray| (it.slope.abs() + it.product.abs() * y) * total_reach(&it.parts);
        self.slope.abs() * y + self.rays.iter().map(ray).sum::<f64>()
    }

    /// Returns the standard deviation, t taken by its scale.
    pub fn spread(&self) -> f64 {
        let typical = |it: &Part| match it.shape {
            Shape::T(_) => it.scale * it.scale,
            _ => it.variance_proxy(),
        };
        let y = typical(&self.centre);
        let ray = |it: &Ray| {
            let x: f64 = it.parts.iter().map(|part| typical(part) * part.count as f64).sum();
            (it.slope * it.slope + it.product * it.product * y) * x
        };
        (self.slope * self.slope * y + self.rays.iter().map(ray).sum::<f64>()).sqrt()
    }

    /// Returns nodes over Y for all |t| ≤ `limit`; `None` where there would be too many.
    ///
    /// Method: M38.
    pub fn grid(&self, limit: f64) -> Option<Grid> {
        let heavy_ray = self.rays.iter().flat_map(|it| &it.parts).any(Part::is_heavy);
        let frequency = |it: &Ray| it.product.abs() * typical_reach(&it.parts);
        let rate = limit * (self.slope.abs() + self.rays.iter().map(frequency).sum::<f64>());
        let breaks = self.breaks(heavy_ray, rate);
        let mut nodes = Vec::new();
        for pair in breaks.windows(2) {
            let pieces = ((pair[1] - pair[0]) * rate / PHASE).ceil().max(1.0);
            if pieces * 24.0 + nodes.len() as f64 > NODES as f64 {
                return None;
            }
            let half = 0.5 * (pair[1] - pair[0]) / pieces;
            for k in 0..pieces as usize {
                let middle = pair[0] + (2.0 * k as f64 + 1.0) * half;
                nodes.extend(
                    twenty_four().iter().map(|&(x, w)| self.node(middle + half * x, half * w)),
                );
            }
        }
        let sum: f64 = nodes.iter().map(|it| it.1).sum();
        nodes.iter_mut().for_each(|it| it.1 /= sum);
        Some(Grid { limit, nodes })
    }

    /// An arcsine is taken as a·sin θ, so that its poles at the ends are none.
    fn node(&self, at: f64, weight: f64) -> (f64, f64) {
        match self.centre.shape {
            Shape::Arcsine => (self.centre.scale * libm::sin(at / self.centre.scale), weight),
            _ => (at, weight * self.centre.density(at)),
        }
    }

    fn breaks(&self, heavy_ray: bool, rate: f64) -> Vec<f64> {
        let scale = self.centre.scale;
        let arcsine = matches!(self.centre.shape, Shape::Arcsine);
        let end = if arcsine { scale * std::f64::consts::FRAC_PI_2 } else { self.centre.reach() };
        let mut all = vec![0.0];
        let mut at = scale;
        while at < end {
            all.extend([at, -at]);
            at *= if self.centre.is_heavy() { 2.0 } else { 1.5 };
        }
        all.extend([end, -end]);
        if !arcsine {
            all.extend(self.centre.kinks().into_iter().flat_map(|it| [it, -it]));
        }
        // Where a factor vanishes, t's characteristic function is |t|^ν; a curvilinear trapezoid may be
        // logarithmic at zero.
        let mut singular = vec![0.0];
        let zeros =
            self.rays.iter().filter(|it| it.product != 0.0).map(|it| -it.slope / it.product);
        let zeros = zeros.filter(|it| it.abs() < self.centre.reach());
        singular.extend(zeros.map(|it| if arcsine { scale * libm::asin(it / scale) } else { it }));
        if heavy_ray || matches!(self.centre.shape, Shape::Curvilinear(_)) {
            for point in singular {
                all.push(point);
                let mut step = scale.min(1.0 / rate);
                while step > 1e-13 * scale.min(1.0 / rate) {
                    all.extend([point - step, point + step]);
                    step /= 4.0;
                }
            }
        }
        all.retain(|it| it.abs() <= end);
        all.sort_by(f64::total_cmp);
        all.dedup();
        all
    }
}

impl Grid {
    /// Returns the largest |t| that it serves.
    pub fn limit(&self) -> f64 {
        self.limit
    }

    /// Returns the characteristic function of `star` at `t`: real and imaginary part.
    pub fn characteristic(&self, star: &Star, t: f64) -> (f64, f64) {
        let (mut re, mut im) = (0.0, 0.0);
        for &(y, w) in &self.nodes {
            let mut factor = w;
            for ray in &star.rays {
                let inner = t * (ray.slope + ray.product * y);
                factor = ray.parts.iter().fold(factor, |it, part| it * part.characteristic(inner));
            }
            if star.slope == 0.0 {
                re += factor;
            } else {
                let (sin, cos) = libm::sincos(t * star.slope * y);
                re += factor * cos;
                im += factor * sin;
            }
        }
        (re, if star.is_symmetric() { 0.0 } else { im })
    }

    /// Returns a bound on |characteristic function|, but for the fineness of the nodes.
    pub fn envelope(&self, star: &Star, t: f64) -> f64 {
        let mut sum = 0.0;
        for &(y, w) in &self.nodes {
            let mut factor = w;
            for ray in &star.rays {
                let inner = t * (ray.slope + ray.product * y);
                factor = ray.parts.iter().fold(factor, |it, part| it * part.envelope(inner));
            }
            sum += factor;
        }
        sum
    }
}

/// Returns where the sum of `parts` is beyond with next to no probability.
pub fn total_reach(parts: &[Part]) -> f64 {
    let all: f64 = parts.iter().map(|it| it.reach() * it.count as f64).sum();
    let proxy: f64 = parts.iter().map(|it| it.variance_proxy() * it.count as f64).sum();
    all.min(super::shape::NORMAL_REACH * proxy.sqrt())
}

/// Returns how fast the characteristic function of `parts` turns or falls.
fn typical_reach(parts: &[Part]) -> f64 {
    let one = |it: &Part| it.half_width().unwrap_or(3.0 * it.scale) * it.count as f64;
    parts.iter().map(one).sum()
}
