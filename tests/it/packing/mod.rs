//! The packing bench from outside: its machine, benches that are killed, a ledger that others run, a shift on a terminal.

mod disk;
mod machine;
mod program;
mod shift;
mod table;

#[cfg(all(unix, feature = "postgres"))]
mod benches;
#[cfg(all(unix, feature = "postgres"))]
mod cuts;
#[cfg(all(unix, feature = "postgres"))]
mod network;
#[cfg(all(unix, feature = "postgres"))]
mod rights;
#[cfg(all(unix, feature = "postgres"))]
mod server;

/// Nobody who does not ask for it builds a client of PostgreSQL.
#[test]
fn without_its_feature_no_crate_of_postgresql_is_built() {
    let tree = |more: &[&str]| {
        let mut cargo = std::process::Command::new(env!("CARGO"));
        cargo.args(["tree", "--locked", "--offline", "--edges", "normal,build", "--prefix", "none"]).args(more);
        let told = cargo.current_dir(env!("CARGO_MANIFEST_DIR")).output().expect("cargo");
        assert!(told.status.success(), "{}", String::from_utf8_lossy(&told.stderr));
        String::from_utf8_lossy(&told.stdout).lines().filter(|line| line.contains("postgres")).count()
    };
    assert_eq!(tree(&[]), 0);
    assert!(tree(&["--features", "postgres"]) > 0, "the question itself is right");
}
