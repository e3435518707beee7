//! From common data and readings in groups to their place in the record, in the units they are given in.

use super::from::{dof, in_unit};
use super::{Analysis, CommonData, DataColumn, DataKind, Fit, Grouping, Owner, Section};
use crate::budget::{self, Budget, Contributor, Data, Dataset, Evidence, Target};
use crate::evidence::statistics::Groups;
use crate::evidence::{Measured, grouped};
use crate::propagate::{Evaluation, Value};
use crate::quantity::Unit;

/// Adds what the data of a budget say to its section.
pub(super) fn add(section: &mut Section, evaluation: &Evaluation) {
    let budget = evaluation.budget();
    let data = budget.datasets().iter().zip(evaluation.measured()).enumerate();
    let data: Vec<CommonData> =
        data.map(|(index, (it, said))| one(budget, index, it, said)).collect();
    section.data = (!data.is_empty()).then_some(data);
    for (index, it) in budget.contributors().iter().enumerate() {
        let (Evidence::Groups { grouping, .. }, Some(found)) =
            (&it.evidence, grouped::analysis(&it.evidence))
        else {
            continue;
        };
        let made = analysis(&found, *grouping, &it.unit);
        for point in &mut section.points {
            point.contributors[index].analysis = Some(made.clone());
        }
    }
}

fn analysis(found: &Groups, grouping: budget::Grouping, unit: &Unit) -> Analysis {
    let variance = found.between_variance / unit.si() / unit.si();
    Analysis {
        grouping: match grouping {
            budget::Grouping::Pooled => Grouping::Pooled,
            budget::Grouping::Components => Grouping::Components,
        },
        groups: found.sizes.len() as u64,
        readings: found.sizes.iter().sum::<usize>() as u64,
        within_s: found.within_s / unit.si(),
        within_dof: dof(found.within_dof),
        between_variance: variance,
        between_s: (variance > 0.0).then(|| variance.sqrt()),
        between_dof: dof(found.between_dof),
        f: found.f,
        f_probability: found.f_probability,
    }
}

fn one(budget: &Budget, index: usize, dataset: &Dataset, said: &Measured) -> CommonData {
    let of_it = budget.contributors().iter().filter_map(|it| match it.evidence {
        Evidence::Column { dataset, column, .. } if dataset == index => Some((it, column)),
        _ => None,
    });
    let of_it: Vec<(&Contributor, usize)> = of_it.collect();
    let row = |a: usize| of_it.iter().map(|it| said.correlation[a][it.1]).collect();
    let (kind, n) = match &dataset.data {
        Data::Observations { rows } => (DataKind::Observations, rows.len()),
        Data::Line(line) => (DataKind::Line, line.x.len()),
    };
    let instrument = of_it.iter().any(|it| it.0.owner == budget::Owner::Instrument);
    CommonData {
        name: dataset.name.clone(),
        kind,
        owner: if instrument { Owner::Instrument } else { Owner::Laboratory },
        n: n as u64,
        dof: dof(said.dof),
        columns: of_it.iter().map(|it| column(budget, it.0, it.1, dataset, said)).collect(),
        correlation: of_it.iter().map(|it| row(it.1)).collect(),
        line: fit(dataset, said),
    }
}

fn column(
    budget: &Budget,
    contributor: &Contributor,
    column: usize,
    dataset: &Dataset,
    said: &Measured,
) -> DataColumn {
    let input = match contributor.target {
        Target::Input(name) => budget.names().get(name).word.clone(),
        _ => contributor.name.clone(),
    };
    let unit = match &dataset.data {
        Data::Observations { rows } => rows[0][column].unit(),
        Data::Line(line) if column == 1 => &line.slope_unit,
        Data::Line(line) => line.y[0].unit(),
    };
    let spread = &said.columns[column];
    let estimate = Value { si: spread.estimate, exact: spread.exact.clone() };
    DataColumn {
        input,
        estimate: in_unit(&estimate, unit),
        standard_uncertainty: spread.standard_uncertainty / unit.si(),
        unit: unit.text().to_string(),
    }
}

fn fit(dataset: &Dataset, said: &Measured) -> Option<Fit> {
    let (Data::Line(line), Some(found)) = (&dataset.data, &said.line) else { return None };
    let (x_unit, y_unit) = (line.x[0].unit(), line.y[0].unit());
    let from = Value { si: line.from.si(), exact: Some(line.from.exact()) };
    Some(Fit {
        x_from: in_unit(&from, x_unit),
        x_unit: x_unit.text().to_string(),
        y_unit: y_unit.text().to_string(),
        residual_s: found.residual_s.map(|it| it / y_unit.si()),
        residuals: found.residuals.iter().map(|it| it / y_unit.si()).collect(),
        chi_squared: found.chi_squared,
        chi_squared_dof: found.chi_squared.map(|_| found.n as f64 - 2.0),
        chi_squared_probability: found.chi_squared_probability,
    })
}
