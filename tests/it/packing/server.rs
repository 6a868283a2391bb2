//! A real PostgreSQL for one test, as Debian ships it: started by a user who is not root.

use std::net::TcpListener;
use std::os::unix::fs::PermissionsExt;
use std::path::PathBuf;
use std::process::{Command, Output};

/// Lets anybody into `packing` without a password, and into `locked` with one.
const WHO: &str = "local all all trust\nhost packing all 127.0.0.1/32 trust\nhost all all 127.0.0.1/32 scram-sha-256\n";

pub struct Server {
    folder: tempfile::TempDir,
    programs: PathBuf,
    pub port: u16,
}

fn newest() -> PathBuf {
    let found = std::fs::read_dir("/usr/lib/postgresql").expect("PostgreSQL is installed: apt-get install postgresql");
    let mut versions: Vec<(u32, PathBuf)> = found
        .flatten()
        .filter_map(|entry| Some((entry.file_name().to_str()?.parse().ok()?, entry.path().join("bin"))))
        .filter(|(_, programs): &(u32, PathBuf)| programs.join("initdb").exists())
        .collect();
    versions.sort();
    versions.pop().expect("a version of PostgreSQL with initdb").1
}

impl Server {
    pub fn start() -> Server {
        let folder = tempfile::Builder::new().prefix("pg").tempdir_in("/tmp").expect("a folder");
        let port = TcpListener::bind("127.0.0.1:0").and_then(|free| free.local_addr()).expect("a port").port();
        let server = Server { folder, programs: newest(), port };
        std::fs::set_permissions(server.folder.path(), std::fs::Permissions::from_mode(0o777)).expect("open to its user");
        let data = server.data();
        server.program("initdb", &["-D", &data, "-U", "owner", "-A", "trust", "--no-instructions"]);
        let openssl = Command::new("openssl")
            .args(["req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "9", "-subj", "/CN=localhost", "-addext"])
            // Signed by itself, and no authority for others: webpki takes none for a server's own certificate.
            .args([
                "subjectAltName=DNS:localhost",
                "-addext",
                "basicConstraints=critical,CA:FALSE",
                "-keyout",
                "server.key",
                "-out",
                "server.crt",
            ])
            .current_dir(server.folder.path())
            .output()
            .expect("openssl");
        assert!(openssl.status.success(), "{}", String::from_utf8_lossy(&openssl.stderr));
        let settings = format!(
            "port = {port}\nlisten_addresses = '127.0.0.1'\nunix_socket_directories = '{}'\nmax_connections = 60\nssl = on\n\
             ssl_cert_file = '{data}/server.crt'\nssl_key_file = '{data}/server.key'\nlogging_collector = off\n",
            server.folder.path().display()
        );
        // In place of the server's user, who alone may read them.
        let (from, conf, hba) =
            (server.folder.path().display(), format!("{data}/postgresql.conf"), format!("{data}/pg_hba.conf"));
        std::fs::set_permissions(server.folder.path().join("server.key"), std::fs::Permissions::from_mode(0o644))
            .expect("readable");
        std::fs::write(server.folder.path().join("settings"), settings).expect("written");
        std::fs::write(server.folder.path().join("who"), WHO).expect("written");
        server.shell(&format!(
            "cat {from}/settings >> {conf} && cp {from}/who {hba} && cp {from}/server.crt {from}/server.key {data}/ && chmod 600 {data}/server.key"
        ));
        server.control(&["start"]);
        for database in ["packing", "locked"] {
            server.sql("postgres", &format!("CREATE DATABASE {database}"));
        }
        server
    }

    fn data(&self) -> String {
        self.folder.path().join("data").display().to_string()
    }

    /// The authority that signed the server's certificate: itself.
    pub fn certificate(&self) -> String {
        self.folder.path().join("server.crt").display().to_string()
    }

    fn shell(&self, line: &str) -> Output {
        // PostgreSQL does not run as root.
        let is_root = std::fs::metadata("/proc/self").map(|own| std::os::unix::fs::MetadataExt::uid(&own) == 0).unwrap_or(false);
        let mut command = match is_root {
            true => {
                let mut command = Command::new("runuser");
                command.args(["-u", "postgres", "--"]);
                command.arg("sh");
                command
            }
            false => Command::new("sh"),
        };
        let output = command.args(["-c", line]).current_dir("/tmp").output().expect("a shell");
        assert!(
            output.status.success(),
            "{line}: {}{}",
            String::from_utf8_lossy(&output.stdout),
            String::from_utf8_lossy(&output.stderr)
        );
        output
    }

    fn program(&self, name: &str, arguments: &[&str]) {
        self.shell(&format!("{}/{name} {}", self.programs.display(), arguments.join(" ")));
    }

    /// `pg_ctl`, which waits until it is done.
    pub fn control(&self, arguments: &[&str]) {
        let log = self.folder.path().join("log").display().to_string();
        let data = self.data();
        let all = [&["-D", &data, "-l", &log, "-w", "-s"][..], arguments].concat();
        self.program("pg_ctl", &all);
    }

    /// Ended without a word to anybody, as by a cut of the power, and started again.
    pub fn crash_and_restart(&self) {
        self.control(&["restart", "-m", "immediate"]);
    }

    /// As its owner; returns what came, without a frame.
    pub fn sql(&self, database: &str, statement: &str) -> String {
        let socket = self.folder.path().display();
        let line = format!(
            "{}/psql -X -q -A -t -v ON_ERROR_STOP=1 -h {socket} -p {} -U owner {database} -c \"{statement}\"",
            self.programs.display(),
            self.port
        );
        String::from_utf8_lossy(&self.shell(&line).stdout).trim().to_owned()
    }

    /// Where the ledger is, through this port.
    pub fn address(&self, port: u16) -> String {
        format!("postgres://owner@127.0.0.1:{port}/packing")
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let line = format!("{}/pg_ctl -D {} -s -m immediate stop || true", self.programs.display(), self.data());
        self.shell(&line);
        // Its files are its user's.
        self.shell(&format!("rm -rf {}", self.data()));
    }
}
