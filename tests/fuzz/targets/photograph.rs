//! A picture for `makeready --photo`, taken for either strip: any bytes are refused in words or read, and what is read becomes answers
//! that can be read.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stripling::makeready::answers::Answers;
use stripling::makeready::photograph::{Picture, answers, read, sheet::Sheet, trials};
use stripling::makeready::ways;
use stripling::printer::Profile;

fuzz_target!(|bytes: &[u8]| {
    let base = Profile::named("58mm").expect("built in");
    let sheet = Sheet::of(&base).expect("wide enough");
    let (seen, reading) = read(&[Picture::read(bytes)], &sheet);
    match reading {
        Some(reading) => {
            Answers::read(&answers(&reading), "the photograph").expect("answers");
        }
        None => assert!(seen[0].as_ref().is_err_and(|refusal| !refusal.to_string().is_empty())),
    }
    let picture = Picture::read(bytes);
    let was_picture = picture.is_ok();
    match trials::read(&[picture], &ways::trials(&base), &ways::frames(&base)) {
        Ok((seen, verdicts)) => {
            assert!(was_picture || seen[0].is_err());
            let known = Answers::default();
            Answers::read(&trials::answers(&verdicts, &known), "the photograph").expect("answers");
        }
        Err(refusal) => assert!(!refusal.to_string().is_empty()),
    }
});
