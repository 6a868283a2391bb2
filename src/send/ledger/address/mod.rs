//! Where a ledger in PostgreSQL is, and who asks: read as every client of PostgreSQL reads it.
//!
//! What the address says goes first, then the service (`service=`, PGSERVICE), then the environment (PGHOST, PGPORT, PGUSER,
//! PGDATABASE, PGSSLMODE, PGSSLROOTCERT, PGPASSWORD), then the password file (PGPASSFILE, ~/.pgpass), then what PostgreSQL takes by
//! itself. Source: PostgreSQL 15 documentation, chapter 34.1.1.2 "Connection URIs", 34.15 to 34.17. A password in the address is refused: it would stand in the list of
//! processes and in the shell's history. Reads files, opens no connection.

mod files;

pub use files::{Surroundings, System};

use super::Error;
use percent_encoding::percent_decode_str;
use std::path::{Path, PathBuf};

/// How much of TLS is asked for, as `sslmode` names it. `allow` is read as `prefer`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Tls {
    Disable,
    /// Where the server has it; whoever answers is believed.
    #[default]
    Prefer,
    /// Never without; whoever answers is believed, unless there is a file of authorities.
    Require,
    /// By an authority that is known.
    VerifyAuthority,
    /// And it is the host that was asked for.
    VerifyFull,
}

/// Everything that a connection needs. Its `Debug` shows no password.
#[derive(Clone, PartialEq, Eq)]
pub struct Address {
    /// As it is shown: `postgres://anna@bench.example/stripling`.
    pub shown: String,
    /// A name, a number, or the folder of a socket.
    pub host: String,
    pub port: u16,
    pub user: String,
    pub database: String,
    pub password: Option<String>,
    pub tls: Tls,
    /// A PEM file of authorities.
    pub authorities: Option<PathBuf>,
}

impl std::fmt::Debug for Address {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            out,
            "Address({}, {:?}, password {})",
            self.shown,
            self.tls,
            if self.password.is_some() { "known" } else { "none" }
        )
    }
}

const SCHEMES: [&str; 2] = ["postgres://", "postgresql://"];

/// The address that a ledger's name is, if it is one and no file.
pub fn of(path: &Path) -> Option<&str> {
    path.to_str().filter(|text| SCHEMES.iter().any(|scheme| text.starts_with(scheme)))
}

/// What the address, the service and the environment may say.
#[derive(Default)]
struct Said {
    host: Option<String>,
    port: Option<String>,
    user: Option<String>,
    database: Option<String>,
    password: Option<String>,
    tls: Option<String>,
    authorities: Option<String>,
    passfile: Option<String>,
    service: Option<String>,
}

impl Said {
    /// `false`: nothing is called so here.
    fn set(&mut self, key: &str, value: String) -> bool {
        let place = match key {
            "host" => &mut self.host,
            "port" => &mut self.port,
            "user" => &mut self.user,
            "dbname" => &mut self.database,
            "password" => &mut self.password,
            "sslmode" => &mut self.tls,
            "sslrootcert" => &mut self.authorities,
            "passfile" => &mut self.passfile,
            "service" => &mut self.service,
            "application_name" | "connect_timeout" | "target_session_attrs" | "channel_binding" => return true,
            _ => return false,
        };
        place.get_or_insert(value);
        true
    }
}

