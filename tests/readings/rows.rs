//! Rows of a file of readings that cannot be read: what they take with them, and whom they hold back.

use super::*;

/// The rows of whole instruments below a header, with more columns behind.
fn with_note(rows: &str) -> String {
    rows.lines().map(|it| format!("{it},n\n")).collect()
}

/// Verdict of each instrument in the rows, in order; `column`: that of the instrument.
fn verdicts(out: &str, column: usize) -> Vec<(String, String)> {
    let of = |it: Vec<String>| (it[column].clone(), it.last().unwrap().clone());
    let mut found: Vec<_> = cells(out).into_iter().map(of).collect();
    found.dedup();
    found
}

/// A quote that was left standing took the rows after it in, and the instruments passed without them.
#[test]
fn a_stray_quote_swallows_no_row() {
    let (a, b) = (with_note(&instrument("A", &[])), with_note(&instrument("B", &[])));
    let header = "instrument,at,reading,note\n";
    let text = format!("{header}{a}A,5.1,5.200,\"3/4 in spindle\nB,2.5,2.600,\"1/2 in anvil\n{b}");
    let (code, out, said) = micrometer_run(&text, &[]);
    assert_eq!((code, cells(&out).len()), (1, 20));
    assert!(verdicts(&out, 0).iter().all(|it| it.1 == "undecided"), "{out}");
    for expected in [
        "standard input:12:13: the quote that opens here takes in the lines to 13, where text stands after",
        "standard input:13:13: the quote that opens here is not closed",
        "2: 0 pass, 2 undecided, 0 fail",
    ] {
        assert!(said.contains(expected), "{expected}\n{said}");
    }
    // The second closes the first, well or not: the rows between are judged, B's +100 µm with them.
    for closing in ["\"1/2\"", "1/2\"", "\""] {
        let text = format!("{header}{a}A,5.1,5.200,\"3/4\n{b}B,2.5,2.600,{closing}\n");
        let (_, out, said) = micrometer_run(&text, &[]);
        let bad = if closing == "\"" { 2 } else { 1 };
        assert_eq!(cells(&out).len(), 22 - bad, "{closing} {said}");
        assert_eq!(verdicts(&out, 0)[0].1, "undecided", "{closing}");
        let expected = if bad == 2 { "undecided" } else { "fail" };
        assert_eq!(verdicts(&out, 0)[1].1, expected, "{closing}");
    }
    // A cell with line ends stays one.
    let text = format!("{header}{}", a.replacen(",n", ",\"two\nlines, 5.1, 3\"", 1));
    assert_eq!(micrometer_run(&text, &[]).0, 0);
}

/// What cannot be read holds back the instrument that it names, or those on either side, also at the seam of
/// two blocks.
#[test]
fn a_row_without_its_instrument_holds_back_its_neighbours() {
    let turned = |name: &str| {
        let of = |it: &str| {
            let cells: Vec<&str> = it.split(',').collect();
            format!("{},{},{},n\n", cells[1], cells[2], cells[0])
        };
        instrument(name, &[]).lines().map(of).collect::<String>()
    };
    let fill: String = (0..2000).map(|it| turned(&format!("F{it}"))).collect();
    for (row, named) in [
        ("5.1,5.101,A,\"open", true),
        ("5.1,5.101,\"A\" ,n", true),
        ("5.1,5.101,A,n,x", true),
        ("5.1,5.101,B", true),
        ("5.1,5,101,A,n", false),
        ("5.1,5.101", false),
        ("5.1,5.101,,n", false),
        ("5.1,5.101,A\u{fffd},n", false),
        ("5.1,\"5.101", false),
    ] {
        // Rows before of some length, so that A and B fall onto every place of a block.
        for before in [0, 700, 1021, 1340, 1999] {
            let at: String = fill.split_inclusive('\n').take(before * 10).collect();
            let head = format!("at,reading,instrument,note\n{at}{}{row}\n", turned("A"));
            let text = format!("{head}{}{}{fill}", turned("B"), turned("C")).replacen(
                &fill,
                "",
                usize::from(before > 0),
            );
            let mut bytes = Vec::new();
            for piece in text.split_inclusive('\u{fffd}') {
                bytes.extend_from_slice(piece.trim_end_matches('\u{fffd}').as_bytes());
                if piece.ends_with('\u{fffd}') {
                    bytes.push(0xff);
                }
            }
            let (code, out, said) = run(&micrometer(), &bytes, &[]);
            assert_eq!(code, 1);
            let found = verdicts(&out, 2);
            let of = |name: &str| found.iter().find(|it| it.0 == name).unwrap().1.as_str();
            let only_b = row.ends_with(",B");
            let held = |it: bool| if it { "undecided" } else { "pass" };
            assert_eq!(of("A"), held(!only_b), "{row} {before} {said}");
            assert_eq!(of("B"), held(!named || only_b), "{row} {before}");
            assert_eq!(of("C"), "pass", "{row}");
            let beside =
                "1 of these without its instrument: those before and after are at best undecided";
            assert_eq!(said.contains(beside), !named, "{row}: {said}");
        }
    }
    // In any order it may belong to all of them.
    let text = format!("at,reading,instrument,note\n{}{}5.1\n", turned("A"), turned("B"));
    let (_, out, said) = micrometer_run(&text, &["--any-order"]);
    assert!(verdicts(&out, 2).iter().all(|it| it.1 == "undecided"));
    assert!(said.contains("all instruments are at best undecided"), "{said}");
}

#[test]
fn what_comes_first_in_the_file_is_said_first() {
    let text = "instrument,at,reading\nA,5.1,5.1\nB,5.1,x\nA,2.5,2.5\n";
    let (code, _, said) = micrometer_run(text, &["--strict"]);
    assert_eq!(code, 2);
    assert!(said.contains("standard input:3:7: ") && !said.contains("returns"), "{said}");
    let (code, _, said) = micrometer_run(text, &[]);
    assert_eq!(code, 2);
    assert!(
        said.contains("standard input:3:7: ") && said.contains("4:1: the instrument `A` returns"),
        "{said}"
    );
}

/// Longer than 1 MiB by some bytes or by far, amid the rows of an instrument.
#[test]
fn a_line_that_is_too_long_is_said_wherever_it_stands() {
    let rows = with_note(&instrument("A", &[]));
    let at = rows.match_indices('\n').nth(4).unwrap().0 + 1;
    for (length, code) in [(1024 * 1024 - 10, 0), (1024 * 1024 + 10, 1), (3_000_000, 1)] {
        let long = format!("A,2.5,2.5,{}\n", "x".repeat(length - 10));
        let text = format!(
            "instrument,at,reading,note\n{}{long}{}{}",
            &rows[..at],
            &rows[at..],
            with_note(&instrument("B", &[]))
        );
        let (found, out, said) = micrometer_run(&text, &[]);
        assert_eq!(found, code, "{length} {said}");
        assert_eq!(said.contains("standard input:7:1: the line is longer than 1 MiB"), code == 1);
        let expected = if code == 1 { "undecided" } else { "pass" };
        let verdicts = verdicts(&out, 0);
        assert_eq!([verdicts[0].1.as_str(), verdicts[1].1.as_str()], [expected, "pass"]);
    }
}
