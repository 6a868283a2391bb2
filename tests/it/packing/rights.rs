//! Who may do what in a ledger that others run, how the password is found, and how far whoever answers is believed.

use super::server::Server;
use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::process::{Command, Stdio};

const MANUAL: &str = "# Heron\n\nFor {{ unit.serial }}.\n\n```barcode\nkind = \"code128\"\ndata = \"S-{{ unit.serial }}\"\n```\n";

/// Exit code, what was said to people, what was asked for.
fn stripling(folder: &Path, arguments: &[&str], environment: &[(&str, &str)], input: &str) -> (Option<i32>, String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_stripling"));
    for name in ["PGPASSWORD", "PGPASSFILE", "PGSERVICE", "PGSSLMODE", "PGHOST"] {
        command.env_remove(name);
    }
    command.args(arguments).envs(environment.iter().copied()).env("HOME", folder).current_dir(folder);
    let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("the program");
    let mut stdin = child.stdin.take().expect("piped");
    for line in input.lines() {
        std::io::Write::write_all(&mut stdin, format!("{line}\n").as_bytes()).expect("heard");
        std::thread::sleep(std::time::Duration::from_millis(1200));
    }
    drop(stdin);
    let told = child.wait_with_output().expect("the program");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (told.status.code(), text(&told.stderr), text(&told.stdout))
}

fn bench() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("heron.md"), MANUAL).expect("written");
    std::fs::write(folder.path().join("units.csv"), "serial\nHRN-0001\nHRN-0002\n").expect("written");
    folder
}

#[test]
#[ignore = "needs postgresql: tests/run"]
fn a_bench_prints_and_confirms_and_settling_is_another_right() {
    let server = Server::start();
    let folder = bench();
    let own = server.address(server.port);
    let (code, said, _) = stripling(folder.path(), &["ledger", &own, "--roles"], &[], "");
    assert_eq!(code, Some(0), "{said}");
    assert_eq!(stripling(folder.path(), &["ledger", &own, "--roles"], &[], "").0, Some(0), "and again");
    server.sql(
        "packing",
        "CREATE ROLE anna LOGIN IN ROLE stripling_bench; CREATE ROLE kim LOGIN IN ROLE stripling_settler; CREATE ROLE mole LOGIN",
    );
    let of = |name: &str| own.replace("owner@", &format!("{name}@"));
    let pack = |name: &str, lines: &str| {
        let address = of(name);
        let arguments = ["pack", "heron.md", "--units", "units.csv", "--to", "strips.bin", "--ledger", &address, "--bench", name];
        stripling(folder.path(), &arguments, &[], lines)
    };
    let (code, said, _) = pack("mole", "");
    assert_eq!(code, Some(5), "{said}");
    assert!(said.contains("does not allow it") && said.contains("stripling_bench"), "{said}");
    // A file can't tell, so the strip is unknown until its code is scanned: that is a bench's right.
    let (code, said, told) = pack("anna", "HRN-0001\nS-HRN-0001\nHRN-0002\n");
    assert_eq!(code, Some(6), "{said}{told}");
    assert!(told.contains("IN THE BOX\tHRN-0001"), "{told}");
    // The second went out and was not scanned: to say that it is spoiled is not.
    let (_, said, told) = pack("anna", "HRN-0002\n/again\n");
    assert!(told.contains("NOT ALLOWED\tHRN-0002"), "{said}{told}");
    let resolve = |name: &str| stripling(folder.path(), &["ledger", &of(name), "--resolve", "HRN-0002=missing"], &[], "");
    let (code, said, _) = resolve("anna");
    assert_eq!(code, Some(5), "{said}");
    let (code, said, told) = resolve("kim");
    assert_eq!(code, Some(0), "{said}");
    assert!(told.contains("anna (anna): 1 printed, 1 in their boxes"), "{told}");
    assert_eq!(server.sql("packing", "SELECT who, before, after FROM stripling.verdict"), "kim|unknown|missing");
    // Nobody takes anything out of the history.
    let taken = std::panic::catch_unwind(|| server.sql("packing", "SET ROLE stripling_settler; DELETE FROM stripling.history"));
    assert!(taken.is_err());
    let (code, _, told) = stripling(folder.path(), &["ledger", &of("anna"), "--csv"], &[], "");
    assert_eq!((code, told.lines().count()), (Some(0), 3), "{told}");
}

