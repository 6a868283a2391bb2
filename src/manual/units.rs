//! The table of units: one row of CSV is one unit, one strip. Columns are named by the first line.
//!
//! What is wrong with a row is noticed with its number and line; the row stays usable. Cells are kept letter for letter.

use std::collections::BTreeMap;
use std::sync::Arc;

use csv::{ByteRecord, ReaderBuilder};

use super::Error;
use super::literal;
use super::source::{Level, Place, SourceFile, Spot};
use crate::names::nearest;

/// The largest table, in bytes.
pub const LARGEST: u64 = 64 << 20;

/// One row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unit {
    /// Number of the row, from 1; the line of headings is not counted.
    pub row: u32,
    /// Line of the file on which the row begins, from 1.
    pub line: u32,
    /// Values in the order of the columns; as many as there are columns.
    pub values: Vec<String>,
    pub(super) columns: Arc<Vec<String>>,
    key_column: usize,
}

impl Unit {
    /// What the unit is called: the value of the key column.
    pub fn key(&self) -> &str {
        self.values.get(self.key_column).map_or("", String::as_str)
    }

    /// The value of a column.
    pub fn value(&self, column: &str) -> Option<&str> {
        let at = self.columns.iter().position(|name| name == column)?;
        self.values.get(at).map(String::as_str)
    }

    /// Names of the columns.
    pub fn columns(&self) -> &[String] {
        &self.columns
    }
}

/// Something noticed in the table: what preflight later calls a finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Noticed {
    pub rule: &'static str,
    pub level: Level,
    pub message: String,
    pub hint: Option<String>,
    /// The row it is in; `None` for the headings.
    pub row: Option<u32>,
    pub place: Place,
}

/// All rows of a table.
#[derive(Clone, Debug)]
pub struct Units {
    name: String,
    columns: Arc<Vec<String>>,
    key_column: usize,
    rows: Vec<Unit>,
    noticed: Vec<Noticed>,
}

impl Units {
    /// Reads a table. Separators are commas; when the headings hold none, semicolons or tabs, as spreadsheets write them. Until
    /// [`Units::key_by`] says otherwise the first column is the key.
    ///
    /// # Errors
    /// When it is not UTF-8, has no headings or no rows, or is no CSV at all.
    pub fn read(bytes: &[u8], name: &str) -> Result<Units, Error> {
        let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
        if bytes.len() as u64 > LARGEST {
            let message = format!("{name} has {} bytes, more than the {LARGEST} that are allowed", bytes.len());
            return Err(Error::Units { message, hint: Some("split the run".into()), at: None });
        }
        let text = utf8(bytes, name)?;
        if let Some(offset) = unclosed_quote(text, delimiter(text)) {
            let file = Arc::new(SourceFile::new(name, text));
            let message = "the quote that opens here is never closed: all that follows would be one cell".to_owned();
            let hint = "close it at the end of the cell; a quote inside a cell is written twice".to_owned();
            return Err(Error::Units { message, hint: Some(hint), at: Some(Box::new(Spot::new(file, offset, 1))) });
        }
        let mut reader = ReaderBuilder::new().flexible(true).has_headers(false).delimiter(delimiter(text)).from_reader(bytes);
        let mut units =
            Units { name: name.to_owned(), columns: Arc::default(), key_column: 0, rows: Vec::new(), noticed: Vec::new() };
        let mut record = ByteRecord::new();
        let mut headed = false;
        let mut lines = Lines::new(bytes);
        loop {
            let position = reader.position().byte() as usize;
            match reader.read_byte_record(&mut record) {
                Ok(false) => break,
                Ok(true) => {}
                Err(error) => return Err(units.error(format!("this is not CSV: {error}"), lines.at(position), text)),
            }
            let line = lines.at(position);
            let cells: Vec<String> = record.iter().map(|cell| String::from_utf8_lossy(cell).into_owned()).collect();
            if headed {
                units.add_row(cells, line);
            } else {
                headed = true;
                units.set_columns(cells, line);
            }
        }
        if units.columns.iter().all(|column| column.is_empty()) {
            return Err(units.error("the table has no headings".into(), 1, text));
        }
        if units.rows.is_empty() {
            return Err(units.error("the table has headings but no rows".into(), 1, text));
        }
        units.check_keys();
        Ok(units)
    }

