//! What a packing bench and its ledger read: lines from a scanner against a table of keys, and the address of a database with the files it names.
//!
//! What must hold: no line is taken for a unit that it does not name, the machine never asks for a box whose unit is not in hand, and no
//! password is shown.
#![no_main]

use std::path::Path;

use libfuzzer_sys::fuzz_target;
use stripling::packing::{Bench, Codes, Do, Input, Meaning, Roll, UnitCodes};
use stripling::send::ledger::address::{Address, Surroundings, masked};

struct Around<'a>(&'a str);

impl Surroundings for Around<'_> {
    fn variable(&self, name: &str) -> Option<String> {
        matches!(name, "HOME" | "USER" | "PGSERVICE").then(|| "a".to_owned())
    }

    fn file(&self, _: &Path, _: bool) -> Option<String> {
        Some(format!("[a]\n{}", self.0))
    }
}

fuzz_target!(|given: (Vec<String>, Vec<String>, String, String)| {
    let (keys, lines, address, file) = given;
    let mut keys: Vec<String> =
        keys.into_iter().map(|key| key.trim().to_owned()).filter(|key| !key.is_empty()).take(20).collect();
    keys.sort();
    keys.dedup();
    let units: Vec<UnitCodes> = keys.iter().map(|key| UnitCodes::of(key, [format!("S-{key}")])).collect();
    let codes = Codes::new(units, "");
    let _ = codes.traps(5);
    let mut bench = Bench::new(codes.clone(), vec!["one".to_owned()], Roll::default(), "", "");
    for (number, line) in lines.iter().take(50).enumerate() {
        let (text, meaning) = codes.read(line);
        if let Meaning::Unit(unit) | Meaning::Strip(unit) | Meaning::Either(unit) = meaning {
            assert!(text.contains(&keys[unit]));
        }
        let hand = bench.screen().in_hand;
        for one in bench.take(Input::Line { text: line.clone(), at: number as u64 * 1000 }) {
            if let Do::Box(unit) = one {
                assert_eq!(hand.as_deref(), Some(keys[unit].as_str()));
            }
        }
    }
    let _ = Address::read(&address, &Around(&file));
    let _ = Address::read(&format!("postgres://{address}"), &Around(&file));
    assert!(!masked("postgres://anna:hunter2@h/d?password=hunter2").contains("hunter2"));
});
