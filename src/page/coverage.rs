//! Which distribution stands behind k and behind the risks, in short phrases.

use super::numbers;
use crate::record::{CoverageMethod, Decision, Density, GuardBandKind, Point, Section};

/// Returns how U was found: at which probability, and with `exact` how good k is.
pub(super) fn reported(section: &Section) -> String {
    let Some(first) = section.points.first() else { return "U".into() };
    let simulated = section.points.iter().find_map(|it| it.simulation.as_ref());
    let by = simulated.map_or(String::new(), |it| format!(" by simulation, seed {}", it.seed));
    let at = match first.coverage.probability {
        Some(probability) => format!("U at {}{by}", numbers::probability(probability)),
        None => "U with a fixed k".into(),
    };
    let errors = section.points.iter().filter_map(|it| it.coverage.relative_error);
    match (first.coverage.method, errors.reduce(f64::max)) {
        (CoverageMethod::Exact, Some(error)) => {
            format!("{at} from the exact distribution, error of k below {}", power_of_ten(error))
        }
        _ => at,
    }
}

/// Returns the power of ten above a bound.
fn power_of_ten(bound: f64) -> String {
    let exponent = libm::floor(libm::log10(bound.max(1e-16))) as i32 + 1;
    format!("1e{exponent}")
}

/// Whether k is made of ν: a distribution of its own has none.
pub(super) fn uses_dof(section: &Section) -> bool {
    let own = |it: CoverageMethod| matches!(it, CoverageMethod::Exact | CoverageMethod::MonteCarlo);
    !section.points.first().is_some_and(|it| own(it.coverage.method))
}

/// Returns which U a guard band is a multiple of, where that is not the one that is reported; else nothing.
pub(super) fn of_guard_band(section: &Section) -> &'static str {
    let asked = section.budget.decision.as_ref().and_then(|it| it.guard_band.as_ref());
    let of_u = asked.is_some_and(|it| {
        use GuardBandKind::{Quadrature, TimesU, TwoPercent};
        matches!(it.kind, TimesU | Quadrature | TwoPercent)
    });
    let other = section.points.first().and_then(other_than_of_test).is_some();
    if of_u && other { " (U by t at 95.45 %)" } else { "" }
}

/// Returns how the reported U of a point was found; `None` where it is that of the test, by t at 95.45 %.
pub(super) fn other_than_of_test(point: &Point) -> Option<String> {
    let (at, method) = (point.coverage.probability, point.coverage.method);
    // The probability of the test is that of two standard deviations of a normal distribution.
    let same = at.is_some_and(|it| (it - 0.9545).abs() < 1e-9);
    let by = match method {
        CoverageMethod::T if same => return None,
        CoverageMethod::T => "by t",
        CoverageMethod::Fixed => return Some("with a fixed k".into()),
        CoverageMethod::Exact => "from the exact distribution",
        CoverageMethod::MonteCarlo => "from the simulated distribution",
    };
    let at = at.map_or(String::new(), |it| format!("at {}, ", numbers::probability(it)));
    Some(format!("{at}{by}"))
}

/// Returns where a risk is from; `None` for t and normal, which are what a reader expects.
pub(super) fn behind(decision: &Decision) -> Option<&'static str> {
    match decision.density {
        Density::Exact => Some("from the exact distribution"),
        Density::MonteCarlo => Some("from the simulated distribution"),
        Density::Normal | Density::T => None,
    }
}

/// Returns where the risks of a budget are from; `None` where all are from t or normal.
pub(super) fn behind_all(section: &Section) -> Option<String> {
    let decisions: Vec<&Decision> =
        section.points.iter().filter_map(|it| it.decision.as_ref()).collect();
    let own: Vec<&'static str> = decisions.iter().filter_map(|it| behind(it)).collect();
    let first = own.first()?;
    match own.len() == decisions.len() {
        true => Some((*first).to_owned()),
        false => Some(format!("at {} of {} points {first}", own.len(), decisions.len())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::sample;

    #[test]
    fn says_how_good_an_exact_factor_is() {
        let mut section = sample::shown().sections.remove(0);
        assert!(!reported(&section).contains("exact") && uses_dof(&section));
        for it in &mut section.points {
            it.coverage.method = CoverageMethod::Exact;
            it.coverage.relative_error = Some(3e-13);
        }
        let said = reported(&section);
        assert!(said.ends_with("from the exact distribution, error of k below 1e-12"), "{said}");
        assert!(!uses_dof(&section));
    }

    #[test]
    fn rounds_a_bound_up() {
        let cases = [(3e-13, "1e-12"), (0.0, "1e-15"), (9.99e-10, "1e-9"), (2e-16, "1e-15")];
        for (bound, expected) in cases {
            assert_eq!(power_of_ten(bound), expected, "{bound}");
        }
    }

    #[test]
    fn says_where_risks_are_from_only_where_it_is_not_t() {
        let mut section = sample::judged().sections.remove(0);
        section.points.truncate(1);
        let mut other = section.points[0].clone();
        assert_eq!(behind_all(&section), None);
        other.decision.as_mut().unwrap().density = Density::Exact;
        section.points.push(other);
        let some = behind_all(&section).unwrap();
        assert_eq!(some, "at 1 of 2 points from the exact distribution");
        section.points.remove(0);
        assert_eq!(behind_all(&section).unwrap(), "from the exact distribution");
    }
}
