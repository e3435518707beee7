//! Which way a sum is computed, by predicted cost: closed form, peeling over a series, graded inversion, or
//! direct integration over one variable.

use super::Refusal;
use super::body::Body;
use super::graded::{self, Graded};
use super::layer::{Average, Condition};
use super::peel::{Leaf, Peel};
use super::series::{self, Series};
use super::shape::{Part, Shape};

/// Most terms of a series of rectangles and normals: beyond it another rectangle is peeled.
pub const FAST: f64 = 1000.0;
/// Most terms of a series of other light tails.
const TERMS: f64 = 30_000.0;
/// Most terms where a star is in it.
const STAR_TERMS: f64 = 4_000.0;
/// Most nodes of a graded grid, unless there is no other way.
const NODES: f64 = 60_000.0;

/// Most parts of one kind: of more, rectangles would have to be peeled by the thousand.
const COUNT: usize = 20_000;

/// Relative rounding of x and of half-widths.
pub const ROUNDING: f64 = 4.0 * f64::EPSILON;

/// A way to compute a sum.
#[derive(Debug, Clone)]
pub enum Engine {
    /// Nothing: zero, exactly.
    Point,
    /// One part of count 1.
    Closed(Part),
    /// Rectangles over a series, a normal or nothing.
    Peel(Peel),
    /// Graded inversion.
    Graded(Graded),
    /// Direct integration over one part.
    Average(Box<Average>),
    /// Direct integration over the centre of a star.
    Condition(Box<Condition>),
}

impl Engine {
    /// Returns P(S > x) and a bound on its error, that of half-widths rounded to binary64 included.
    pub fn survival(&self, x: f64) -> (f64, f64) {
        let (value, error) = self.rounded(x);
        let shift = match self {
            Engine::Closed(_) | Engine::Peel(_) if error < 1.0 => {
                x.abs() * self.density(x).min(1e6)
            }
            _ => 1.0,
        };
        (value, error + ROUNDING * shift)
    }

    /// Returns P(S > x) with a bound on the error of its computation alone, as if x and all half-widths
    /// were exact.
    pub fn rounded(&self, x: f64) -> (f64, f64) {
        match self {
            Engine::Point => (if x < 0.0 { 1.0 } else { 0.0 }, 0.0),
            Engine::Closed(part) => {
                let value = part.survival(x);
                (value, 8.0 * f64::EPSILON * value)
            }
            // The rectangles are symmetric and the leaf's series is that of −S.
            Engine::Peel(peel) => peel.below(-x),
            Engine::Graded(graded) => graded.survival(x).unwrap_or((0.5, 1.0)),
            Engine::Average(average) => average.survival(x),
            Engine::Condition(condition) => condition.survival(x),
        }
    }

    /// Returns the density at `x`.
    pub fn density(&self, x: f64) -> f64 {
        match self {
            Engine::Point => 0.0,
            Engine::Closed(part) => part.density(x),
            Engine::Peel(peel) => peel.density(-x),
            Engine::Graded(graded) => graded.density(x).unwrap_or(0.0),
            Engine::Average(average) => average.density(x),
            Engine::Condition(condition) => condition.density(x),
        }
    }
}

/// Returns a way without direct integration, where there is one.
pub fn direct(body: &Body) -> Option<Engine> {
    if body.parts.iter().any(|it| it.count > COUNT) {
        return None;
    }
    match (&body.parts[..], body.stars.is_empty()) {
        ([], true) => Some(Engine::Point),
        ([one], true) if one.count == 1 => Some(Engine::Closed(one.clone())),
        _ if body.is_heavy() => graded_within(body, NODES),
        _ => peeled(body),
    }
}

/// Returns a way to compute the sum.
///
/// # Errors
///
/// [`Refusal::Rough`] where none is within reach.
pub fn plan(body: &Body) -> Result<Engine, Refusal> {
    if body.parts.iter().any(|it| it.count > COUNT) {
        return Err(Refusal::Rough);
    }
    if let Some(engine) = direct(body) {
        return Ok(engine);
    }
    let rough = (0..body.parts.len()).filter(|it| {
        matches!(body.parts[*it].shape, Shape::Rectangle | Shape::Arcsine | Shape::Curvilinear(_))
    });
    let scale = |it: &usize| body.parts[*it].scale;
    let widest = rough.max_by(|a, b| scale(a).total_cmp(&scale(b)));
    let star = (0..body.stars.len())
        .max_by(|a, b| body.stars[*a].spread().total_cmp(&body.stars[*b].spread()));
    // Every y of a star plans anew, which is dear over t: there a wider rough part comes first.
    let wide = |index: usize, star: usize| scale(&index) > body.stars[star].spread();
    match (star, widest) {
        (Some(star), Some(index)) if body.is_heavy() && wide(index, star) => average(body, index),
        (Some(star), _) => {
            let mut rest = body.clone();
            let star = rest.stars.remove(star);
            // A mean over one star of means over another: every node would plan and integrate anew.
            if !rest.stars.is_empty() {
                return Err(Refusal::Rough);
            }
            Ok(Engine::Condition(Box::new(Condition::under(star, rest))))
        }
        (None, Some(index)) => average(body, index),
        (None, None) => graded_within(body, f64::INFINITY).ok_or(Refusal::Rough),
    }
}

fn average(body: &Body, index: usize) -> Result<Engine, Refusal> {
    let outer = Part { count: 1, ..body.parts[index].clone() };
    Ok(Engine::Average(Box::new(Average::new(outer, &body.without(index))?)))
}
/// Returns graded inversion, if it takes at most `most` nodes.
fn graded_within(body: &Body, most: f64) -> Option<Engine> {
    let reach = 8.0 * body.spread();
    let cut = body.cut(most * 0.3 / (reach + body.turning()))?;
    let within = graded::nodes(body, cut, reach) <= most;
    within.then(|| Engine::Graded(Graded::new(body.clone(), cut)))
}

/// Returns the first number of peeled rectangles, widest first, that leaves a rest whose series is short
/// enough; or all of them, over a normal or nothing.
fn peeled(body: &Body) -> Option<Engine> {
    // The series of −S, see `Engine::survival`.
    let mut rest = body.mirrored();
    let mut widths = Vec::new();
    let plain = |it: &Part| matches!(it.shape, Shape::Rectangle | Shape::Normal);
    let most = match (rest.stars.is_empty(), rest.parts.iter().all(plain)) {
        (true, true) => FAST,
        (true, false) => TERMS,
        (false, _) => STAR_TERMS,
    };
    loop {
        match &rest.parts[..] {
            [] if rest.stars.is_empty() => {
                return Some(Engine::Peel(Peel::new(widths, Leaf::Point)));
            }
            [Part { shape: Shape::Normal, scale, .. }] if rest.stars.is_empty() => {
                return Some(Engine::Peel(Peel::new(widths, Leaf::Normal(*scale))));
            }
            _ => {}
        }
        let cut = rest.cut(most * std::f64::consts::PI / rest.reach());
        if let Some(cut) = cut.filter(|it| series::length(&rest, *it) <= most)
            && let Some(series) = Series::new(&rest, cut, widths.len())
        {
            return Some(Engine::Peel(Peel::new(widths, Leaf::Series(series))));
        }
        let index = rest.parts.iter().position(|it| matches!(it.shape, Shape::Rectangle))?;
        widths.push(rest.parts[index].scale);
        rest = rest.without(index);
    }
}
