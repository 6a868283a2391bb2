//! A picture for `makeready --photo`: any bytes are refused in words or read, and what is read becomes answers that can be read.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stripling::makeready::answers::Answers;
use stripling::makeready::photograph::{Picture, answers, read, sheet::Sheet};
use stripling::printer::Profile;

fuzz_target!(|bytes: &[u8]| {
    let sheet = Sheet::of(&Profile::named("58mm").expect("built in")).expect("wide enough");
    let (seen, reading) = read(&[Picture::read(bytes)], &sheet);
    match reading {
        Some(reading) => {
            Answers::read(&answers(&reading), "the photograph").expect("answers");
        }
        None => assert!(seen[0].as_ref().is_err_and(|refusal| !refusal.to_string().is_empty())),
    }
});