    fn error(&self, message: String, line: u32, text: &str) -> Error {
        let file = Arc::new(SourceFile::new(self.name.clone(), text));
        let offset = text.split_inclusive('\n').take(line.saturating_sub(1) as usize).map(str::len).sum();
        let hint = "the first line names the columns, every further line is one unit".to_owned();
        Error::Units { message, hint: Some(hint), at: Some(Box::new(Spot::new(file, offset, 0))) }
    }

    fn notice(&mut self, rule: &'static str, level: Level, message: String, hint: &str, row: Option<u32>, line: u32) {
        let place = Place { file: self.name.clone(), line, column: 1 };
        self.noticed.push(Noticed { rule, level, message, hint: Some(hint.into()), row, place });
    }

    fn set_columns(&mut self, cells: Vec<String>, line: u32) {
        let columns: Vec<String> = cells.iter().map(|cell| cell.trim().to_owned()).collect();
        for (n, column) in columns.iter().enumerate() {
            if column.is_empty() {
                let message = format!("column {} has no heading", n + 1);
                self.notice("units-heading", Level::Warning, message, "no field can name it", None, line);
            } else if columns.iter().take(n).any(|earlier| earlier == column) {
                let message = format!("two columns are called {column:?}");
                self.notice(
                    "units-heading",
                    Level::Error,
                    message,
                    "a field takes the first; give each its own name",
                    None,
                    line,
                );
            }
        }
        self.columns = Arc::new(columns);
    }

    fn add_row(&mut self, mut cells: Vec<String>, line: u32) {
        if cells.iter().all(|cell| cell.trim().is_empty()) {
            return;
        }
        let row = self.rows.len() as u32 + 1;
        let (found, wanted) = (cells.len(), self.columns.len());
        if found != wanted {
            let message = format!("row {row} has {found} cells, the headings are {wanted}");
            let hint =
                "missing cells are taken as empty, further ones are left out; a comma inside a cell wants quotes around the cell";
            self.notice("units-ragged", Level::Error, message, hint, Some(row), line);
        }
        cells.resize(wanted, String::new());
        for (n, cell) in cells.iter_mut().enumerate() {
            if cell.contains(is_forbidden) {
                *cell = cell.replace(is_forbidden, "\u{FFFD}");
                let column = self.columns.get(n).cloned().unwrap_or_default();
                let message = format!("row {row} holds a control character in {column:?}");
                self.notice("units-control-character", Level::Error, message, "type the cell anew", Some(row), line);
            }
        }
        self.rows.push(Unit { row, line, values: cells, columns: self.columns.clone(), key_column: self.key_column });
    }

    /// Makes a column the key. `None` makes it the first.
    ///
    /// # Errors
    /// When there is no such column.
    pub fn key_by(&mut self, column: Option<&str>) -> Result<(), Error> {
        let at = match column {
            None => Some(0),
            Some(column) => self.columns.iter().position(|name| name == column),
        };
        let Some(at) = at else {
            let column = column.unwrap_or_default();
            let near = nearest(column, self.columns.iter().map(String::as_str)).map(|name| format!("did you mean {name:?}? "));
            let hint = format!("{}the columns of {} are {}", near.unwrap_or_default(), self.name, self.columns.join(", "));
            let message = format!("`key` under [units] names the column {column:?}, which is not there");
            return Err(Error::Units { message, hint: Some(hint), at: None });
        };
        self.key_column = at;
        self.rows.iter_mut().for_each(|unit| unit.key_column = at);
        self.check_keys();
        Ok(())
    }

    /// A unit is told from the others by its key: it must have one, and no other unit may have it.
    fn check_keys(&mut self) {
        const RULE: &str = "units-key";
        self.noticed.retain(|noticed| noticed.rule != RULE);
        let column = self.columns.get(self.key_column).cloned().unwrap_or_default();
        let mut seen: BTreeMap<&str, u32> = BTreeMap::new();
        let mut found = Vec::new();
        for unit in &self.rows {
            let key = unit.key();
            if key.trim().is_empty() {
                found.push((format!("row {} has no {column:?}", unit.row), unit.row, unit.line));
            } else if let Some(first) = seen.get(key) {
                found.push((format!("row {} has the same {column:?} as row {first}: {key:?}", unit.row), unit.row, unit.line));
            } else {
                seen.insert(key, unit.row);
            }
        }
        for (message, row, line) in found {
            self.notice(RULE, Level::Error, message, "each unit wants a key of its own", Some(row), line);
        }
        self.noticed.sort_by_key(|noticed| noticed.place.line);
    }

