//! Decision: an evaluation and readings in; limits, zones, verdicts, risks and reasons out.
//!
//! Stage between `propagate` and `record`. Pure: no files, no clock. A verdict is made in one place
//! ([`Zones::classify`]); the display grid, the printed limits and the sentences follow from it and
//! never decide anything themselves.
//!
//! | file | turns | into |
//! | --- | --- | --- |
//! | [`limits`] | tolerance, point | limits at the point, TUR |
//! | [`background`] | population, point | the prior distribution of errors |
//! | [`global`] | prior, limits, density | consumer's and producer's risk, guard bands, shares |
//! | `guard` | decision, limits, uncertainty | the guard band |
//! | [`compare`] | evaluated point | the same under other rules |
//! | [`zones`] | decision, limits, uncertainty | guard band, zones, classification |
//! | [`grid`] | zones, display step | the readings that the display can show in each zone |
//! | [`figures`] | values | texts in what the display can show |
//! | [`printed`] | zones | limits for paper, rounded inwards |
//! | [`point`] | evaluated point, decision | tolerance, TUR and zones of the point |
//! | [`risk`] | error, limits, uncertainty | specific risk |
//! | [`reason`] | all of these | one sentence |
//! | [`readings`] | texts | readings per point |
//! | [`table`] | readings without end | verdicts from the grid, instrument by instrument |
//! | [`card`] | grid | runs of readings with one verdict, readings near the limits |
//! | [`sheet`] | grid | thresholds and pieces of sentences for a page at the bench |
//! | [`judge`] | evaluation, readings | the judgement |
//! | `unknowns` | evaluation, tested points | shared unknowns and rests |
//! | [`joint`] | those | the probability that all errors lie within their limits |
//! | [`together`] | judgement | the instrument at all tested points |
//!
//! Sources: JCGM 106:2012; ISO 14253-1; ILAC-G8:09/2019.
//!
//! # Examples
//!
//! The verdict on one reading (JCGM 106:2012, 7.3, example 1: −5.47 V with u = 0.05 V where at most −5.40 V is
//! wanted; printed: a conformance probability of 0.92):
//!
//! ```
//! use surebound::budget::Budget;
//! use surebound::decide::readings::read_value;
//! use surebound::decide::{Readings, Verdict};
//! use surebound::fault::Origin;
//!
//! let budget = Budget::parse(
//!     "surebound: 1
//! title: Breakdown voltage of a Zener diode
//! measurand: {symbol: V, name: Breakdown voltage, unit: V}
//! contributors: [{name: Voltmeter, standard_uncertainty: 0.05 V}]
//! tolerance: at most -5.40 V
//! decision: {rule: simple}
//! ",
//! )?;
//! let evaluation = budget.evaluate()?;
//! let reading = read_value(&budget, &"-5.47 V".into(), false)?;
//! let judgement = evaluation.judge(&Readings::one(0, reading, Origin::NONE))?;
//! let reported = judgement.points[0].reported().expect("one was given");
//! assert_eq!(reported.verdict, Verdict::Pass);
//! assert_eq!(format!("{:.2}", 1.0 - reported.specific_risk.expect("u is known")), "0.92");
//! # Ok::<(), surebound::fault::Faults>(())
//! ```
//!
//! Risks over a population, and the guard band that a promise takes (JCGM 106:2012, 9.5.3: resistors of
//! 1500 Ω ± 0.2 Ω from a process with a standard deviation of 0.12 Ω, measured with u = 0.04 Ω and accepted
//! within ±0.18 Ω; printed: 90 % conform, consumer's risk 1 %, producer's risk 7 %):
//!
//! ```
//! use surebound::decide::global::{Prior, guard_band_for_consumer, risks};
//! use surebound::propagate::density::Density;
//!
//! let process = Prior::Normal { mean: 1500.0, sd: 0.12 };
//! let (tolerance, acceptance) = ((Some(1499.8), Some(1500.2)), (Some(1499.82), Some(1500.18)));
//! let measurement = Density::T { u: 0.04, dof: f64::INFINITY };
//! let got = risks(&process, tolerance, Some(acceptance), &measurement).expect("all is known");
//! assert_eq!(format!("{:.2}", got.in_tolerance), "0.90");
//! assert_eq!(format!("{:.2}", got.consumer), "0.01");
//! assert_eq!(format!("{:.2}", got.producer), "0.07");
//!
//! // The other way round: that risk takes the guard band that it came from, 0.02 Ω.
//! let w = guard_band_for_consumer(got.consumer, &process, tolerance, &measurement);
//! assert!((w.expect("it can be kept") - 0.02).abs() < 1e-9);
//! ```

pub mod background;
pub mod card;
pub mod compare;
pub mod figures;
pub mod findings;
pub mod global;
pub mod grid;
mod guard;
pub mod joint;
pub mod judge;
pub mod limits;
pub mod point;
pub mod printed;
pub mod readings;
pub mod reason;
pub mod regrade;
pub mod risk;
pub mod several;
pub mod sheet;
pub mod table;
#[cfg(test)]
mod testing;
pub mod together;
mod unknowns;
pub mod verdict;
pub mod zones;

pub use card::{Card, CardReading, Run};
pub use figures::Figures;
pub use grid::Grid;
pub use judge::{Judged, Judgement, PointJudgement};
pub use limits::{Limit, Limits, Side, Tur};
pub use point::{PointDecision, PointZones};
pub use printed::Printed;
pub use readings::{Entry, Place, Readings, find_point, locate};
pub use several::Spread;
pub use together::AllPoints;
pub use verdict::{Cause, Verdict};
pub use zones::Zones;
