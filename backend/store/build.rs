//! The migrations are part of the program: a new folder among them is a reason to build it again.

fn main() {
    println!("cargo:rerun-if-changed=../../migrations");
}
