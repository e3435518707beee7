//! The bench sheet as one HTML file: style, script and data in it, and no address of anything else.
//!
//! The data stand in a script block as JSON in which nothing can end the block; the title is the only
//! text that is written into the markup, and everything else is put in as text by the script.

use crate::page::sheet::BenchSheet;

const STYLE: &str = include_str!("sheet.css");
const SCRIPT: &str = include_str!("sheet.js");
const BODY: &str = include_str!("sheet.html");

/// Returns the whole file.
///
/// # Errors
///
/// Data that cannot be written as JSON.
pub fn html(sheet: &BenchSheet) -> Result<String, serde_json::Error> {
    let data = in_script(&serde_json::to_string(sheet)?);
    let title = escaped(sheet.title.as_str());
    // One walk over the template: what is put in is never looked through again.
    let mut page = String::with_capacity(BODY.len() + STYLE.len() + SCRIPT.len() + data.len());
    let mut rest = BODY;
    while let Some((before, after)) = rest.split_once("{{") {
        let (name, after) = after.split_once("}}").unwrap_or((after, ""));
        page.push_str(before);
        page.push_str(match name {
            "title" => &title,
            "style" => STYLE,
            "script" => SCRIPT,
            "data" => &data,
            _ => "",
        });
        rest = after;
    }
    page.push_str(rest);
    Ok(page)
}

/// Returns JSON that neither ends a script block nor breaks a line of it.
fn in_script(json: &str) -> String {
    let mut text = String::with_capacity(json.len());
    for c in json.chars() {
        match c {
            '<' | '>' | '&' | '\u{2028}' | '\u{2029}' => {
                text.push_str(&format!("\\u{:04x}", c as u32));
            }
            _ => text.push(c),
        }
    }
    text
}

fn escaped(text: &str) -> String {
    let entity = |c: char| match c {
        '<' => "&lt;".to_owned(),
        '>' => "&gt;".to_owned(),
        '&' => "&amp;".to_owned(),
        '"' => "&quot;".to_owned(),
        _ => c.to_string(),
    };
    text.chars().map(entity).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet(title: &str) -> BenchSheet {
        BenchSheet {
            title: title.into(),
            head: vec![title.into()],
            notes: Vec::new(),
            budget: "{{style}}</script>.yaml".into(),
            sha256: String::new(),
            program: "surebound".into(),
            unit: "mm".into(),
            step: "0.001".into(),
            value_unit: "µm".into(),
            points: Vec::new(),
            left_out: Vec::new(),
        }
    }

    #[test]
    fn hostile_titles_stay_text() {
        let hostile = "</script><script>alert(1)</script><!--\" & {{data}} \u{2028}";
        let page = html(&sheet(hostile)).unwrap();
        let plain = html(&sheet("plain")).unwrap();
        for mark in ["<script", "</script", "<!--", "</title"] {
            assert_eq!(page.matches(mark).count(), plain.matches(mark).count(), "{mark}");
        }
        assert!(page.contains("&lt;/script&gt;&lt;script&gt;alert(1)"));
        assert!(page.contains("{{data}}") && page.contains("{{style}}"));
    }

    #[test]
    fn no_address_and_no_storage_is_in_the_file() {
        let page = html(&sheet("plain")).unwrap();
        let forbidden =
            ["http:", "https:", "src=", "@import", "url(", "localStorage", "sessionStorage"];
        for word in forbidden.into_iter().chain(["indexedDB", "cookie", "fetch(", "innerHTML"]) {
            assert!(!page.contains(word), "{word}");
        }
        assert!(page.len() < 40_000, "{} bytes without points", page.len());
    }
}
