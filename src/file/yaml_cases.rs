//! Tables of cases for the first pass: each fault with its exact place, words and help.
//!
//! The expected places are counted by hand from the texts (line and column from 1, in characters);
//! what is allowed and refused is section "YAML" of the file format, over YAML 1.2.2.

use super::yaml::{Node, read};
use proptest::prelude::*;

/// Every fault as `line:column what: rule | help`.
fn faults(bytes: &[u8]) -> Vec<String> {
    let (source, result) = read("f", bytes);
    let faults = result.expect_err("a fault");
    let shown = |fault: &crate::fault::Fault| {
        let (line, column) = source.place(fault.origin);
        format!("{line}:{column} {} | {}", fault.message(), fault.help)
    };
    faults.iter().map(shown).collect()
}

fn tree(text: &str) -> Node {
    let (source, result) = read("f", text.as_bytes());
    result.unwrap_or_else(|faults| panic!("{text:?}: {}", source.render_all(&faults)))
}

/// Each text has exactly one fault, which begins and ends as given.
fn one_fault_each(cases: &[(&str, &str, &str)]) {
    for (text, begins, help) in cases {
        let found = faults(text.as_bytes());
        assert_eq!(found.len(), 1, "{text:?}: {found:#?}");
        assert!(found[0].starts_with(begins), "{text:?}: {}, not {begins}", found[0]);
        assert!(found[0].ends_with(&format!(" | {help}")), "{text:?}: {}, not {help}", found[0]);
    }
}

#[test]
fn refuses_what_yaml_has_beyond_texts_lists_and_maps() {
    one_fault_each(&[
        (
            "a: &x 1\n",
            "1:4 `&x 1` begins with an anchor",
            "write `1`, or, where it is a text: `\"&x 1\"`",
        ),
        (
            "&x a: 1\n",
            "1:1 `&x a` begins with an anchor",
            "write `a`, or, where it is a text: `\"&x a\"`",
        ),
        (
            "a: {b: &y [1]}\n",
            "1:8 `&y [1` begins with an anchor",
            "write `[1`, or, where it is a text: `\"&y [1\"`",
        ),
        (
            "a: *x\n",
            "1:4 `*x` is an alias in YAML",
            "write the value itself in its place, or, where it is a text: `\"*x\"`",
        ),
        (
            "*a : 1\n",
            "1:1 `*a` is an alias",
            "write the value itself in its place, or, where it is a text: `\"*a\"`",
        ),
        (
            "a: !x 1\n",
            "1:4 `!x 1` begins with a tag",
            "write `1`, or, where it is a text: `\"!x 1\"`",
        ),
        (
            "a: !!str 1\n",
            "1:4 `!!str 1` begins with a tag",
            "write `1`, or, where it is a text: `\"!!str 1\"`",
        ),
        ("b: 1\n<<: {a: 1}\n", "2:1 `<<` merges maps", "write the keys that are merged themselves"),
        ("? [a]\n: b\n", "1:3 a list or map stands as a key", ""),
        ("{a: 1}: b\n", "1:1 a list or map stands as a key", ""),
        ("a: {[x]: 1}\n", "1:5 a list or map stands as a key", ""),
        (": b\n", "1:1 a key is empty", "write a name"),
        ("'': b\n", "1:1 a key is empty", "write a name"),
        ("a: {: 1}\n", "1:5 a key is empty", "write a name"),
        ("a: 1\n---\nb: 2\n", "2:1 a second document", "delete `---`, or make it two files"),
        (
            "a: 1\n...\nb: 2\n",
            "3:1 a second document",
            "delete `...` and what follows, or make it two files",
        ),
        (
            "µ: 1\nb: 2\nµ: 3\n",
            "3:1 the key `µ` is repeated: its first place is line 1",
            "delete one of the two",
        ),
        (
            "a: {b: 1, b: 2}\n",
            "1:11 the key `b` is repeated: its first place is line 1",
            "delete one of the two",
        ),
    ]);
}

