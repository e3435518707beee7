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
//! | [`card`] | grid | runs of readings with one verdict, readings near the limits |
//! | [`sheet`] | grid | thresholds and pieces of sentences for a page at the bench |
//! | [`judge`] | evaluation, readings | the judgement |
//! | `unknowns` | evaluation, tested points | shared unknowns and rests |
//! | [`joint`] | those | the probability that all errors lie within their limits |
//! | [`together`] | judgement | the instrument at all tested points |
//!
//! Sources: JCGM 106:2012; ISO 14253-1; ILAC-G8:09/2019.

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
