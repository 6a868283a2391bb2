//! Whatever the dots: what is encoded, decoded, is the strip again, and no real-time command stands in the stream.

use proptest::prelude::*;
use stripling::bitmap::Bitmap;
use stripling::printer::{self, Cut, CutCommand, CutLine, Profile, Raster, Thrift, encode_in_bands};
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
        // 1040 and 1296 are widths, and places in wider rows, that spell a pair.
        prop_oneof![8 => Just(0u32), 2 => 8..400u32, 1 => prop::sample::select(vec![1048u32, 1304, 1400])],
        prop::sample::select(vec![Thrift::Stripes, Thrift::Stripes, Thrift::Bands, Thrift::None, Thrift::None, Thrift::Feeds]),
        (
            prop::sample::select(vec![1400u32, 2048, 4096, 1 << 20]),
            any::<bool>(),
            prop::sample::select(vec![CutCommand::FeedAndCut, CutCommand::Cut]),
            prop::sample::select(vec![CutLine::None, CutLine::Inside, CutLine::Every]),
        ),
    )
        .prop_map(
            |(name, raster, lsb_first, cut, band_rows, other_width, thrift, (band_bytes, mirrored, cut_command, cut_line))| {
                let mut profile = Profile::named(name).expect("built in");
                (profile.raster, profile.lsb_first, profile.cut, profile.band_rows) = (raster, lsb_first, cut, band_rows);
                profile.thrift = thrift;
                (profile.band_bytes, profile.cut_command, profile.cut_line) = (band_bytes, cut_command, cut_line);
                profile.mirrored = mirrored && matches!(thrift, Thrift::None | Thrift::Feeds);
                if other_width > 0 {
                    profile.dots = other_width;
                }
                profile
            },
        )
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
    /// Lines of words: gaps between them, white at the left and at the right.
    Text,
    /// The same, with a pair standing or lying here and there.
    TextWithPairs,
}

/// Words of any dots, from one to two dozen wide, in lines that end somewhere.
fn set_text(bitmap: &mut Bitmap, noise: &mut impl FnMut() -> u8) {
    let mut upto = |most: i32| i32::from(noise()) * (most + 1) / 256;
    let (width, height) = (bitmap.width() as i32, bitmap.height() as i32);
    let mut y = upto(16);
    while y < height {
        let (tall, most_gap, sparse) = (3 + upto(36), [4, 12, 90][upto(2) as usize], upto(3) == 0);
        let mut x = upto(width / 4);
        let end = upto(width + width / 4).min(width);
        while x < end {
            let wide = 1 + upto(23);
            for (across, down) in (0..wide).flat_map(|across| (0..tall).map(move |down| (across, down))) {
                if upto(3) != 0 && !(sparse && down > 1) {
                    bitmap.set(x + across, y + down, true);
                }
            }
            x += wide + 1 + upto(most_gap);
        }
        y += tall + upto(40);
    }
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
        Ground::Columns | Ground::Text | Ground::TextWithPairs => {}
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
    if matches!(ground, Ground::Text | Ground::TextWithPairs) {
        set_text(&mut bitmap, &mut noise);
    }
    if matches!(ground, Ground::TextWithPairs) {
        for _ in 0..1 + noise() % 6 {
            let (x, y) = (i32::from(noise()) * width as i32 / 256, i32::from(noise()) * height as i32 / 256);
            let (standing, x) = (noise() < 128, if x % 3 == 0 { x } else { x / 8 * 8 });
            for part in 0..2 {
                let byte = turned(bad());
                for bit in 0..8 {
                    let along = part * 8 + bit;
                    let (x, y) = if standing { (x, y + along) } else { (x + along, y) };
                    bitmap.set(x, y, byte & (0x80 >> bit) != 0);
                }
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
        Just(Ground::Sparse),
        Just(Ground::Text),
        Just(Ground::Text),
        Just(Ground::TextWithPairs),
        Just(Ground::TextWithPairs)
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
        let told = printer::as_told(strip.clone(), &profile);
        let inside = strip.cuts.iter().any(|&cut| cut > 0 && cut < strip.bitmap.height());
        let lined = match profile.cut_line {
            CutLine::None => false,
            CutLine::Inside => inside,
            CutLine::Every => true,
        };
        let lined = lined && profile.cut == Cut::None;
        if [Thrift::None, Thrift::Feeds].contains(&profile.thrift) {
            let raster: &[&str] = match profile.raster {
                Raster::Rows => &["GS v 0"],
                Raster::Graphics => &["GS ( L", "GS 8 L"],
                Raster::Columns => &["ESC *", "ESC 3", "LF", "ESC J"],
            };
            let feeds = if profile.thrift == Thrift::Feeds { "ESC J" } else { "GS V" };
            let allowed = |name: &str| ["ESC @", "GS V", feeds].contains(&name) || raster.contains(&name);
            prop_assert!(seen.commands.keys().all(|name| allowed(name)), "{:?}", seen.commands);
            // No more is changed than must be: one dot of each pair, which is moved (in the way of rows, to its neighbour).
            let looked_at = if profile.mirrored { strip.bitmap.mirrored() } else { strip.bitmap.clone() };
            let pairs = (0..strip.bitmap.height()).flat_map(|y| looked_at.row(y).windows(2)).filter(|pair| {
                let sent = |byte: u8| if profile.lsb_first { byte.reverse_bits() } else { byte };
                printer::encode::spells_real_time(&[sent(pair[0]), sent(pair[1])])
            });
            if profile.raster != Raster::Columns && !lined {
                prop_assert_eq!(told.bitmap.height(), strip.bitmap.height());
                let changed: u32 = told.bitmap.data().iter().zip(strip.bitmap.data()).map(|(a, b)| (a ^ b).count_ones()).sum();
                prop_assert_eq!(changed as usize, pairs.count() * 2);
            }
            prop_assert_eq!(&printer::as_told(told.clone(), &profile), &told);
            prop_assert_eq!(&printer::encode(&told, &profile), &bands.bytes);
        } else if !lined {
            prop_assert_eq!(&told, &strip);
        }
        let strip = told;
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
        // Behind the last dots there are only feeds and cuts.
        prop_assert!(bands.ends.contains(&bands.dots_end) || bands.dots_end == 0);
        if strip.bitmap.black() > 0 {
            let tail = printer::decode(&bands.bytes[bands.dots_end..], &profile);
            prop_assert_eq!(tail.bitmap.black(), 0);
            let fed = |name: &String| profile.thrift == Thrift::None || ["ESC J", "GS V"].contains(&name.as_str()) || name == "GS v 0" || name.contains(" L");
            prop_assert!(tail.commands.keys().all(fed), "{:?}", tail.commands);
        }
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
        let strip = printer::as_told(strip, &profile);
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
            (profile.raster, profile.thrift) = (raster, Thrift::Stripes);
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