impl Address {
    /// Reads an address.
    ///
    /// # Errors
    /// [`Error::Address`]: it is no address, a password stands in it, or what it names is not known.
    pub fn read(text: &str, around: &dyn Surroundings) -> Result<Address, Error> {
        let shown = masked(text);
        let wrong = |why: &str| Error::Address { shown: shown.clone(), why: why.to_owned() };
        let rest = SCHEMES
            .iter()
            .find_map(|scheme| text.strip_prefix(scheme))
            .ok_or_else(|| wrong("it does not begin with postgres://"))?;
        let (place, options) = rest.split_once('?').unwrap_or((rest, ""));
        let (authority, database) = place.split_once('/').unwrap_or((place, ""));
        let (user, host) = authority.rsplit_once('@').unwrap_or(("", authority));
        if user.contains(':') {
            return Err(wrong("a password stands in it"));
        }
        let decoded = |text: &str| -> Result<Option<String>, Error> {
            let text = percent_decode_str(text).decode_utf8().map_err(|_| wrong("it is not UTF-8"))?.into_owned();
            if text.contains('\0') {
                Err(wrong("a zero byte stands in it"))
            } else {
                Ok(Some(text).filter(|text| !text.is_empty()))
            }
        };
        let mut said = Said::default();
        let (host, port) = match host.strip_prefix('[') {
            // An address of IPv6.
            Some(rest) => rest.split_once(']').map(|(host, port)| (host, port.strip_prefix(':').unwrap_or(port))),
            None => Some(host.split_once(':').unwrap_or((host, ""))),
        }
        .ok_or_else(|| wrong("its host begins with [ and has no ]"))?;
        if host.contains(',') {
            return Err(wrong("one host is asked, not several"));
        }
        said.user = decoded(user)?;
        said.host = decoded(host)?;
        said.port = decoded(port)?;
        said.database = decoded(database)?;
        for option in options.split('&').filter(|option| !option.is_empty()) {
            let (key, value) = option.split_once('=').unwrap_or((option, ""));
            if key == "password" {
                return Err(wrong("a password stands in it"));
            }
            let value = decoded(value)?.unwrap_or_default();
            if !said.set(key, value) {
                return Err(wrong(&format!("`{key}` is no option of it")));
            }
        }
        let service = said.service.clone().or_else(|| around.variable("PGSERVICE"));
        if let Some(service) = service {
            let found = files::service(&service, around).ok_or_else(|| wrong(&format!("no file knows the service {service}")))?;
            for (key, value) in found {
                said.set(&key, value);
            }
        }
        for (key, variable) in [
            ("host", "PGHOST"),
            ("port", "PGPORT"),
            ("user", "PGUSER"),
            ("dbname", "PGDATABASE"),
            ("sslmode", "PGSSLMODE"),
            ("sslrootcert", "PGSSLROOTCERT"),
            ("password", "PGPASSWORD"),
            ("passfile", "PGPASSFILE"),
        ] {
            around.variable(variable).map(|value| said.set(key, value));
        }
        let home = around.variable("HOME").map(PathBuf::from).unwrap_or_default();
        let port: u16 = match &said.port {
            None => 5432,
            Some(port) => {
                port.parse().ok().filter(|port| *port > 0).ok_or_else(|| wrong("its port is no number from 1 to 65535"))?
            }
        };
        let tls = match said.tls.as_deref() {
            None | Some("prefer" | "allow") => Tls::Prefer,
            Some("disable") => Tls::Disable,
            Some("require") => Tls::Require,
            Some("verify-ca") => Tls::VerifyAuthority,
            Some("verify-full") => Tls::VerifyFull,
            Some(_) => return Err(wrong("sslmode is disable, allow, prefer, require, verify-ca or verify-full")),
        };
        let user = said.user.or_else(|| around.variable("USER")).or_else(|| around.variable("LOGNAME"));
        let user = user.ok_or_else(|| wrong("it names no user"))?;
        let database = said.database.unwrap_or_else(|| user.clone());
        let host = said.host.unwrap_or_else(|| SOCKETS.to_owned());
        let authorities = said.authorities.map(PathBuf::from).or_else(|| {
            let usual = home.join(".postgresql/root.crt");
            around.file(&usual, false).map(|_| usual)
        });
        let passfile = said.passfile.map_or_else(|| home.join(".pgpass"), PathBuf::from);
        let password = said.password.or_else(|| {
            let text = around.file(&passfile, true)?;
            // A socket is known to the file as localhost.
            let host = if host == SOCKETS { "localhost" } else { &host };
            files::password(&text, [host, &port.to_string(), &database, &user])
        });
        Ok(Address { shown, host, port, user, database, password, tls, authorities })
    }
}

/// Where Debian's PostgreSQL has its socket.
const SOCKETS: &str = "/var/run/postgresql";

