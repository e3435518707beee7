//! Evidence: what is known about a contributor, turned into estimate, standard uncertainty,
//! distribution and degrees of freedom at one point.
//!
//! Uses `budget`; knows nothing of models or of other contributors.
//!
//! # Examples
//!
//! Factors and tails as they are printed: JCGM 100:2008, table G.2 (ν = 10, 95 %: 2.23; ν = ∞: 1.96), and
//! by hand, Student's t with one degree of freedom is the Cauchy distribution, a quarter of which lies above 1.
//!
//! ```
//! use surebound::evidence::Distribution;
//! use surebound::evidence::distribution::{normal, student};
//!
//! assert_eq!(format!("{:.2}", student::two_sided_factor(0.95, 10.0).unwrap()), "2.23");
//! assert_eq!(format!("{:.2}", normal::two_sided_factor(0.95).unwrap()), "1.96");
//! assert!((student::survival(1.0, 1.0).unwrap() - 0.25).abs() < 1e-15);
//! assert_eq!(student::survival(1.0, 0.5), None); // degrees of freedom begin at 1
//!
//! // Fourth moment over u⁴ of a rectangle of half-width 1, by hand: (1/5)/(1/3)².
//! assert!((Distribution::Rectangular.kurtosis() - 1.8).abs() < 1e-15);
//! ```

pub mod dataset;
pub mod distribution;
pub mod evaluate;
pub mod grade;
pub mod grouped;
pub mod spread;
pub mod statistics;

pub use dataset::{Measured, measured};
pub use evaluate::{Place, mean, mean_formulas, spread, sum_kurtosis, thermal_part};
pub use spread::{Distribution, Piece, Spread};
