//! The error of a measurement, measured less true, in one form for all densities: tails, masses between
//! two places, density where there is one.

use crate::evidence::distribution::normal;
use crate::evidence::distribution::student::{self, Student};
use crate::propagate::density::Density;

/// The distribution of measured less true, in SI: the density of true less measured, reflected.
pub(super) struct MeasurementError<'a> {
    density: &'a Density,
    /// Of a t: u, and the distribution of the error over u.
    student: Option<(f64, Student)>,
}

impl<'a> MeasurementError<'a> {
    /// Returns the error of a measurement whose true value is so distributed about the measured one.
    pub(super) fn new(density: &'a Density) -> MeasurementError<'a> {
        let student = match density {
            Density::T { u, dof } => Student::new(*dof).map(|it| (*u, it)),
            _ => None,
        };
        MeasurementError { density, student }
    }

    /// Returns the probability of an error above `x`.
    pub(super) fn above(&self, x: f64) -> Option<f64> {
        match x {
            f64::INFINITY => Some(0.0),
            f64::NEG_INFINITY => Some(1.0),
            _ => self.density.below(x),
        }
    }

    /// Returns the probability of an error below `x`.
    pub(super) fn below(&self, x: f64) -> Option<f64> {
        match x {
            f64::INFINITY => Some(1.0),
            f64::NEG_INFINITY => Some(0.0),
            _ => self.density.above(-x),
        }
    }

    /// Returns the probability of an error between `a` and `b`, from tails of one side.
    pub(super) fn between(&self, a: f64, b: f64) -> Option<f64> {
        if b <= a {
            return Some(0.0);
        }
        if let Some(u) = self.normal() {
            return Some(normal::between(a / u, b / u));
        }
        if let Density::T { u, dof } = self.density {
            return student::between(a / u, b / u, *dof);
        }
        let mass = match (a >= 0.0, b <= 0.0) {
            (true, _) => self.above(a)? - self.above(b)?,
            (_, true) => self.below(b)? - self.below(a)?,
            _ => 1.0 - self.below(a)? - self.above(b)?,
        };
        Some(mass.max(0.0))
    }

    /// Whether the figures make a distribution.
    pub(super) fn is_sound(&self) -> bool {
        match self.density {
            Density::T { u, dof } => *u > 0.0 && u.is_finite() && *dof >= 1.0,
            Density::Exact(_) | Density::Simulated(_) => true,
        }
    }

    /// Returns the density at `x`, where there is one in closed form.
    pub(super) fn density(&self, x: f64) -> Option<f64> {
        self.student.map(|(u, it)| it.density(x / u) / u)
    }

    /// Whether the density is that of t with few degrees of freedom: dear tails, a cheap density.
    pub(super) fn is_student(&self) -> bool {
        matches!(self.density, Density::T { dof, .. } if dof.is_finite())
    }

    /// Returns u where the density is normal.
    pub(super) fn normal(&self) -> Option<f64> {
        match self.density {
            Density::T { u, dof } if dof.is_infinite() => Some(*u),
            _ => None,
        }
    }

    /// Returns the relative error that an integral over this is taken to: what the tails are good for. Those of
    /// a simulation are broken lines, whose scatter is far above 1e-4.
    pub(super) fn relative(&self) -> f64 {
        match self.density {
            Density::T { .. } => 1e-10,
            Density::Exact(_) => 1e-7,
            Density::Simulated(_) => 1e-4,
        }
    }

    /// Whether tails are known to few digits only.
    pub(super) fn is_rough(&self) -> bool {
        !matches!(self.density, Density::T { .. })
    }
    /// Returns a width that tells the scale of the error.
    pub(super) fn scale(&self) -> Option<f64> {
        self.density.scale()
    }
}