/// An address as it may be shown, whatever stands in it.
pub fn masked(text: &str) -> String {
    let (scheme, rest) = text.split_once("://").unwrap_or(("postgres", text));
    let (place, options) = rest.split_once('?').unwrap_or((rest, ""));
    let place = match place.rsplit_once('@') {
        Some((who, place)) => format!("{}@{place}", who.split_once(':').map_or(who, |(user, _)| user)),
        None => place.to_owned(),
    };
    let kept: Vec<&str> = options.split('&').filter(|option| !option.is_empty() && !option.starts_with("password")).collect();
    let mark = if kept.is_empty() { "" } else { "?" };
    format!("{scheme}://{place}{mark}{}", kept.join("&"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::BTreeMap;

    #[derive(Default)]
    struct Pretend {
        variables: BTreeMap<&'static str, &'static str>,
        files: BTreeMap<&'static str, String>,
    }

    impl Surroundings for Pretend {
        fn variable(&self, name: &str) -> Option<String> {
            self.variables.get(name).map(|value| (*value).to_owned())
        }

        fn file(&self, path: &Path, _: bool) -> Option<String> {
            self.files.get(path.to_str()?).cloned()
        }
    }

    fn read(text: &str, around: &Pretend) -> Result<Address, String> {
        Address::read(text, around).map_err(|error| error.to_string())
    }

    #[test]
    fn an_address_is_read_as_others_read_it() {
        // The forms of PostgreSQL's own documentation, 34.1.1.2.
        let anna = Pretend { variables: [("USER", "anna"), ("HOME", "/home/anna")].into(), ..Pretend::default() };
        let plain = read("postgresql://", &anna).unwrap();
        assert_eq!(
            (plain.host.as_str(), plain.port, plain.user.as_str(), plain.database.as_str()),
            (SOCKETS, 5432, "anna", "anna")
        );
        let full =
            read("postgresql://other@localhost:5433/otherdb?connect_timeout=10&application_name=myapp&sslmode=require", &anna)
                .unwrap();
        assert_eq!(
            (full.host.as_str(), full.port, full.user.as_str(), full.database.as_str()),
            ("localhost", 5433, "other", "otherdb")
        );
        assert_eq!(full.tls, Tls::Require);
        let six = read("postgresql://[2001:db8::1234]/database", &anna).unwrap();
        assert_eq!((six.host.as_str(), six.database.as_str()), ("2001:db8::1234", "database"));
        let socket = read("postgresql://%2Fvar%2Flib%2Fpostgresql/dbname", &anna).unwrap();
        assert_eq!(socket.host, "/var/lib/postgresql");
        assert_eq!(read("postgres:///dbname?host=/var/lib/postgresql", &anna).unwrap().host, "/var/lib/postgresql");
        for (wrong, why) in [
            ("postgres://a@h:port/d", "port"),
            ("postgres://a@h:0/d", "port"),
            ("postgres://a@h,i/d", "several"),
            ("postgres://a@h/d?colour=red", "colour"),
            ("postgres://a@h/d?sslmode=maybe", "sslmode"),
            ("postgres://[::1/d", "no ]"),
            ("postgres://a@h/d?service=none", "service none"),
        ] {
            let error = read(wrong, &anna).unwrap_err();
            assert!(error.contains(why), "{wrong}: {error}");
        }
        assert!(read("postgres://h/d", &Pretend::default()).unwrap_err().contains("no user"));
    }

    #[test]
    fn a_password_is_refused_in_the_address_and_taken_from_where_it_belongs() {
        let mut around = Pretend { variables: [("HOME", "/home/anna")].into(), ..Pretend::default() };
        for address in ["postgres://anna:tea%20leaf@h/d", "postgres://anna@h/d?password=tea%20leaf", "postgres://anna:@h/d"] {
            let error = read(address, &around).unwrap_err();
            assert!(error.contains("a password stands in it") && !error.contains("leaf"), "{error}");
        }
        // Fields, stars and backslashes as in 34.16; the first line that fits.
        let file = "# mine\nother:*:*:*:wrong\nh:5432:d:an\\:na:se\\\\cr\\:et\n*:*:*:*:rest\n";
        around.files.insert("/home/anna/.pgpass", file.to_owned());
        assert_eq!(read("postgres://an%3Ana@h/d", &around).unwrap().password.as_deref(), Some("se\\cr:et"));
        let shown = format!("{:?}", read("postgres://an%3Ana@h/d", &around).unwrap());
        assert!(!shown.contains("cr"), "{shown}");
        assert_eq!(read("postgres://anna@h/d", &around).unwrap().password.as_deref(), Some("rest"));
        around.variables.insert("PGPASSFILE", "/etc/bench.pass");
        around.files.insert("/etc/bench.pass", "h:*:d:anna:of the file\n".to_owned());
        assert_eq!(read("postgres://anna@h/d", &around).unwrap().password.as_deref(), Some("of the file"));
        around.variables.insert("PGPASSWORD", "of the environment");
        assert_eq!(read("postgres://anna@h/d", &around).unwrap().password.as_deref(), Some("of the environment"));
    }

    #[test]
    fn a_service_fills_what_the_address_leaves_open() {
        let mut around = Pretend { variables: [("HOME", "/home/anna"), ("PGHOST", "elsewhere")].into(), ..Pretend::default() };
        let file = "[other]\nhost=no\n\n# benches\n[bench]\nhost=db.example\nport = 5433\nuser=anna\ndbname=packing\nsslmode=verify-full\npassword=deep\n[last]\nhost=no\n";
        around.files.insert("/home/anna/.pg_service.conf", file.to_owned());
        around.variables.insert("PGSERVICE", "bench");
        let found = read("postgres://", &around).unwrap();
        assert_eq!((found.host.as_str(), found.port, found.database.as_str()), ("db.example", 5433, "packing"));
        assert_eq!((found.tls, found.password.as_deref()), (Tls::VerifyFull, Some("deep")));
        assert_eq!(read("postgres://kim@db2.example/x", &around).unwrap().host, "db2.example");
    }

    proptest! {
        #[test]
        fn whatever_is_written_is_read_or_refused_and_no_password_is_shown(
            address in "(postgres://)?[a-z:@/?&=%0-9\\[\\],.é]{0,60}", file in "[a-z:*\\\\\n#\\[\\]= ]{0,120}"
        ) {
            let mut around = Pretend { variables: [("HOME", "/h"), ("USER", "u"), ("PGSERVICE", "a")].into(), ..Pretend::default() };
            around.files.insert("/h/.pgpass", file.clone());
            around.files.insert("/h/.pg_service.conf", format!("[a]\n{file}"));
            let _ = read(&address, &around);
            let with = format!("postgres://u:{}@h/d?password=hunter2", "hunter2");
            prop_assert!(!masked(&with).contains("hunter2"));
        }
    }
}
