//! The pages are part of the binary: build again when they were built again.

fn main() {
    println!("cargo::rerun-if-changed=../../frontend/build");
}
