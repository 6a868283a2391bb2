//! Where printers may be: looked for in all places at once, and said of each place what could not be looked at and why.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use crate::send::nearby::Nearby;

/// Something that may be a printer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// As `--to` takes it.
    pub address: String,
    /// What is known of it.
    pub what: String,
}

/// What was found, and what could not be looked at.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Look {
    pub found: Vec<Found>,
    pub blind: Vec<String>,
}

/// Looks below these folders: `/dev`, and `/sys` for what the system knows of USB.
pub fn on_this_machine(dev: &Path, sys: &Path) -> Look {
    let mut look = Look::default();
    let usb = usb_printers(sys, &mut look);
    for folder in [dev.join("usb"), dev.to_path_buf()] {
        for path in listed(&folder, &mut look) {
            let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
            let printer =
                name.strip_prefix("lp").is_some_and(|rest| !rest.is_empty() && rest.bytes().all(|byte| byte.is_ascii_digit()));
            let serial = ["ttyUSB", "ttyACM", "cu.usb", "rfcomm"].iter().any(|begins| name.starts_with(begins));
            if !printer && !serial {
                continue;
            }
            let shown = path.display().to_string();
            if let Err(error) = fs::OpenOptions::new().write(true).open(&path)
                && error.kind() == io::ErrorKind::PermissionDenied
            {
                let group = if printer { "lp" } else { "dialout" };
                look.blind.push(format!("{shown}: no permission; add yourself to its group (often `{group}`) and log in again"));
                continue;
            }
            let (address, what) = match printer {
                true => (shown, usb.clone().unwrap_or_else(|| "a printer on USB or a parallel port".to_string())),
                false => (format!("serial:{shown}?baud=115200"), "a serial line: set the speed that the printer has".to_string()),
            };
            look.found.push(Found { address, what });
        }
    }
    look.found.sort_by(|one, other| one.address.cmp(&other.address));
    look
}

/// What the system's queues are called.
pub fn queues(listed: io::Result<String>) -> Look {
    let mut look = Look::default();
    match listed {
        Ok(names) => {
            for name in names.lines().map(str::trim).filter(|name| !name.is_empty()) {
                let what = "a print queue of this system; nothing comes back from it".to_string();
                look.found.push(Found { address: format!("queue:{name}"), what });
            }
        }
        Err(error) => look.blind.push(format!("the system's print queues: `lpstat` can't be asked ({error})")),
    }
    look
}

/// What announces itself on the local network, by DNS-SD.
pub fn network(heard: io::Result<Vec<Nearby>>) -> Look {
    let mut look = Look::default();
    match heard {
        Ok(printers) => {
            for Nearby { name, what, raw } in printers {
                let words = if what.is_empty() || what == name { name.clone() } else { format!("{name}, {what}") };
                match raw {
                    Some(address) => look.found.push(Found { address: format!("tcp://{address}"), what: format!("{words}, on the network") }),
                    None => look.blind.push(format!(
                        "{words}, on the network: it takes jobs to a queue only, or does not say where it is; set up a queue of this system for it"
                    )),
                }
            }
        }
        Err(error) => look.blind.push(format!("the network: no question by DNS-SD can be sent ({error})")),
    }
    look
}

fn listed(folder: &Path, look: &mut Look) -> Vec<PathBuf> {
    match fs::read_dir(folder) {
        Ok(entries) => {
            let mut paths: Vec<PathBuf> = entries.filter_map(|entry| Some(entry.ok()?.path())).collect();
            paths.sort();
            paths
        }
        Err(error) if error.kind() == io::ErrorKind::NotFound => Vec::new(),
        Err(error) => {
            look.blind.push(format!("{}: {error}", folder.display()));
            Vec::new()
        }
    }
}

/// Maker and product of the one USB device with an interface of the printer class (07; USB class codes), if there is one.
fn usb_printers(sys: &Path, look: &mut Look) -> Option<String> {
    let read = |path: PathBuf| fs::read_to_string(path).ok().map(|text| text.trim().to_string()).filter(|text| !text.is_empty());
    let mut names = Vec::new();
    for interface in listed(&sys.join("bus/usb/devices"), look) {
        if read(interface.join("bInterfaceClass")).as_deref() != Some("07") {
            continue;
        }
        // `1-2:1.0` is an interface of the device `1-2` beside it.
        let name = interface.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let device = interface.with_file_name(name.split(':').next().unwrap_or(&name));
        let words: Vec<String> =
            ["manufacturer", "product", "serial"].iter().filter_map(|part| read(device.join(part))).collect();
        names.push(if words.is_empty() { "a USB printer".to_string() } else { words.join(", ") });
    }
    (!names.is_empty()).then(|| names.join("; or "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn printers_are_found_where_systems_keep_them() {
        let folder = tempfile::tempdir().expect("a folder");
        let (dev, sys) = (folder.path().join("dev"), folder.path().join("sys"));
        fs::create_dir_all(dev.join("usb")).expect("made");
        for (name, text) in
            [("1-2/manufacturer", "Reedbed Works\n"), ("1-2/product", "Heronprint\n"), ("1-2:1.0/bInterfaceClass", "07\n")]
        {
            let path = sys.join("bus/usb/devices").join(name);
            fs::create_dir_all(path.parent().expect("a folder")).expect("made");
            fs::write(path, text).expect("written");
        }
        for name in ["usb/lp0", "usb/hiddev0", "ttyUSB1", "tty1", "lpx"] {
            fs::write(dev.join(name), "").expect("written");
        }
        let look = on_this_machine(&dev, &sys);
        let found: Vec<(String, &str)> =
            look.found.iter().map(|found| (found.address.replace(&dev.display().to_string(), ""), found.what.as_str())).collect();
        assert_eq!(found[0], ("/usb/lp0".to_string(), "Reedbed Works, Heronprint"));
        assert_eq!(found[1].0, "serial:/ttyUSB1?baud=115200");
        assert_eq!((found.len(), look.blind.len()), (2, 0));
    }

    #[test]
    fn what_is_on_the_network_is_listed_or_it_is_said_why_not() {
        let nearby = |name: &str, raw: Option<&str>| Nearby {
            name: name.into(),
            what: "Reedbed Works".into(),
            raw: raw.map(|address| address.parse().expect("an address")),
        };
        let look = network(Ok(vec![
            nearby("Heronprint", Some("192.0.2.7:9100")),
            nearby("Old one", None),
            nearby("Six", Some("[2001:db8::7]:9100")),
        ]));
        let found: Vec<(&str, &str)> = look.found.iter().map(|found| (found.address.as_str(), found.what.as_str())).collect();
        assert_eq!(found[0], ("tcp://192.0.2.7:9100", "Heronprint, Reedbed Works, on the network"));
        assert_eq!(found[1].0, "tcp://[2001:db8::7]:9100");
        assert!(look.blind.len() == 1 && look.blind[0].starts_with("Old one") && look.blind[0].contains("set up a queue"));
        assert!(network(Err(io::ErrorKind::NetworkUnreachable.into())).blind[0].contains("DNS-SD"));
    }

    #[test]
    fn queues_are_listed_or_it_is_said_why_not() {
        assert_eq!(queues(Ok("bench\n\nfront\n".into())).found.len(), 2);
        assert!(queues(Err(io::ErrorKind::NotFound.into())).blind[0].contains("lpstat"));
    }
}
