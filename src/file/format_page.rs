//! The page `docs/budget-format.md`, written from the [table of keys](super::keys).

use super::check::listed;
use super::keys::{BUDGET, Choice, Form, Key, Keys, Need, WORKSHEET, all_maps};

const HEAD: &str = "\
# The format of budgets and worksheets

This page is written by the program from its own table of keys; edit the table, not the page.

A file is YAML, UTF-8, at most 1 MiB. An unknown key, a missing one or one that is written twice is a
fault with its place and what to type instead. Values are read as the text that stands there: `2.500`
keeps its places. A plain `no`, `012`, `1:30`, `0x1f`, `.inf` or `~` is refused where a word or a number
is expected; in quotes it is a text. A ` #` starts a comment, and a comma inside `{}` or `[]` ends a
value: quote values that hold them. Lists are never empty. *Required* means: wherever its map is written.
";

/// Returns the page: for each map a heading, a table of its keys, and an example for each key.
pub fn format_page() -> String {
    let mut page = HEAD.to_string();
    for (title, root) in [("The budget file", &BUDGET), ("The worksheet file", &WORKSHEET)] {
        page.push_str(&format!("\n## {title}\n"));
        for keys in all_maps(root) {
            section(keys, &mut page);
        }
    }
    page
}

fn section(keys: &Keys, page: &mut String) {
    page.push_str(&format!("\n### {}\n\n{}", keys.name, keys.doc));
    let names = keys.alternatives().iter().copied();
    match keys.choice {
        Choice::Free => {}
        Choice::ExactlyOne(_) => {
            page.push_str(&format!(" Exactly one of {}.", listed(names, "and")))
        }
        Choice::AtLeastOne(_) => {
            page.push_str(&format!(" At least one of {}.", listed(names, "and")));
        }
    }
    page.push_str(
        "\n\n| key | type | default | unit | meaning |\n| --- | --- | --- | --- | --- |\n",
    );
    for key in keys.keys.iter().chain(keys.rest.iter()) {
        page.push_str(&row(key));
    }
    page.push_str("\nAn example for each key:\n\n```yaml\n");
    for key in keys.keys.iter().chain(keys.rest.iter()) {
        page.push_str(key.example);
        page.push('\n');
    }
    page.push_str("```\n");
}

fn row(key: &Key) -> String {
    let name = if key.example.starts_with(key.name) {
        format!("`{}`", key.name)
    } else {
        key.name.to_string()
    };
    let default = match key.need {
        Need::Required => "required".to_string(),
        Need::Optional if key.needed_with.is_empty() => String::new(),
        Need::Optional => {
            format!("required with {}", listed(key.needed_with.iter().copied(), "and"))
        }
        Need::Default(value) if key.needed_with.is_empty() => value.to_string(),
        Need::Default(value) => {
            format!("{value}; required with {}", listed(key.needed_with.iter().copied(), "and"))
        }
    };
    let mut meaning = key.doc.to_string();
    if !key.with.is_empty() && key.with.len() < 4 {
        meaning.push_str(&format!("; goes with {}", listed(key.with.iter().copied(), "and")));
    }
    let cells = [name, types(key.forms), default, key.unit.to_string(), meaning];
    format!("| {} |\n", cells.map(|cell| cell.replace('|', "\\|")).join(" | "))
}

fn types(forms: &[Form]) -> String {
    forms.iter().map(type_name).collect::<Vec<String>>().join(" or ")
}

fn type_name(form: &Form) -> String {
    match form {
        Form::Text => "text".into(),
        Form::Name => "name".into(),
        Form::Word(words) => {
            let names = words.iter().map(|word| format!("`{word}`"));
            names.collect::<Vec<String>>().join(", ")
        }
        Form::Number => "number".into(),
        Form::Quantity => "quantity".into(),
        Form::PlusMinus => "`±a`".into(),
        Form::Around => "`x ± a`".into(),
        Form::OneSided => "`at most x`, `at least x`".into(),
        Form::Expression => "expression".into(),
        Form::List(items) => format!("list of ({})", types(items)),
        Form::Map(keys) => format!("[map](#{})", keys.name.replace(' ', "-")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_in_docs_is_up_to_date() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/budget-format.md");
        let page = std::fs::read_to_string(path).unwrap();
        if page != format_page() {
            let made = concat!(env!("CARGO_MANIFEST_DIR"), "/target/tmp/budget-format.md");
            std::fs::write(made, format_page()).unwrap();
            panic!(
                "docs/budget-format.md is not that of the table; copy target/tmp/budget-format.md"
            );
        }
    }

    #[test]
    fn every_key_has_a_row_of_five_cells() {
        for root in [&BUDGET, &WORKSHEET] {
            for key in all_maps(root).iter().flat_map(|keys| keys.keys) {
                let cells = row(key).replace("\\|", "").matches('|').count();
                assert_eq!(cells, 6, "{}", key.name);
            }
        }
    }
}