    /// Name of the file, as it was given.
    pub fn name(&self) -> &str {
        &self.name
    }

    pub fn columns(&self) -> &[String] {
        &self.columns
    }

    pub fn key_column(&self) -> &str {
        self.columns.get(self.key_column).map_or("", String::as_str)
    }

    pub fn len(&self) -> usize {
        self.rows.len()
    }

    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    pub fn iter(&self) -> std::slice::Iter<'_, Unit> {
        self.rows.iter()
    }

    /// The row of a number, from 1.
    pub fn row(&self, number: u32) -> Option<&Unit> {
        self.rows.get(number.checked_sub(1)? as usize)
    }

    /// The first row with this key.
    pub fn by_key(&self, key: &str) -> Option<&Unit> {
        self.rows.iter().find(|unit| unit.key() == key)
    }

    /// The unit that a person means: the one with this key, else the row of this number.
    ///
    /// # Errors
    /// When it is neither.
    pub fn find(&self, wanted: &str) -> Result<&Unit, Error> {
        let by_number = || wanted.trim().parse().ok().and_then(|number| self.row(number));
        self.by_key(wanted).or_else(by_number).ok_or_else(|| {
            let near = nearest(wanted, self.rows.iter().take(1000).map(Unit::key)).map(|key| format!("did you mean {key:?}? "));
            let hint = format!(
                "{}a unit is a row number from 1 to {}, or a value of {:?}",
                near.unwrap_or_default(),
                self.len(),
                self.key_column()
            );
            Error::Units { message: format!("{} has no unit {wanted:?}", self.name), hint: Some(hint), at: None }
        })
    }

    /// What is wrong with the table, in the order of its lines.
    pub fn noticed(&self) -> &[Noticed] {
        &self.noticed
    }
}

/// Counts lines as the reader goes on; where it stands it may still have empty lines before it.
struct Lines<'b> {
    bytes: &'b [u8],
    done: usize,
    line: u32,
}

impl<'b> Lines<'b> {
    fn new(bytes: &'b [u8]) -> Lines<'b> {
        Lines { bytes, done: 0, line: 1 }
    }

    /// The line of the first byte from `position` on that ends no line. Positions only grow.
    fn at(&mut self, position: usize) -> u32 {
        let rest = self.bytes.get(position..).unwrap_or_default();
        let start = position + rest.iter().take_while(|byte| matches!(byte, b'\r' | b'\n')).count();
        let passed = self.bytes.get(self.done..start).unwrap_or_default();
        self.line += passed.iter().filter(|byte| **byte == b'\n').count() as u32;
        self.done = start.max(self.done);
        self.line
    }
}

fn is_forbidden(character: char) -> bool {
    !matches!(character, '\t' | '\n' | '\r') && (character.is_control() || literal::is_noncharacter(character))
}

fn utf8<'b>(bytes: &'b [u8], name: &str) -> Result<&'b str, Error> {
    std::str::from_utf8(bytes).map_err(|error| {
        let at = error.valid_up_to();
        let file = Arc::new(SourceFile::new(name, String::from_utf8_lossy(bytes)));
        let wide = matches!(bytes, [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..]);
        Error::NotUtf8 { byte: bytes.get(at).copied().unwrap_or_default(), wide, at: Error::at(&file, at, 1) }
    })
}

/// Where a quote opens that the table ends in. A quote opens at the beginning of a cell only; inside, two stand for one.
fn unclosed_quote(text: &str, delimiter: u8) -> Option<usize> {
    let (mut open, mut closed, mut begins) = (None, None, true);
    for (at, byte) in text.bytes().enumerate() {
        match (open, byte) {
            (None, b'"') if closed.is_some() => open = closed.take(),
            (None, b'"') if begins => open = Some(at),
            (None, _) => (closed, begins) = (None, byte == delimiter || matches!(byte, b'\n' | b'\r')),
            (Some(_), b'"') => (open, closed, begins) = (None, open, false),
            (Some(_), _) => {}
        }
    }
    open
}

/// What separates the headings.
fn delimiter(text: &str) -> u8 {
    let headings = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    [b',', b';', b'\t'].into_iter().find(|separator| headings.as_bytes().contains(separator)).unwrap_or(b',')
}
