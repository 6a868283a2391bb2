//! Whatever the dots: what is encoded, decoded, is the strip again, and no real-time command stands in the stream.

use proptest::prelude::*;
use stripling::bitmap::Bitmap;
use stripling::printer::{self, Cut, Profile, Raster, encode_in_bands};
use stripling::strip::Strip;

const WAYS: [Raster; 3] = [Raster::Rows, Raster::Graphics, Raster::Columns];

fn profiles() -> impl Strategy<Value = Profile> {
    let names: Vec<&str> = printer::BUILT_IN.iter().map(|generic| generic.name).collect();
    let cuts = prop::sample::select(vec![Cut::None, Cut::Partial, Cut::Full]);
    let bands = prop_oneof![1u32..200, Just(2000u32)];
    (
        prop::sample::select(names),
        prop::sample::select(WAYS.to_vec()),
        any::<bool>(),
        cuts,
        bands,
        prop_oneof![4 => Just(0u32), 1 => 8..400u32],
    )
        .prop_map(|(name, raster, lsb_first, cut, band_rows, narrow)| {
            let mut profile = Profile::named(name).expect("built in");
            (profile.raster, profile.lsb_first, profile.cut, profile.band_rows) = (raster, lsb_first, cut, band_rows);
            if narrow > 0 {
                profile.dots = narrow;
            }
            profile
        })
}

/// Bytes of which a printer would act on many, if they came to it as they are.
fn byte() -> impl Strategy<Value = u8> {
    prop_oneof![4 => Just(0x10u8), 4 => prop::sample::select(vec![0x04u8, 0x05, 0x14]), 1 => any::<u8>(), 2 => Just(0u8)]
}

/// What a bitmap is made of: one kind of trouble each.
#[derive(Clone, Debug)]
enum Ground {
    /// Any dots.
    Random,
    /// Pairs within rows.
    Rows,
    /// Pairs within columns, at every phase.
    Columns,
    /// Half a pair at the end of each row, the other half at the start of the next.
    RowEnds,
    /// Both ways at once.
    Both,
    /// Mostly blank, with pairs here and there.
    Sparse,
}

fn bitmap(
    width: u32,
    height: u32,
    ground: &Ground,
    lsb_first: bool,
    mut noise: impl FnMut() -> u8,
    mut bad: impl FnMut() -> u8,
) -> Bitmap {
    let turned = |byte: u8| if lsb_first { byte.reverse_bits() } else { byte };
    let stride = width.div_ceil(8) as usize;
    let mut data = vec![0u8; stride * height as usize];
    let by_rows = |data: &mut [u8], bad: &mut dyn FnMut() -> u8| data.iter_mut().for_each(|byte| *byte = turned(bad()));
    match ground {
        Ground::Random => data.iter_mut().for_each(|byte| *byte = noise()),
        Ground::Rows | Ground::Both => by_rows(&mut data, &mut bad),
        Ground::RowEnds => data.chunks_mut(stride).for_each(|row| {
            row.fill(0xAA);
            row[0] = turned(0x04);
            row[stride - 1] = turned(0x10);
        }),
        Ground::Sparse => {
            for row in data.chunks_mut(stride).filter(|_| noise() < 30) {
                by_rows(row, &mut bad);
            }
        }
        Ground::Columns => {}
    }
    let mut bitmap = Bitmap::from_rows(width, height, data);
    if matches!(ground, Ground::Columns | Ground::Both) {
        let step = if matches!(ground, Ground::Both) { 2 } else { 1 };
        for x in (0..width as i32).step_by(step) {
            let mut y = -(i32::from(noise()) % 24);
            while y < height as i32 {
                let byte = turned(bad());
                (0..8).for_each(|bit| bitmap.set(x, y + bit, byte & (0x80 >> bit) != 0));
                y += 8;
            }
        }
    }
    bitmap
}

fn ground() -> impl Strategy<Value = Ground> {
    prop_oneof![
        Just(Ground::Random),
        Just(Ground::Rows),
        Just(Ground::Columns),
        Just(Ground::RowEnds),
        Just(Ground::Both),
        Just(Ground::Sparse)
    ]
}

