//! The eleven places at which an illustrator winced, as they are set now: `tests/golden/eleven/README.md` shows each beside how the first
//! round set it.

use std::path::Path;

use crate::{golden, manuals};

const CASES: [(&str, &str); 11] = [
    ("01-key", "58mm"),
    ("02-shout", "80mm"),
    ("03-words", "58mm"),
    ("04-tails", "80mm"),
    ("05-whisper", "80mm"),
    ("06-thought", "80mm"),
    ("07-night", "80mm"),
    ("08-title", "58mm"),
    ("09-emphasis", "80mm"),
    ("10-stress", "80mm"),
    ("11-badge", "58mm"),
];

#[test]
fn the_eleven_worst_stay_mended() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden/eleven");
    let page = std::fs::read_to_string(folder.join("README.md")).unwrap();
    let set = CASES.map(|(name, printer)| {
        let made = manuals::drafted(&manuals::press(&folder.join(format!("{name}.md")), Some(printer), None));
        (format!("eleven/{name}"), made.strip.bitmap)
    });
    golden::compare_all(set.iter().map(|(name, bitmap)| (name.as_str(), bitmap)));
    for (name, _) in CASES {
        for shown in [format!("{name}.before.png"), format!("{name}.png")] {
            assert!(folder.join(&shown).exists() && page.contains(&shown), "{shown}");
        }
    }
}
