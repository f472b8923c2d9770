//! tus 1.0.0 (tus.io/protocols/resumable-upload) by plain requests; section names are the protocol's.

use std::io::Write;
use std::net::TcpStream;
use std::time::Duration;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use reqwest::Method;
use sha2::{Digest, Sha256};
use tests::harness::wait_for;

use super::{Yard, announce, piece, tus};

fn some_bytes(n: usize) -> Vec<u8> {
    (0..n).map(|i| (i * 31 % 251) as u8).collect()
}

/// The bytes that arrived.
fn arrived(yard: &Yard, path: &str) -> Vec<u8> {
    let id = path.rsplit('/').next().unwrap();
    std::fs::read(yard.t.var.join("uploads").join(id)).unwrap()
}

async fn offset(yard: &Yard, path: &str) -> usize {
    let answer = tus(&yard.nia, Method::HEAD, path).send().await;
    assert_eq!(answer.status, 200, "{answer}");
    assert_eq!(answer.header("cache-control"), Some("no-store"));
    answer.header("upload-offset").unwrap().parse().unwrap()
}

#[actix_web::test]
async fn a_file_arrives_in_pieces() {
    let yard = Yard::without_workers(1).await;
    let bytes = some_bytes(300_000);
    let path = announce(&yard.nia, bytes.len()).await;
    assert!(path.starts_with("/api/v1/uploads/"), "{path}");
    for (start, end) in [(0, 1), (1, 70_000), (70_000, 300_000)] {
        assert_eq!(offset(&yard, &path).await, start);
        let answer = piece(&yard.nia, &path, start, &bytes[start..end])
            .send()
            .await;
        assert_eq!(answer.status, 204, "{answer}");
        assert_eq!(
            answer.header("upload-offset"),
            Some(end.to_string().as_str())
        );
        assert_eq!(answer.header("tus-resumable"), Some("1.0.0"));
        assert!(answer.header("upload-expires").unwrap().ends_with("GMT"));
    }
    assert_eq!(yard.nia.get(&path).await.expect(200)["state"], "probing");
    assert!(arrived(&yard, &path) == bytes);
    assert_eq!(offset(&yard, &path).await, bytes.len());
}

#[actix_web::test]
async fn what_the_protocol_refuses_is_refused() {
    let yard = Yard::without_workers(1).await;
    let path = announce(&yard.nia, 10).await;
    let patch = || piece(&yard.nia, &path, 0, b"12345");
    assert_eq!(patch().send().await.status, 204);
    assert_eq!(patch().send().await.status, 409, "the offset is behind");
    let ahead = piece(&yard.nia, &path, 7, b"123").send().await;
    assert_eq!(ahead.status, 409, "the offset is ahead");
    let more = piece(&yard.nia, &path, 5, b"123456").send().await;
    assert_eq!(more.status, 413);
    assert_eq!(offset(&yard, &path).await, 5, "nothing of it was kept");
    let typed = tus(&yard.nia, Method::PATCH, &path).header("upload-offset", "5");
    assert_eq!(typed.body("text/plain", "12345").send().await.status, 415);
    let older = yard
        .nia
        .request(Method::HEAD, &path)
        .header("tus-resumable", "0.2.2");
    let older = older.send().await;
    assert_eq!(
        (older.status, older.header("tus-version")),
        (412, Some("1.0.0"))
    );
    let large = tus(&yard.nia, Method::POST, "/api/v1/uploads")
        .header("upload-length", &(1_u64 << 40).to_string());
    large.send().await.expect_problem(413, "too-large");
    let bo = yard.t.person(&yard.school, "Bo", &["student"]);
    for method in [Method::HEAD, Method::DELETE] {
        assert_eq!(tus(&bo, method, &path).send().await.status, 404);
    }
    assert_eq!(piece(&bo, &path, 5, b"12345").send().await.status, 404);
    let forged = reqwest_without_our_header(&yard, &path).await;
    assert_eq!(forged, 403);
}

/// The same request without the header that another site cannot add.
async fn reqwest_without_our_header(yard: &Yard, path: &str) -> u16 {
    let client = reqwest::Client::new();
    let request = client
        .patch(format!("{}{path}", yard.t.address))
        .header("cookie", yard.nia.cookie.clone().unwrap())
        .header("tus-resumable", "1.0.0")
        .header("upload-offset", "5")
        .header("content-type", "application/offset+octet-stream");
    request
        .body("12345")
        .send()
        .await
        .unwrap()
        .status()
        .as_u16()
}

