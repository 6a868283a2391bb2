//! What lies on the table: the paper of the test's printers, read as a person and a scanner read it.
//!
//! A strip is whole where every row of dots stands on one piece of paper that `encode` made of its unit; whose it is says its barcode, read
//! by rxing, a library that is not ours.

use crate::send::printer::TestPrinter;
use rxing::common::HybridBinarizer;
use rxing::{BarcodeFormat, BinaryBitmap, DecodeHints, Luma8LuminanceSource, MultiFormatReader, Reader};
use std::collections::{BTreeMap, HashMap};
use std::sync::Mutex;

/// Bytes of a row of 384 dots.
const ROW: usize = 48;

/// How every unit's strip must look, and what was found so far at each printer.
pub struct Table {
    wanted: HashMap<Vec<u8>, String>,
    /// The row with which all strips begin, and how long they are, bytes.
    first: Vec<u8>,
    length: usize,
    read: Mutex<BTreeMap<String, Pieces>>,
}

#[derive(Default)]
struct Pieces {
    read: usize,
    whole: HashMap<String, usize>,
}

impl Table {
    /// From the bytes of each unit's strip, with its key.
    pub fn of(strips: impl Iterator<Item = (String, Vec<u8>)>) -> Table {
        let wanted: HashMap<Vec<u8>, String> = strips.map(|(key, bytes)| (inked(&rows(&bytes)), key)).collect();
        let (first, length) = wanted.keys().next().map(|rows| (rows[..ROW].to_vec(), rows.len())).expect("a strip");
        assert!(
            wanted.keys().all(|rows| rows.len() == length && rows.starts_with(&first)),
            "all strips are alike but for their keys"
        );
        Table { wanted, first, length, read: Mutex::default() }
    }

    /// How often a unit's whole strip has come out of a printer, cut or still hanging from it.
    pub fn whole(&self, printer: &TestPrinter, key: &str) -> usize {
        let mut read = self.read.lock().expect("a reader's own checks");
        let pieces = read.entry(printer.address().to_owned()).or_default();
        let (cut, hanging) = printer.rows(pieces.read);
        pieces.read += cut.len();
        for found in cut.iter().flat_map(|piece| self.strips_on(piece)) {
            *pieces.whole.entry(found).or_default() += 1;
        }
        pieces.whole.get(key).copied().unwrap_or(0) + self.strips_on(&hanging).iter().filter(|found| *found == key).count()
    }

    fn strips_on(&self, piece: &[u8]) -> Vec<String> {
        let starts = (0..piece.len()).step_by(ROW).filter(|at| piece[*at..].starts_with(&self.first));
        let strips = starts.filter_map(|at| piece.get(at..at + self.length));
        let whole = strips.filter_map(|rows| Some((rows, self.wanted.get(rows)?)));
        whole
            .map(|(rows, key)| {
                assert_eq!(scanned(rows).as_deref(), Some(format!("S-{key}").as_str()), "what a scanner reads on it");
                key.clone()
            })
            .collect()
    }
}

/// The rows of dots that these bytes put on paper: `ESC @`, `GS v 0` and `GS V` are all that a strip is made of here.
fn rows(bytes: &[u8]) -> Vec<u8> {
    let (mut rest, mut rows) = (bytes, Vec::new());
    loop {
        rest = match rest {
            [] => return rows,
            [0x1B, 0x40, rest @ ..] | [0x1D, 0x56, 0x42, _, rest @ ..] => rest,
            [0x1D, 0x76, 0x30, _, ROW_LOW, 0, low, high, rest @ ..] => {
                let (data, rest) = rest.split_at(ROW * usize::from(u16::from_le_bytes([*low, *high])));
                rows.extend(data);
                rest
            }
            other => panic!("no command of a strip: {:x?}", &other[..other.len().min(8)]),
        }
    }
}

const ROW_LOW: u8 = ROW as u8;

/// Without the white rows before and after.
fn inked(rows: &[u8]) -> Vec<u8> {
    let inked = |row: &[u8]| row.iter().any(|byte| *byte != 0);
    let first = rows.chunks(ROW).position(inked).expect("a strip with dots");
    let last = rows.chunks(ROW).rposition(inked).expect("a strip with dots");
    rows[first * ROW..(last + 1) * ROW].to_vec()
}

/// What a scanner reads on these rows.
fn scanned(rows: &[u8]) -> Option<String> {
    let light = |byte: &u8| (0..8).map(move |bit| if 0x80 >> bit & byte == 0 { 255 } else { 0 }).collect::<Vec<u8>>();
    let luma: Vec<u8> = rows.iter().flat_map(light).collect();
    let source = Luma8LuminanceSource::new(luma, ROW as u32 * 8, (rows.len() / ROW) as u32).ok()?;
    let hints =
        DecodeHints { TryHarder: Some(true), PossibleFormats: Some([BarcodeFormat::CODE_128].into()), ..DecodeHints::default() };
    let mut picture = BinaryBitmap::new(HybridBinarizer::new(source));
    MultiFormatReader::default().decode_with_hints(&mut picture, &hints).ok().map(|read| read.getText().to_owned())
}

/// The reader itself: a printer that is sent a strip, half of one, and one with a dot that is another.
#[test]
fn a_strip_is_whole_with_all_its_dots_on_one_piece_of_paper() {
    use std::io::Write;
    let shop = super::program::Shop::of(2);
    let strip = std::fs::read(shop.folder.path().join("wanted/HRN-0001.bin")).expect("encoded");
    let printer = TestPrinter::on_network(None);
    let lies = |bytes: &[u8]| {
        let before = printer.received();
        let mut line = std::net::TcpStream::connect(printer.address().trim_start_matches("tcp://")).expect("a printer");
        line.write_all(bytes).expect("sent");
        while printer.received() < before + bytes.len() {
            std::thread::sleep(std::time::Duration::from_millis(2));
        }
        printer.wait_until_idle();
        [1, 2].map(|unit| shop.whole(&[&printer], unit))
    };
    assert_eq!(lies(&strip), [1, 0]);
    let mut other = strip.clone();
    let dots = strip.iter().rposition(|byte| *byte == 0xFF).expect("a black byte");
    other[dots] = 0xFE;
    assert_eq!(lies(&other), [1, 0], "a dot is another");
    // A cut after half of its pictures: as where a roll is changed in it.
    let starts: Vec<usize> = (0..strip.len()).filter(|at| strip[*at..].starts_with(&[0x1D, 0x76, 0x30])).collect();
    let (before, after) = strip.split_at(starts[starts.len() / 2]);
    assert_eq!(lies(&[before, &[0x1D, 0x56, 0x42, 0], after].concat()), [1, 0], "it lies there in two pieces");
    assert_eq!(lies(&strip), [2, 0], "and once more whole");
}