fn cases() -> impl Strategy<Value = (Profile, Strip)> {
    let height = prop_oneof![1 => 0..24u32, 2 => 24..60u32, 1 => 60..300u32];
    (profiles(), height, ground(), any::<[u64; 2]>(), prop::collection::vec(0..320u32, 0..4), prop::collection::vec(byte(), 64))
        .prop_map(|(profile, height, ground, seeds, mut cuts, pool)| {
            let mut state = seeds[0] | 1;
            // A plain shift register: the choice of dots must not cost a test more than the encoding of them.
            let mut next = move || {
                state ^= state << 13;
                state ^= state >> 7;
                state ^= state << 17;
                state
            };
            let mut other = seeds[1] | 1;
            let mut choose = move || {
                other = other.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                pool[(other >> 40) as usize % pool.len()]
            };
            let bitmap = bitmap(profile.dots, height, &ground, profile.lsb_first, || next() as u8, &mut choose);
            cuts.sort_unstable();
            let strip = Strip { cuts, ..Strip::new(bitmap, profile.resolution) };
            (profile, strip)
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn paper_is_the_strip_and_no_printer_is_woken((profile, strip) in cases()) {
        let bands = encode_in_bands(&strip, &profile);
        prop_assert!(!printer::encode::spells_real_time(&bands.bytes));
        let seen = printer::decode(&bands.bytes, &profile);
        prop_assert_eq!(&seen.errors, &[]);
        prop_assert_eq!(seen.hidden_real_time, 0);
        prop_assert_eq!(seen.bitmap.height(), strip.bitmap.height());
        for y in 0..strip.bitmap.height() {
            prop_assert_eq!(seen.bitmap.row(y), strip.bitmap.row(y), "row {}", y);
        }
        let height = strip.bitmap.height();
        let mut cuts: Vec<u32> = strip.cuts.iter().copied().filter(|&cut| cut > 0 && cut < height).chain([height]).collect();
        cuts.dedup();
        if profile.cut == Cut::None {
            cuts.clear();
        }
        prop_assert_eq!(seen.cuts, cuts);
        // Every band's end is a place where a question may stand: asked there, the paper is the same.
        let mut asked = Vec::new();
        let mut from = 0;
        for &end in &bands.ends {
            asked.extend(&bands.bytes[from..end]);
            asked.extend([0x10, 0x04, 0x01]);
            from = end;
        }
        prop_assert_eq!(from, bands.bytes.len());
        let seen = printer::decode(&asked, &profile);
        prop_assert_eq!(&seen.errors, &[]);
        prop_assert_eq!(seen.bitmap, strip.bitmap);
    }

    #[test]
    fn any_bytes_are_survived(bytes in prop::collection::vec(any::<u8>(), 0..400), name in prop::sample::select(vec!["58mm", "58mm-wide", "80mm-180"])) {
        let profile = Profile::named(name).expect("built in");
        let seen = printer::decode::decode_within(&bytes, &profile, 1 << 20);
        prop_assert!(seen.bitmap.data().len() <= 1 << 20);
        prop_assert_eq!(seen.bytes, bytes.len());
    }

    #[test]
    fn any_commands_with_any_parameters_are_survived(
        parts in prop::collection::vec((prop::sample::select(b"\x1b\x1d\x1c\x10\n".to_vec()), prop::sample::select(b"@J*d3\\$av(8VPLWpDk\x04\x05\x14LKe".to_vec()), prop::collection::vec(any::<u8>(), 0..12)), 0..60)
    ) {
        let bytes: Vec<u8> = parts.into_iter().flat_map(|(lead, letter, rest)| [vec![lead, letter], rest].concat()).collect();
        let profile = Profile::named("58mm-wide").expect("built in");
        let seen = printer::decode::decode_within(&bytes, &profile, 1 << 20);
        prop_assert!(seen.bitmap.data().len() <= 1 << 20);
    }

    #[test]
    fn a_stream_cut_short_anywhere_is_survived((profile, strip) in cases(), share in 0.0..1.0f64) {
        let bytes = printer::encode(&strip, &profile);
        let part = (bytes.len() as f64 * share) as usize;
        let seen = printer::decode(&bytes[..part], &profile);
        prop_assert!(seen.bitmap.height() <= strip.bitmap.height() + profile.gap_rows());
    }
}

/// On a picture of the usual kind, a dither of any grey, the last resorts stay what they are.
#[test]
fn a_dithered_picture_hardly_needs_the_last_resorts() {
    for level in [20u32, 60, 100, 128, 160, 200, 240] {
        let mut bitmap = Bitmap::new(576, 2000);
        // A plain error diffusion of a slanted grey, so that the pattern is nowhere the same.
        let mut errors = vec![0i32; 578];
        for y in 0..2000i32 {
            let mut right = 0;
            for x in 0..576i32 {
                let wanted = level as i32 + (x * 7 + y * 3) % 16 + right + errors[x as usize + 1];
                let black = wanted < 128;
                bitmap.set(x, y, black);
                let error = wanted - if black { 0 } else { 255 };
                right = error * 7 / 16;
                errors[x as usize] += error * 3 / 16;
                errors[x as usize + 1] = error * 6 / 16;
            }
        }
        for raster in WAYS {
            let mut profile = Profile::named("80mm").expect("built in");
            profile.raster = raster;
            let strip = Strip::new(bitmap.clone(), profile.resolution);
            let bytes = printer::encode(&strip, &profile);
            let seen = printer::decode(&bytes, &profile);
            assert_eq!(seen.bitmap, bitmap);
            assert!(!printer::encode::spells_real_time(&bytes));
            let count = |name: &str| seen.commands.get(name).copied().unwrap_or(0);
            let most = if level <= 160 { 0 } else { 2000 / 24 * 576 / 100 };
            assert!(count("ESC \\") <= most, "grey {level}, {raster:?}: {} columns printed twice over", count("ESC \\"));
            match raster {
                Raster::Rows => assert_eq!(count("GS ( L"), 0),
                Raster::Graphics => assert_eq!(count("ESC *") + count("GS v 0"), 0),
                Raster::Columns => assert!(count("GS ( L") == 0 && count("GS v 0") <= 3, "{:?}", seen.commands),
            }
        }
    }
}