/// "Checksum": 460 on a mismatch, and the piece is discarded.
#[actix_web::test]
async fn a_piece_with_a_wrong_checksum_is_discarded() {
    let yard = Yard::without_workers(1).await;
    let path = announce(&yard.nia, 10).await;
    let sum = format!("sha256 {}", STANDARD.encode(Sha256::digest(b"12345")));
    let wrong = piece(&yard.nia, &path, 0, b"12346").header("upload-checksum", &sum);
    assert_eq!(wrong.send().await.status, 460);
    assert_eq!(offset(&yard, &path).await, 0);
    let unknown = piece(&yard.nia, &path, 0, b"12345")
        .header("upload-checksum", "md5 1B2M2Y8AsgTpgAmY7PhCfg==");
    assert_eq!(unknown.send().await.status, 400);
    let right = piece(&yard.nia, &path, 0, b"12345").header("upload-checksum", &sum);
    assert_eq!(right.send().await.status, 204);
    let options = yard
        .nia
        .request(Method::OPTIONS, "/api/v1/uploads")
        .send()
        .await;
    assert_eq!(options.header("tus-checksum-algorithm"), Some("sha256"));
    let extensions = options.header("tus-extension").unwrap();
    for name in ["creation", "expiration", "checksum", "termination"] {
        assert!(
            extensions.split(',').any(|known| known == name),
            "{extensions}"
        );
    }
}

#[actix_web::test]
async fn an_ended_upload_is_gone_and_an_expired_one_says_so() {
    let yard = Yard::with(1, |config| {
        config.jobs.workers = 0;
        config.uploads.expires = Duration::from_secs(2);
    })
    .await;
    let (ended, expired) = (announce(&yard.nia, 10).await, announce(&yard.nia, 10).await);
    let answer = tus(&yard.nia, Method::DELETE, &ended).send().await;
    assert_eq!(answer.status, 204, "{answer}");
    assert_eq!(
        tus(&yard.nia, Method::HEAD, &ended).send().await.status,
        404
    );
    wait_for("the upload to expire", async || {
        (tus(&yard.nia, Method::HEAD, &expired).send().await.status == 410).then_some(())
    })
    .await;
    assert_eq!(
        piece(&yard.nia, &expired, 0, b"12345").send().await.status,
        410
    );
}

/// A connection that says how much is to come, sends half of it, and then nothing, as one does whose other end is gone.
fn stuck(yard: &Yard, path: &str, bytes: &[u8], more: &str) -> TcpStream {
    let mut connection = TcpStream::connect(yard.t.address.trim_start_matches("http://")).unwrap();
    let head = format!(
        "PATCH {path} HTTP/1.1\r\nHost: refrain\r\nCookie: {}\r\nRefrain-Request: 1\r\nTus-Resumable: 1.0.0\r\nUpload-Offset: 0\r\n{more}\
         Content-Type: application/offset+octet-stream\r\nContent-Length: {}\r\n\r\n",
        yard.nia.cookie.as_ref().unwrap(),
        bytes.len()
    );
    connection.write_all(head.as_bytes()).unwrap();
    connection.write_all(&bytes[..bytes.len() / 2]).unwrap();
    connection
}

#[actix_web::test]
async fn the_lock_of_a_dead_connection_is_taken_over() {
    let yard = Yard::with(1, |config| {
        config.jobs.workers = 0;
        config.uploads.idle = Duration::from_secs(600);
    })
    .await;
    let bytes = some_bytes(200_000);
    let path = announce(&yard.nia, bytes.len()).await;
    let dead = stuck(&yard, &path, &bytes, "");
    wait_for("half of it", async || {
        (offset(&yard, &path).await == 100_000).then_some(())
    })
    .await;
    let answer = piece(&yard.nia, &path, 100_000, &bytes[100_000..])
        .send()
        .await;
    assert_eq!(answer.status, 204, "{answer}");
    assert!(arrived(&yard, &path) == bytes);
    drop(dead);
}

/// With a checksum the dead connection's half is discarded; that must not touch what its successor writes.
#[actix_web::test]
async fn a_dead_connection_with_a_checksum_takes_nothing_along() {
    let yard = Yard::with(1, |config| {
        config.jobs.workers = 0;
        config.uploads.idle = Duration::from_secs(600);
    })
    .await;
    let bytes = some_bytes(200_000);
    let path = announce(&yard.nia, bytes.len()).await;
    let sum = STANDARD.encode(Sha256::digest(&bytes));
    let dead = stuck(
        &yard,
        &path,
        &bytes,
        &format!("Upload-Checksum: sha256 {sum}\r\n"),
    );
    wait_for("half of it", async || {
        (offset(&yard, &path).await == 100_000).then_some(())
    })
    .await;
    let behind = piece(&yard.nia, &path, 100_000, &bytes[100_000..])
        .send()
        .await;
    assert_eq!(behind.status, 409, "{behind}");
    let from = offset(&yard, &path).await;
    assert_eq!(from, 0);
    assert_eq!(piece(&yard.nia, &path, 0, &bytes).send().await.status, 204);
    drop(dead);
    assert!(arrived(&yard, &path) == bytes);
}

/// The program may be killed between the last byte and the word of it; the client has nothing left to send then.
#[actix_web::test]
async fn a_file_that_is_whole_already_is_noticed() {
    let yard = Yard::without_workers(1).await;
    let path = announce(&yard.nia, 5).await;
    let id = path.rsplit('/').next().unwrap();
    std::fs::write(yard.t.var.join("uploads").join(id), b"12345").unwrap();
    assert_eq!(offset(&yard, &path).await, 5);
    assert_eq!(yard.nia.get(&path).await.expect(200)["state"], "probing");
}
