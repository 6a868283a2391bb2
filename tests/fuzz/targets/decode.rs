//! Any bytes to the printer, and any dots through it: what is encoded, decoded, is the same dots in all three ways.
#![no_main]

use libfuzzer_sys::{Corpus, fuzz_target};
use stripling::bitmap::Bitmap;
use stripling::printer::decode::{MOST_FAULTS, decode_within};
use stripling::printer::{BUILT_IN, Cut, CutCommand, CutLine, Profile, Raster, Thrift, as_told, encode_in_bands};
use stripling::strip::Strip;

/// Bytes of dots painted: a command can ask for kilometres of paper.
const MOST: usize = 1 << 20;

fuzz_target!(|bytes: &[u8]| -> Corpus {
    let Some((head, bytes)) = bytes.split_at_checked(4) else { return Corpus::Reject };
    let mut profile = Profile::named(BUILT_IN[usize::from(head[0]) % BUILT_IN.len()].name).expect("built in");
    profile.cut = [Cut::None, Cut::Partial, Cut::Full][usize::from(head[1] & 3) % 3];
    profile.lsb_first = head[1] & 4 != 0;
    profile.thrift = [Thrift::None, Thrift::Feeds, Thrift::Bands, Thrift::Stripes][usize::from(head[1] >> 3 & 3)];
    profile.band_rows = u32::from(head[2]).max(1);
    profile.cut_command = if head[1] & 0x20 == 0 { CutCommand::FeedAndCut } else { CutCommand::Cut };
    profile.cut_line = [CutLine::Inside, CutLine::Every][usize::from(head[1] >> 6 & 1)];
    profile.mirrored = head[1] & 0x80 != 0 && matches!(profile.thrift, Thrift::None | Thrift::Feeds);

    let seen = decode_within(bytes, &profile, MOST);
    assert_eq!((seen.bitmap.width(), seen.bytes), (profile.dots, bytes.len()));
    assert!(seen.bitmap.height() <= seen.rows && seen.bitmap.data().len() <= MOST);
    assert!(seen.errors.len() <= MOST_FAULTS && seen.fault_count >= seen.errors.len() as u64);
    assert!(seen.errors.iter().all(|fault| fault.offset <= bytes.len()));
    assert!(seen.cuts.is_sorted() && seen.cuts.iter().all(|&cut| cut <= seen.rows), "{:?} of {}", seen.cuts, seen.rows);

    // The same bytes as dots. Narrow, so that few bytes make many rows.
    profile.dots = 8 + u32::from(head[3]) % 57;
    let stride = profile.dots.div_ceil(8) as usize;
    let rows = (bytes.len() / stride).min(600);
    let bitmap = Bitmap::from_rows(profile.dots, rows as u32, bytes[..rows * stride].to_vec());
    let mut strip = Strip::new(bitmap, profile.resolution);
    strip.cuts = if rows > 40 { vec![rows as u32 / 3, rows as u32 / 2 + 7] } else { Vec::new() };
    for raster in [Raster::Rows, Raster::Graphics, Raster::Columns] {
        profile.raster = raster;
        let strip = as_told(strip.clone(), &profile);
        let bands = encode_in_bands(&strip, &profile);
        assert!(bands.ends.is_sorted() && bands.ends.last() == Some(&bands.bytes.len()));
        let seen = decode_within(&bands.bytes, &profile, MOST);
        assert!(seen.errors.is_empty() && seen.hidden_real_time == 0, "{raster:?}: {:?}", seen.errors);
        assert_eq!(seen.bitmap, strip.bitmap, "{raster:?}: other dots came out");
        if profile.cut != Cut::None {
            assert!(strip.cuts.iter().all(|cut| seen.cuts.contains(cut)), "{raster:?}: {:?}", seen.cuts);
        }
    }
    Corpus::Keep
});
