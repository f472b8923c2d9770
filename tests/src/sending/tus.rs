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
    let head = tus(&yard.nia, Method::HEAD, &path).send().await;
    assert_eq!(head.header("upload-length"), Some("300000"));
    assert_eq!(
        head.header("upload-metadata"),
        Some("filename Y2xpcC5tcDQ=")
    );
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

/// "Tus-Resumable": "MUST be included in every request and response except for OPTIONS requests", whoever refuses.
#[actix_web::test]
async fn every_answer_names_the_version() {
    let yard = Yard::without_workers(1).await;
    let path = announce(&yard.nia, 10).await;
    let nowhere = "/api/v1/uploads/00000000-0000-4000-8000-000000000000";
    let office = &yard.office;
    let nobody = yard.t.anonymous();
    let large = (1_u64 << 40).to_string();
    let create =
        |who, length| tus(who, Method::POST, "/api/v1/uploads").header("upload-length", length);
    let answers = [
        (201, create(&yard.nia, "10").send().await),
        (413, create(&yard.nia, &large).send().await),
        (422, create(&yard.nia, "ten").send().await),
        (401, create(&nobody, "10").send().await),
        (403, create(office, "10").send().await),
        (404, tus(&yard.nia, Method::HEAD, nowhere).send().await),
        (404, piece(&yard.nia, nowhere, 0, b"12345").send().await),
        (404, tus(&yard.nia, Method::DELETE, nowhere).send().await),
        (409, piece(&yard.nia, &path, 3, b"12345").send().await),
        (404, tus(&yard.nia, Method::PUT, &path).send().await),
        (200, yard.nia.get(&path).await),
    ];
    for (status, answer) in answers {
        assert_eq!(
            (answer.status, answer.header("tus-resumable")),
            (status, Some("1.0.0")),
            "{answer}"
        );
    }
    let other = yard.nia.get("/api/v1/me").await;
    assert_eq!(other.header("tus-resumable"), None, "{other}");
}

/// "X-HTTP-Method-Override": it "MUST be interpreted as the request's method", and "the actual method [...] MUST be ignored".
#[actix_web::test]
async fn a_client_that_cannot_say_patch_says_it_in_a_header() {
    let yard = Yard::without_workers(1).await;
    let path = announce(&yard.nia, 10).await;
    let meant = |method: Method, path: &str, meant: &str| {
        tus(&yard.nia, method, path).header("x-http-method-override", meant)
    };
    let patch = meant(Method::POST, &path, "PATCH")
        .header("upload-offset", "0")
        .body("application/offset+octet-stream", "12345")
        .send()
        .await;
    assert_eq!(
        (patch.status, patch.header("upload-offset")),
        (204, Some("5"))
    );
    let head = meant(Method::GET, &path, "HEAD").send().await;
    assert_eq!(
        (head.status, head.header("upload-offset")),
        (200, Some("5"))
    );
    assert_eq!(arrived(&yard, &path), b"12345");
    // What changes something must still come from our own pages, whatever it calls itself.
    let forged = reqwest::Client::new()
        .get(format!("{}{path}", yard.t.address))
        .header("cookie", yard.nia.cookie.clone().unwrap())
        .header("tus-resumable", "1.0.0")
        .header("x-http-method-override", "DELETE");
    assert_eq!(forged.send().await.unwrap().status().as_u16(), 403);
    let ended = meant(Method::POST, &path, "DELETE").send().await;
    assert_eq!(ended.status, 204, "{ended}");
    assert_eq!(tus(&yard.nia, Method::HEAD, &path).send().await.status, 404);
    meant(Method::POST, &path, "no method")
        .send()
        .await
        .expect_problem(422, "invalid-input");
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

/// A client that lost its connection asks at once how far it got, while the cut-off request still writes what came.
#[actix_web::test]
async fn what_a_cut_off_request_still_writes_is_counted() {
    let yard = Yard::without_workers(1).await;
    // More than lies between the two ends of a connection, so that the request has begun to write before it is cut off.
    let bytes = some_bytes(32_000_000);
    for _ in 0..4 {
        let path = announce(&yard.nia, bytes.len()).await;
        drop(stuck(&yard, &path, &bytes, ""));
        let from = offset(&yard, &path).await;
        let answer = piece(&yard.nia, &path, from, &bytes[from..]).send().await;
        assert_eq!(answer.status, 204, "from {from}: {answer}");
        assert!(arrived(&yard, &path) == bytes);
    }
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