#[test]
#[ignore = "needs postgresql: tests/run"]
fn the_password_is_found_where_everyone_keeps_it_and_shown_nowhere() {
    let server = Server::start();
    let folder = bench();
    server.sql("postgres", "CREATE ROLE anna LOGIN PASSWORD 'tea leaf'; ALTER DATABASE locked OWNER TO anna");
    let address = format!("postgres://anna@127.0.0.1:{}/locked", server.port);
    let pack = |address: &str, environment: &[(&str, &str)]| {
        let arguments = ["pack", "heron.md", "--units", "units.csv", "--to", "rehearse:out", "--ledger", address];
        stripling(folder.path(), &arguments, environment, "")
    };
    let file = folder.path().join("pass");
    std::fs::write(&file, format!("127.0.0.1:{}:locked:anna:tea leaf\n", server.port)).expect("written");
    std::fs::set_permissions(&file, std::fs::Permissions::from_mode(0o600)).expect("set");
    std::fs::write(
        folder.path().join(".pg_service.conf"),
        format!("[bench]\nhost=127.0.0.1\nport={}\nuser=anna\ndbname=locked\npassword=tea leaf\n", server.port),
    )
    .expect("written");
    let file = file.display().to_string();
    let (code, said, told) = pack(&address, &[]);
    assert_eq!(code, Some(5), "{said}{told}");
    assert_eq!(pack(&address, &[("PGPASSWORD", "wrong")]).0, Some(5));
    for (address, environment) in [
        (address.as_str(), ("PGPASSFILE", file.as_str())),
        (&address, ("PGPASSWORD", "tea leaf")),
        ("postgres://", ("PGSERVICE", "bench")),
        ("postgres:///?service=bench", ("LANG", "C")),
    ] {
        let (code, said, told) = pack(address, &[environment]);
        assert_eq!(code, Some(6), "{address} {environment:?}: {said}{told}");
        assert!(!said.contains("leaf") && !told.contains("leaf"));
    }
    let written = address.replace("anna@", "anna:tea%20leaf@");
    let (code, said, told) = pack(&written, &[]);
    assert_eq!(code, Some(2), "{said}");
    assert!(said.contains("a password stands in it") && !said.contains("leaf") && !told.contains("leaf"), "{said}");
}

#[test]
#[ignore = "needs postgresql, openssl: tests/run"]
fn whoever_answers_is_believed_as_far_as_sslmode_says() {
    let server = Server::start();
    let folder = bench();
    let other = folder.path().join("other.crt").display().to_string();
    let made = Command::new("openssl")
        .args([
            "req",
            "-x509",
            "-newkey",
            "rsa:2048",
            "-nodes",
            "-days",
            "9",
            "-subj",
            "/CN=else",
            "-keyout",
            "other.key",
            "-out",
            &other,
        ])
        .current_dir(folder.path())
        .output()
        .expect("openssl");
    assert!(made.status.success());
    drop(stripling(folder.path(), &["ledger", &server.address(server.port), "--roles"], &[], ""));
    let look = |host: &str, options: &str| {
        let address = format!("postgres://owner@{host}:{}/packing?{options}", server.port);
        stripling(folder.path(), &["ledger", &address], &[], "")
    };
    let ours = server.certificate();
    for (host, options, good) in [
        ("127.0.0.1", "sslmode=disable".to_owned(), true),
        ("127.0.0.1", "sslmode=require".to_owned(), true),
        ("127.0.0.1", format!("sslmode=verify-ca&sslrootcert={ours}"), true),
        ("localhost", format!("sslmode=verify-full&sslrootcert={ours}"), true),
        // Its certificate says localhost.
        ("127.0.0.1", format!("sslmode=verify-full&sslrootcert={ours}"), false),
        ("localhost", format!("sslmode=verify-ca&sslrootcert={other}"), false),
        ("localhost", "sslmode=verify-full".to_owned(), false),
        ("localhost", "sslmode=verify-full&sslrootcert=/nothing/there".to_owned(), false),
    ] {
        let (code, said, _) = look(host, &options);
        assert_eq!(code == Some(0), good, "{host} {options}: {code:?} {said}");
    }
    // It was TLS indeed: the server refuses everything else now, and the same ones still come in.
    server.sql("postgres", "ALTER SYSTEM SET ssl_min_protocol_version = 'TLSv1.3'");
    server.control(&["restart", "-m", "fast"]);
    assert_eq!(look("localhost", &format!("sslmode=verify-full&sslrootcert={ours}")).0, Some(0));
    server.sql("postgres", "ALTER SYSTEM SET ssl = off");
    server.control(&["restart", "-m", "fast"]);
    assert_ne!(look("127.0.0.1", "sslmode=require").0, Some(0), "without TLS it asks for");
    assert_eq!(look("127.0.0.1", "sslmode=prefer").0, Some(0));
}
