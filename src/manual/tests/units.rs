//! The table of units.

use super::super::Error;
use super::super::units::Units;
use super::told;

fn noticed(units: &Units) -> Vec<String> {
    units.noticed().iter().map(|noticed| format!("{} {}: {}", noticed.place.line, noticed.rule, noticed.message)).collect()
}

fn read(text: &str) -> Units {
    Units::read(text.as_bytes(), "units.csv").unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn rows_are_found_by_key_and_by_number() {
    let mut units = read("name,serial\nAda,7\nBo,1\n");
    assert_eq!((units.len(), units.key_column()), (2, "name"));
    assert_eq!(units.find("Bo").unwrap().row, 2);
    assert_eq!(units.find("1").unwrap().row, 1);
    units.key_by(Some("serial")).unwrap();
    assert_eq!(units.find("1").unwrap().row, 2, "a key comes before a row number");
    assert_eq!(units.find("2").unwrap().row, 2);
    assert_eq!(units.row(1).unwrap().key(), "7");
    assert_eq!(units.row(0), None);
    assert_eq!(units.row(3), None);
    let error = units.find("77").unwrap_err();
    assert_eq!(error.to_string(), "units.csv has no unit \"77\"");
    let error = units.key_by(Some("serail")).unwrap_err();
    assert!(error.hint().is_some_and(|hint| hint.starts_with("did you mean \"serial\"?")), "{error:?}");
}

#[test]
fn cells_are_kept_letter_for_letter() {
    let units = read("\u{FEFF}serial,note\r\nA1,\"two\r\nlines, \"\"quoted\"\"\"\r\nA2,  spaced  \r\n");
    assert_eq!(units.columns(), ["serial", "note"]);
    assert_eq!(units.row(1).unwrap().value("note"), Some("two\r\nlines, \"quoted\""));
    assert_eq!(units.row(2).unwrap().value("note"), Some("  spaced  "));
    assert_eq!(units.row(2).unwrap().line, 4);
    assert_eq!(noticed(&units), [""; 0]);
}

#[test]
fn semicolons_and_tabs_separate_when_the_headings_hold_no_comma() {
    assert_eq!(read("serial;plug\nA;UK, EU\n").row(1).unwrap().value("plug"), Some("UK, EU"));
    assert_eq!(read("serial\tplug\nA\tUK\n").row(1).unwrap().value("plug"), Some("UK"));
    assert_eq!(read("serial\nA;B\n").row(1).unwrap().value("serial"), Some("A;B"));
}

#[test]
fn what_is_wrong_with_a_row_is_noticed_with_its_number_and_line() {
    let units = read("serial,plug,plug,\nA,UK,EU,x\n\nA,UK\nB,UK,EU,x,y\n,,,\n,UK,EU,x\nC\u{1},UK,EU,x\n");
    assert_eq!(
        noticed(&units),
        [
            "1 units-heading: two columns are called \"plug\"",
            "1 units-heading: column 4 has no heading",
            "4 units-ragged: row 2 has 2 cells, the headings are 4",
            "4 units-key: row 2 has the same \"serial\" as row 1: \"A\"",
            "5 units-ragged: row 3 has 5 cells, the headings are 4",
            "7 units-key: row 4 has no \"serial\"",
            "8 units-control-character: row 5 holds a control character in \"serial\"",
        ]
    );
    assert_eq!(units.row(2).unwrap().values, ["A", "UK", "", ""]);
    assert_eq!(units.row(5).unwrap().key(), "C\u{FFFD}");
}

#[test]
fn a_table_that_is_none_is_an_error() {
    let failure = |bytes: &[u8]| told(&Units::read(bytes, "units.csv").unwrap_err());
    assert_eq!(failure(b""), "units.csv:1:1 the table has no headings");
    assert_eq!(failure(b"serial,plug\n"), "units.csv:1:1 the table has headings but no rows");
    assert_eq!(failure(b"serial\nA\nB\xFF\n"), "units.csv:3:2 this is not UTF-8 text: byte 0xFF");
    let unclosed = "the quote that opens here is never closed: all that follows would be one cell";
    assert_eq!(failure(b"serial,plug\nA,\"U \"\"K\nB,EU\n"), format!("units.csv:2:3 {unclosed}"));
    assert_eq!(failure(b"serial\n\"A\"\"\n"), format!("units.csv:2:1 {unclosed}"));
    assert!(Units::read(b"serial,size\n\"A \"\"1\"\"\",5\"\n\"\",\"\"\n", "units.csv").is_ok());
    assert!(matches!(Units::read(b"\xFF\xFEs\0", "u").unwrap_err(), Error::NotUtf8 { wide: true, .. }));
}
