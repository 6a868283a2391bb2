//! A message that comes back from the local network: read or passed over, twice the same, and no name moves a terminal's cursor.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stripling::send::nearby::Heard;

fuzz_target!(|message: &[u8]| {
    let mut heard = Heard::default();
    heard.take(message);
    let once = heard.printers();
    heard.take(message);
    assert_eq!(heard.printers(), once);
    for printer in once {
        assert!(!printer.name.chars().chain(printer.what.chars()).any(char::is_control));
        assert!(printer.raw.is_none_or(|address| address.port() != 0));
    }
});
