//! Before the program is compiled: the licence of every crate that it will hold, with its text, is laid where `licences` embeds it from.
//!
//! Never fails the build: where the texts cannot be found (a packager's sealed build, say), the list is empty and `licences` says so.

use license_fetcher::prelude::*;

fn main() {
    println!("cargo::rerun-if-changed=src/commands/licences/build.rs");
    println!("cargo::rerun-if-changed=Cargo.lock");
    let found = ConfigBuilder::from_build_env().build().ok().and_then(|config| package_list_with_licenses(&config).ok());
    let packages = found.unwrap_or_else(|| {
        println!("cargo::warning=the licences of the crates were not found: `stripling licences` will not show their texts");
        PackageList(Vec::new())
    });
    packages.write_package_list_to_out_dir().expect("the build's own folder can be written");
}
