//! The gauge block of JCGM 101:2008, 9.5, as an experiment: Table 10 and both models. Lengths in nm,
//! temperatures in °C; scales of t as the table rounds them.

use surebound::evidence::{Distribution, Piece};
use surebound::fault::Origin;
use surebound::model::expr::Operator;
use surebound::model::{Tape, TapeBuilder};
use surebound::propagate::simulation::{Law, Source, Target};

/// Estimates: L_s, D, d1, d2, α_s, θ₀, Δ, δα, δθ, then the nominal length and 1.
pub const LEAVES: [f64; 11] =
    [50_000_623.0, 215.0, 0.0, 0.0, 11.5e-6, -0.1, 0.0, 0.0, 0.0, 50_000_000.0, 1.0];

/// Returns a source that moves one leaf.
pub fn source(name: &str, leaf: usize, piece: Piece) -> Source {
    let targets = vec![Target { leaf, factor: 1.0 }];
    Source { name: name.to_owned(), place: None, law: Law::Pieces(vec![piece]), targets }
}

/// Table 10: limits a and b are ±(b - a)/2 about the estimate; CTrap(a, b, d) has a half-width that is
/// itself rectangular within d.
pub fn sources() -> Vec<Source> {
    let t = |scale, dof| Piece::one(Distribution::T, scale, dof);
    let of = |shape, u| Piece::one(shape, u, f64::INFINITY);
    let doubtful = |half: f64, d: f64| {
        of(Distribution::CurvilinearTrapezoidal(d / half), (half * half / 3.0 + d * d / 9.0).sqrt())
    };
    vec![
        source("L_s", 0, t(25.0, 18.0)),
        source("D", 1, t(6.0, 24.0)),
        source("d1", 2, t(4.0, 5.0)),
        source("d2", 3, t(7.0, 8.0)),
        source("alpha_s", 4, of(Distribution::Rectangular, 2e-6 / 3f64.sqrt())),
        source("theta_0", 5, of(Distribution::Normal, 0.2)),
        source("Delta", 6, of(Distribution::Arcsine, 0.5 / 2f64.sqrt())),
        source("delta alpha", 7, doubtful(1e-6, 0.1e-6)),
        source("delta theta", 8, doubtful(0.05, 0.025)),
    ]
}

/// Returns the linear or the non-linear model of 9.5.2 as a tape.
pub fn tape(linear: bool) -> Tape {
    let mut tape = TapeBuilder::new();
    let [length, d, d1, d2, alpha, theta, cyclic, d_alpha, d_theta, nominal, one] =
        std::array::from_fn(|leaf| tape.leaf(leaf, Origin::NONE));
    let mut of = |operator, a, b| tape.binary(operator, a, b, Origin::NONE);
    use Operator::{Add, Divide, Multiply, Subtract};
    let room = of(Add, theta, cyclic);
    let difference = {
        let all = of(Add, d, d1);
        of(Add, all, d2)
    };
    let result = if linear {
        let by_alpha = of(Multiply, d_alpha, room);
        let by_theta = of(Multiply, alpha, d_theta);
        let relative = of(Add, by_alpha, by_theta);
        let expansion = of(Multiply, length, relative);
        let sum = of(Add, length, difference);
        of(Subtract, sum, expansion)
    } else {
        let standard = of(Subtract, room, d_theta);
        let standard = of(Multiply, alpha, standard);
        let standard = of(Add, one, standard);
        let standard = of(Multiply, length, standard);
        let above = of(Add, standard, difference);
        let below = of(Add, alpha, d_alpha);
        let below = of(Multiply, below, room);
        let below = of(Add, one, below);
        of(Divide, above, below)
    };
    let result = of(Subtract, result, nominal);
    tape.finish(result)
}