#[test]
fn says_that_a_text_needs_quotes() {
    one_fault_each(&[
        ("a: @x\n", "1:4 `@x` begins with `@`", "\"@x\""),
        ("a: `x\n", "1:4 a text begins with a backquote", "\"`x\""),
        ("a: %x\n", "1:4 `%x` begins with `%`", "\"%x\""),
        ("a: 1\n%b: 2\n", "2:1 `%b` begins with `%`", "\"%b\""),
        ("a: {@b: 1}\n", "1:5 `@b` begins with `@`", "\"@b\""),
        ("a: *\n", "1:4 `*` begins with `*`", "\"*\""),
        ("a: & x\n", "1:4 `& x` begins with `&`", "\"& x\""),
        ("a: ,x\n", "1:4 `,x` begins with a comma", "\",x\""),
        ("a: ? x\n", "1:4 `? x` begins with `? `", "\"? x\""),
        ("a: | 5\n", "1:4 `| 5` begins with `|`", "\"| 5\""),
        ("a: ]\n", "1:4 `]` closes nothing", "\"]\""),
        ("a: [-, 1]\n", "1:5 `-` begins with `-`", "\"-\""),
        (
            "title: Micrometer: digital\n",
            "1:18 `Micrometer: digital` holds a second colon",
            "\"Micrometer: digital\"",
        ),
        ("a: x: y: z\n", "1:5 `x: y: z` holds a second colon", "\"x: y: z\""),
        ("a: {b: c: d}\n", "1:9 `c: d` holds a second colon", "\"c: d\""),
        ("a: [b: c: d]\n", "1:9 `c: d` holds a second colon", "\"c: d\""),
        ("a: \"±1\" mm\n", "1:9 `mm` stands after the closing quote", "\"±1 mm\""),
        ("a: {b: \"x\" y}\n", "1:12 `y` stands after the closing quote", "\"x y\""),
        ("a: 'don't'\n", "1:9 `t'` stands after the closing quote", "\"don't\""),
        (
            "a: \"x\\qy\"\n",
            "1:6 `\"x\\qy\"` holds a backslash",
            "write `'x\\qy'`, in single quotes",
        ),
        (
            "a: x # c\n  y\n",
            "1:6 a comment stands between two lines of a text",
            "quote all of the text, or move the comment above it",
        ),
    ]);
}

#[test]
fn gives_comparisons_their_own_help() {
    one_fault_each(&[
        (
            "a: >= 5 N\n",
            "1:4 `>= 5 N` begins with `>`",
            "write `at least 5 N` or `{lower: 5 N}`; a text needs quotes: `\">= 5 N\"`",
        ),
        (
            "a: > 5 N # x\n",
            "1:4 `> 5 N` begins with `>`",
            "write `at least 5 N` or `{lower: 5 N}`; a text needs quotes: `\"> 5 N\"`",
        ),
        (
            "a: >5\n",
            "1:4 `>5` begins with `>`",
            "write `at least 5` or `{lower: 5}`; a text needs quotes: `\">5\"`",
        ),
        (
            "a: {b: >= 5 N}\n",
            "1:8 `>= 5 N` begins with `>`",
            "write `at least 5 N` or `{lower: 5 N}`; a text needs quotes: `\">= 5 N\"`",
        ),
        (
            "- > 5 N\n",
            "1:3 `> 5 N` begins with `>`",
            "write `at least 5 N` or `{lower: 5 N}`; a text needs quotes: `\"> 5 N\"`",
        ),
    ]);
}

