//! tus by its reference client, tus-js-client, with the connection cut under it.

use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

use super::{Yard, repeats};

const BYTES: usize = 12 << 20;

/// A file of bytes that no two places share.
fn random_file(folder: &Path, random: &mut StdRng) -> (PathBuf, Vec<u8>) {
    let mut bytes = vec![0; BYTES];
    random.fill_bytes(&mut bytes);
    let path = folder.join("clip.mp4");
    std::fs::File::create(&path)
        .unwrap()
        .write_all(&bytes)
        .unwrap();
    (path, bytes)
}

fn client(address: &str, cookie: &str, file: &Path, seed: u64, cuts: usize) -> Child {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    let frontend = root.join("frontend");
    assert!(
        frontend.join("node_modules/tus-js-client").is_dir(),
        "the front end's packages are not installed; `npm ci` there installs them"
    );
    Command::new("node")
        .arg(root.join("tests/src/sending/reference.mjs"))
        .arg(frontend)
        .args([address, cookie])
        .arg(file)
        .args([seed.to_string(), cuts.to_string()])
        .stdout(Stdio::piped())
        .spawn()
        .expect("node runs")
}

/// Reads on until the client is done, telling how much it has sent; gives where the upload is and how often the wire was cut.
fn follow(mut child: Child, mut sent: impl FnMut(usize)) -> (String, usize) {
    let lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let mut done = None;
    for line in lines.map_while(Result::ok) {
        match line.split(' ').collect::<Vec<_>>()[..] {
            ["sent", bytes] => sent(bytes.parse().unwrap()),
            ["location", path, "cuts", cuts] => {
                done = Some((path.to_owned(), cuts.parse().unwrap()))
            }
            _ => panic!("{line}"),
        }
    }
    assert!(child.wait().unwrap().success(), "the client gave up");
    done.expect("a location")
}

fn arrived(var: &Path, path: &str) -> Vec<u8> {
    std::fs::read(var.join("uploads").join(path.rsplit('/').next().unwrap())).unwrap()
}

#[actix_web::test]
async fn a_file_arrives_whole_through_a_wire_that_is_cut() {
    let yard = Yard::without_workers(1).await;
    let folder = tempfile::tempdir().unwrap();
    for seed in 0..repeats(3) as u64 {
        let (file, bytes) = random_file(folder.path(), &mut StdRng::seed_from_u64(seed));
        let child = client(
            &yard.t.address,
            yard.nia.cookie.as_ref().unwrap(),
            &file,
            seed,
            4,
        );
        let (path, cuts) = follow(child, |_| {});
        // What is left after a few cuts may be too short for one more.
        assert!((1..=4).contains(&cuts), "seed {seed}: {cuts} cuts");
        assert!(arrived(&yard.t.var, &path) == bytes, "seed {seed}");
        assert_eq!(yard.nia.get(&path).await.expect(200)["state"], "probing");
    }
}
