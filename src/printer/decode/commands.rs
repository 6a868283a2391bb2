//! Which command begins at a byte, and what it does. Names and lengths: vendors' command references.

use super::{Machine, shown};

impl Machine<'_> {
    /// One command, or one run of text. `None` when the bytes end inside it.
    pub(super) fn command(&mut self) -> Option<()> {
        match self.byte()? {
            0x0A => {
                self.count("LF");
                self.paper.print_line(None);
            }
            0x0D => self.count("CR"),
            0x09 => self.count("HT"),
            0x0C => self.count("FF"),
            0x10 => self.real_time()?,
            0x1B => self.escape()?,
            0x1C => {
                let byte = self.byte()?;
                self.skip(0x1C, byte)?;
            }
            0x1D => self.group()?,
            byte if byte < 0x20 => self.fault(format!("byte {byte:02X} begins no command")),
            _ => self.text(),
        }
        Some(())
    }

    fn text(&mut self) {
        let rest = &self.bytes[self.at..];
        let more = rest.iter().take_while(|&&byte| byte >= 0x20).count();
        self.at += more;
        self.text_bytes += more as u64 + 1;
        self.paper.letters();
        self.fault(format!("{} bytes of text in the printer's own letters are not painted", more + 1));
    }

    /// `DLE`: real-time commands where they belong, between commands.
    fn real_time(&mut self) -> Option<()> {
        match self.byte()? {
            0x04 => {
                self.count("DLE EOT");
                let kind = self.byte()?;
                if !(1..=8).contains(&kind) {
                    self.fault(format!("DLE EOT {kind} asks for nothing known"));
                }
            }
            0x05 => {
                self.count("DLE ENQ");
                self.byte()?;
            }
            0x14 => {
                self.count("DLE DC4");
                let parameters = match self.byte()? {
                    7 => 1,
                    8 => 7,
                    _ => 2,
                };
                self.take(parameters)?;
            }
            byte => self.fault(format!("10 {byte:02X} is no command")),
        }
        Some(())
    }

    fn escape(&mut self) -> Option<()> {
        match self.byte()? {
            b'@' => {
                self.count("ESC @");
                self.stored = None;
                self.paper.initialise(self.profile);
            }
            b'2' => {
                self.count("ESC 2");
                self.paper.default_spacing();
            }
            b'3' => {
                self.count("ESC 3");
                let units = self.byte()?;
                self.paper.spacing(units);
            }
            b'J' => {
                self.count("ESC J");
                let units = self.byte()?;
                self.paper.print_line(Some(u32::from(units)));
            }
            b'd' => {
                self.count("ESC d");
                let lines = self.byte()?;
                self.paper.print_lines(lines);
            }
            b'*' => self.bit_image()?,
            b'$' => {
                self.count("ESC $");
                let units = self.word()?;
                self.paper.move_to(i64::from(units));
            }
            b'\\' => {
                self.count("ESC \\");
                let units = self.word()? as i16;
                self.paper.move_by(i64::from(units));
            }
            b'a' => {
                self.count("ESC a");
                let place = self.byte()?;
                self.paper.justify(place);
            }
            b'i' => {
                self.count("ESC i");
                self.cut_here();
            }
            b'm' => {
                self.count("ESC m");
                self.cut_here();
            }
            byte @ (b'L' | b'K' | b'e') => {
                let name = format!("ESC {}", byte as char);
                self.count(&name);
                if byte != b'L' {
                    self.byte()?;
                }
                self.fault(format!("{name} (page mode, feeding back) is not followed here"));
            }
            byte => self.skip(0x1B, byte)?,
        }
        Some(())
    }

    fn group(&mut self) -> Option<()> {
        match self.byte()? {
            b'v' => self.raster()?,
            b'(' => {
                let name = self.byte()?;
                let length = usize::from(self.word()?);
                let body = self.take(length)?;
                self.count(&format!("GS ( {}", shown(name)));
                if name == b'L' {
                    self.graphics(body);
                }
            }
            b'8' => {
                let name = self.byte()?;
                let length = u32::from_le_bytes([self.byte()?, self.byte()?, self.byte()?, self.byte()?]);
                let body = self.take(usize::try_from(length).ok()?)?;
                self.count(&format!("GS 8 {}", shown(name)));
                if name == b'L' {
                    self.graphics(body);
                }
            }
            b'V' => self.cut()?,
            b'P' => {
                self.count("GS P");
                let (horizontal, vertical) = (self.byte()?, self.byte()?);
                self.paper.motion_units(self.profile, horizontal, vertical);
            }
            b'L' => {
                self.count("GS L");
                let units = self.word()?;
                self.paper.left_margin(units);
            }
            b'W' => {
                self.count("GS W");
                let units = self.word()?;
                self.paper.area_width(units);
            }
            byte => self.skip(0x1D, byte)?,
        }
        Some(())
    }
}