#[test]
fn finds_commas_that_cut_a_value() {
    one_fault_each(&[
        (
            "a: {limits: ±max(0.1 µm, 0.2 µm)}\n",
            "1:13 `±max(0.1 µm, 0.2 µm)` is cut after `±max(0.1 µm`: a comma inside `{…}`",
            "\"±max(0.1 µm, 0.2 µm)\"",
        ),
        (
            "a: {limits: ±(0.1 µm + max(1, 2)), b: 3}\n",
            "1:13 `±(0.1 µm + max(1, 2))` is cut",
            "\"±(0.1 µm + max(1, 2))\"",
        ),
        (
            "a: [max(1, 2), 3]\n",
            "1:5 `max(1, 2)` is cut after `max(1`: a comma inside `[…]`",
            "\"max(1, 2)\"",
        ),
        (
            "a: {limits: ±0,5 µm}\n",
            "1:13 `±0,5 µm` is cut after `±0`",
            "write `±0.5 µm`, or, where it is a text: `\"±0,5 µm\"`",
        ),
        (
            "a: {title: Micrometer, digital, k: 2}\n",
            "1:12 `Micrometer, digital` is cut",
            "\"Micrometer, digital\"",
        ),
        ("a: [1, {b, c: 2}]\n", "1:9 the key `b` has no value", "b: …"),
        ("a: {b:1}\n", "1:5 the key `b:1` has no value", "b: 1"),
        ("a: [a, , b]\n", "1:8 nothing stands before this comma", "delete one comma"),
    ]);
}

#[test]
fn finds_missing_spaces() {
    one_fault_each(&[
        ("key:value\n", "1:1 `key:value` has no space after `:`", "key: value"),
        ("a: 1\nkey:value\nb: 2\n", "2:1 `key:value` has no space after `:`", "key: value"),
        ("- limits:±3\n- x\n", "1:3 `limits:±3` has no space after `:`", "limits: ±3"),
        ("-a\n-b\n", "1:1 `-a` has no space after `-`", "- a"),
        ("a:\n  - x\n  -b\n", "3:3 `-b` has no space after `-`", "- b"),
        ("a:\n  -name: x\n", "2:3 `-name: x` has no space after `-`", "- name: x"),
    ]);
}

#[test]
fn finds_bad_indentation_and_open_brackets() {
    one_fault_each(&[
        ("a:\n\tb: 1\n", "2:1 a tab stands in the indentation", "replace each tab by two spaces"),
        (
            "a:\n  b: 1\n\tc: 2\n",
            "3:1 a tab stands in the indentation",
            "replace each tab by two spaces",
        ),
        ("a:\t1\n", "1:3 a tab stands before the value", "replace it by a space"),
        ("a:\n  b: 1\n c: 2\n", "3:2 `c: 2` is indented to column 2", "begin it in column 1 or 3"),
        ("a:\n  - 1\n b: 2\n", "3:2 `b: 2` is indented to column 2", "begin it in column 1 or 3"),
        (
            "a: 1\n  b: 2\n",
            "2:3 `b: 2` is indented below a value",
            "begin it in the column of the key above",
        ),
        (
            "- a\nb: 1\n",
            "2:1 `b: 1` does not belong",
            "begin all lines of a list with `- `, or none",
        ),
        (
            "a: x\nb\nc: 1\n",
            "2:1 `b` is no entry",
            "b: …, or indent the line if it continues the one above",
        ),
        (
            "a: - x\n",
            "1:4 `- x` stands in the line of its key",
            "write `[x]`, or, where it is a text: `\"- x\"`",
        ),
        (
            "a: [1] x\n",
            "1:8 `x` stands after a value",
            "put it in a line of its own, or quote all of the value",
        ),
        ("a: 'x\nb: 1\n", "1:4 the quote `'x` is not closed", "'x'"),
        ("b: 1\na: \"x\n", "2:4 the quote `\"x` is not closed", "\"x\""),
        ("a: [1, 2\nb: 1\n", "1:4 `[` is not closed", "[1, 2]"),
        ("a: {x: 1\nb: 2\n", "1:4 `{` is not closed", "{x: 1}"),
        ("a: [\n", "1:4 `[` is not closed", "[]"),
        ("{a: 1\n", "1:1 `{` is not closed", "{a: 1}"),
        ("a: [1, 2}\n", "1:9 `}` does not close `[`", "]"),
    ]);
}

#[test]
fn refuses_files_without_content() {
    one_fault_each(&[
        ("", "1:1 the file is empty", "begin with `surebound: 1`"),
        (" \n\n", "1:1 the file is empty", "begin with `surebound: 1`"),
        ("# only\n", "1:1 the file holds no keys, only comments", "begin with `surebound: 1`"),
        ("---\n# x\n", "1:1 the file holds no keys, only comments", "begin with `surebound: 1`"),
    ]);
}

