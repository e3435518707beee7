//! Jets: values with exact first, second and the needed third derivatives.

/// f + a·ε₁ + b·ε₂ + ab·ε₁ε₂ + b2·ε₂² + ab2·ε₁ε₂² with ε₁² = 0, ε₂³ = 0.
/// Seeded along directions i (ε₁) and j (ε₂): a = f_i, b = f_j, ab = f_ij, b2 = f_jj/2, ab2 = f_ijj/2.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(missing_docs)]
pub struct Jet {
    pub value: f64,
    pub a: f64,
    pub b: f64,
    pub ab: f64,
    pub b2: f64,
    pub ab2: f64,
}