#[test]
fn refuses_other_encodings_and_control_characters() {
    let cases: [(&[u8], &str, &str); 8] = [
        (b"a: 1\nb: 2 \xb5m\n", "2:6 line 2 holds the byte 0xb5", "in Latin-1 this byte is `µ`"),
        (b"\xff\xfea\0", "1:1 the file is UTF-16", "save the file as UTF-8"),
        (b"a\0:\0 \0", "1:1 the file is UTF-16", "save the file as UTF-8"),
        (b"\0a\0:", "1:1 the file is UTF-16", "save the file as UTF-8"),
        (b"a: 1\nb: \0\n", "2:4 the control character U+0000", "delete it"),
        (b"a: x\x1b[m\n", "1:5 the control character U+001B", "delete it"),
        (b"a: x\xef\xbb\xbf\n", "1:5 the control character U+FEFF", "delete it"),
        (b"a: 1\rb: 2\n", "1:5 a carriage return without", "line breaks LF or CRLF"),
    ];
    for (bytes, begins, help) in cases {
        let found = faults(bytes);
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(found[0].starts_with(begins) && found[0].ends_with(help), "{}", found[0]);
    }
    assert_eq!(faults(b"a: \x01\nb: \x02\n").len(), 2);
}

#[test]
fn refuses_more_than_a_mebibyte_and_reads_that_much() {
    let mut text = "a: ".to_string() + &"x".repeat((1 << 20) - 3);
    assert_eq!(tree(&text).get("a").unwrap().value.as_scalar().unwrap().text.len(), 1048573);
    text.push('x');
    let said = "1:1 the file has 1048577 bytes: at most 1 MiB (1048576 bytes) is read | ";
    assert_eq!(faults(text.as_bytes()), [said]);
}

#[test]
fn refuses_deep_nesting_quickly() {
    let nested = |n: usize| "[".repeat(n) + &"]".repeat(n);
    assert!(tree(&nested(32)).items().is_some());
    for (text, place) in [
        (nested(33), "1:33"),
        ("[".repeat(100_000), "1:33"),
        ("{a: ".repeat(100_000), "1:129"),
        ("- ".repeat(100_000), "1:65"),
    ] {
        let said = "lists and maps are nested too deeply: at most 32 levels are read";
        assert_eq!(faults(text.as_bytes()), [format!("{place} {said} | ")]);
    }
}

#[test]
fn finds_all_faults_at_once() {
    let text = "a: @x\nb: `y\nb: *z\nc: > 5 N\nd: e: f\nkey:value\ng: &h 1\n i: 1\n";
    let places = ["1:4", "2:4", "3:1", "3:4", "4:4", "5:5", "6:1", "7:4", "8:2"];
    let found = faults(text.as_bytes());
    let found: Vec<&str> = found.iter().map(|it| it.split(' ').next().unwrap()).collect();
    assert_eq!(found, places);
}

#[test]
fn lists_at_most_two_hundred_faults() {
    let found = faults("a: 1\n".repeat(1000).as_bytes());
    assert_eq!(found.len(), 201);
    assert_eq!(found[200], "201:1 more faults follow after this one: at most 200 are listed | ");
}

#[test]
fn keeps_scalars_as_they_are_written() {
    let text = "\u{feff}a: 2.500\r\nb: 'no' # c\r\nc:  # c\r\nd: ~\r\ne: 5 %\r\nf: \"\\u00b5 x\"\r\n\
                g: >\r\n  folded\r\n  text\r\nh: http://x # y\r\ni: a b#c\r\n";
    let root = tree(text);
    let rows = [
        ("a", "2.500", true, false),
        ("b", "no", false, true),
        ("c", "", true, true),
        ("d", "~", true, false),
        ("e", "5 %", true, false),
        ("f", "µ x", false, false),
        ("g", "folded text\n", false, false),
        ("h", "http://x", true, true),
        ("i", "a b#c", true, false),
    ];
    for (key, text, plain, comment_follows) in rows {
        let scalar = root.get(key).unwrap().value.as_scalar().unwrap();
        let found = (scalar.text.as_str(), scalar.plain, scalar.comment_follows);
        assert_eq!(found, (text, plain, comment_follows), "{key}");
    }
    assert!(root.get("x").is_none() && root.items().is_none() && root.as_scalar().is_none());
}

#[test]
fn reads_lists_maps_and_what_only_looks_wrong() {
    for text in [
        "%YAML 1.2\n---\na: 1\n...\n",
        "a: [1, 2,]\nb: {c: , d: 2}\n",
        "a:\n- 1\n-\n- 3\n",
        "a: x\n  -5\n  y:z\n",
        "a: '<<'\n'b, c': 1\n\"@\": (\n",
        "\"<<\": {\"x\":1}\n",
        "a: [\"max(1, 2)\", f(1)]\nb: [f(1, 2]\n",
        "a: |\n  key:value\n  -x\n\n  \tz\nb: 12:30\n",
    ] {
        assert!(!tree(text).entries().unwrap().is_empty(), "{text}");
    }
}

#[test]
fn gives_every_value_and_key_its_place() {
    let text = "a:\n  - x\n  -\n  - {b: \"µ 'y'\", c: }\nd:\ne: |\n  one\n  two\n";
    let (source, result) = read("f", text.as_bytes());
    let root = result.unwrap();
    let place = |node: &Node, further: usize| source.place(node.origin.further(further));
    let value = |key: &str| &root.get(key).unwrap().value;
    let items = value("a").items().unwrap();
    assert_eq!(place(&root, 0), (1, 1));
    assert_eq!(
        (place(value("a"), 0), place(&items[0], 0), place(&items[1], 0)),
        ((2, 3), (2, 5), (3, 4))
    );
    let inner = items[2].get("b").unwrap();
    assert_eq!((place(&items[2], 0), source.place(inner.key_origin)), ((4, 5), (4, 6)));
    assert_eq!((place(&inner.value, 0), place(&inner.value, 3)), ((4, 10), (4, 13)));
    assert_eq!(place(&items[2].get("c").unwrap().value, 0), (4, 20));
    assert_eq!(
        (place(value("d"), 0), source.place(root.get("d").unwrap().key_origin)),
        ((5, 3), (5, 1))
    );
    assert_eq!((place(value("e"), 0), place(value("e"), 5)), ((7, 3), (8, 4)));
}

#[test]
fn finds_the_place_after_a_directive_with_other_characters() {
    assert!(faults("%=µ\n`".as_bytes())[0].starts_with("2:1 a text begins with a backquote"));
}

fn renders(bytes: &[u8]) {
    let (source, result) = read("f", bytes);
    if let Err(faults) = result {
        assert!(!faults.is_empty());
        assert!(source.render_all(&faults).starts_with("f:"));
    }
}

proptest! {
    #[test]
    fn reads_any_bytes_without_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        renders(&bytes);
    }

    #[test]
    fn reads_anything_like_yaml_without_panic(text in "[ab:\\-?\\[\\]{},#&*!|>'\"%@` \t\n\r\\\\()=.µ0\u{feff}]{0,60}") {
        renders(text.as_bytes());
    }

    /// In the text, every plain or quoted scalar without escapes stands where its places say.
    #[test]
    fn places_point_at_the_characters_of_the_value(text in "[ab:\\-\\[\\],#'\" \nµ]{0,40}") {
        let (source, result) = read("f", text.as_bytes());
        let mut open: Vec<Node> = result.into_iter().collect();
        let lines: Vec<&str> = text.split('\n').collect();
        while let Some(node) = open.pop() {
            for (at, expected) in node.as_scalar().map_or("", |it| &it.text).chars().enumerate() {
                let (line, column) = source.place(node.origin.further(at));
                let found = lines[line - 1].chars().nth(column - 1);
                prop_assert!(found == Some(expected) || expected.is_whitespace(), "{node:?} {at}");
            }
            open.extend(node.items().unwrap_or_default().iter().cloned());
            open.extend(node.entries().unwrap_or_default().iter().map(|it| it.value.clone()));
        }
    }
}
