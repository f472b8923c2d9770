//! Ranges and conditions by RFC 9110: sections 8.8.3, 13.1.2, 13.1.5, 14.2, 14.4, 15.3.7 and 15.5.17.

use reqwest::Method;
use tests::harness::client::Answer;

use super::{Yard, footage_in, footage_of, key, send, short_clip};

#[actix_web::test]
async fn copies_answer_ranges_and_conditions() {
    let yard = Yard::with(2, |_| {}).await;
    let footage = footage_of(&yard.nia, &short_clip()).await;
    footage_in(&yard.nia, &footage, "ready").await;
    let path = format!("/api/v1/footage/{footage}/copy");
    let whole = yard.nia.get(&path).await;
    assert_eq!(
        (whole.status, whole.header("content-type")),
        (200, Some("video/mp4")),
        "{whole}"
    );
    let size = whole.body.len();
    assert_eq!(&whole.body[4..8], b"ftyp", "an mp4");
    assert_eq!(
        whole.header("content-length"),
        Some(size.to_string().as_str())
    );
    assert!(whole.header("cache-control").unwrap().contains("private"));
    let tag = whole.header("etag").unwrap().to_owned();
    let asked = async |headers: &[(&str, &str)]| -> Answer {
        let request = yard.nia.request(Method::GET, &path);
        headers
            .iter()
            .fold(request, |request, (name, value)| {
                request.header(name, value)
            })
            .send()
            .await
    };
    let (last, beyond) = (size - 1, format!("bytes={size}-"));
    let parts: [(&str, usize, usize); 4] = [
        ("bytes=0-0", 0, 0),
        ("bytes=100-199", 100, 199),
        ("bytes=500-", 500, last),
        ("bytes=-7", size - 7, last),
    ];
    for (range, start, end) in parts {
        let part = asked(&[("range", range)]).await;
        assert_eq!(part.status, 206, "{range}");
        assert_eq!(
            part.header("content-range"),
            Some(format!("bytes {start}-{end}/{size}").as_str())
        );
        assert!(part.body == whole.body[start..=end], "{range}");
        assert_eq!(part.header("etag"), Some(tag.as_str()));
    }
    let refused = asked(&[("range", &beyond)]).await;
    assert_eq!(
        (refused.status, refused.header("content-range")),
        (416, Some(format!("bytes */{size}").as_str()))
    );
    assert_eq!(
        asked(&[("range", "bytes=0-9"), ("if-range", &tag)])
            .await
            .status,
        206
    );
    assert_eq!(
        asked(&[("range", "bytes=0-9"), ("if-range", "\"another\"")])
            .await
            .status,
        200
    );
    let (known, weak) = (asked(&[("if-none-match", &tag)]).await, format!("W/{tag}"));
    assert_eq!((known.status, known.body.len()), (304, 0));
    assert_eq!(asked(&[("if-none-match", &weak)]).await.status, 304);
    assert_eq!(asked(&[("if-none-match", "\"another\"")]).await.status, 200);
    let head = yard
        .nia
        .request(Method::HEAD, &path)
        .header("range", "bytes=0-9")
        .send()
        .await;
    assert_eq!(
        (head.status, head.body.len()),
        (200, 0),
        "ranges are of GET alone"
    );
    assert_eq!(
        head.header("content-length"),
        Some(size.to_string().as_str())
    );
}

/// RFC 9110, 8.4 and 8.4.1: `identity` is not to be named in Content-Encoding, and a coding would change what ranges are of; 9.3.2: HEAD
/// answers with the header fields of GET.
#[actix_web::test]
async fn files_leave_as_they_lie_whatever_coding_is_accepted() {
    let yard = Yard::with(2, |_| {}).await;
    let footage = footage_of(&yard.nia, &short_clip()).await;
    footage_in(&yard.nia, &footage, "ready").await;
    let folder = yard.t.var.join("footage/footage").join(&footage);
    for (item, file) in [
        ("copy", "copy.mp4"),
        ("strip", "strip.jpg"),
        ("poster", "poster.jpg"),
        ("sound", "sound.m4a"),
    ] {
        let path = format!("/api/v1/footage/{footage}/{item}");
        let lies = std::fs::read(folder.join(file)).unwrap();
        for (method, range, status) in [
            (Method::GET, None, 200),
            (Method::HEAD, None, 200),
            (Method::GET, Some("bytes=10-99"), 206),
        ] {
            let asked = yard
                .nia
                .request(method.clone(), &path)
                .header("accept-encoding", "gzip, deflate, br, zstd");
            let asked = range
                .into_iter()
                .fold(asked, |asked, range| asked.header("range", range));
            let answer = asked.send().await;
            let part = range.map_or(&lies[..], |_| &lies[10..=99]);
            assert_eq!(
                (answer.status, answer.header("content-encoding")),
                (status, None),
                "{method} {item}"
            );
            assert_eq!(
                answer.header("content-length"),
                Some(part.len().to_string().as_str()),
                "{method} {item}"
            );
            let body: &[u8] = if method == Method::HEAD { b"" } else { part };
            assert!(answer.body == body, "{method} {item}");
        }
    }
    let words = yard
        .nia
        .request(Method::GET, "/api/openapi.json")
        .header("accept-encoding", "gzip")
        .send()
        .await;
    assert_eq!(words.header("content-encoding"), Some("gzip"));
    let words = yard
        .nia
        .request(Method::GET, "/api/v1/vocabulary")
        .header("accept-encoding", "gzip")
        .send()
        .await;
    assert_eq!(words.header("content-encoding"), Some("gzip"));
}

#[actix_web::test]
async fn files_are_the_students_and_once_sent_the_mentors() {
    let yard = Yard::with(2, |_| {}).await;
    let (shot, footage) = (
        yard.shot().await,
        footage_of(&yard.nia, &short_clip()).await,
    );
    footage_in(&yard.nia, &footage, "ready").await;
    let paths = ["copy", "strip", "poster", "sound"]
        .map(|item| format!("/api/v1/footage/{footage}/{item}"));
    let bo = yard.t.person(&yard.school, "Bo", &["student"]);
    for path in &paths {
        assert_eq!(yard.nia.get(path).await.status, 200, "{path}");
        yard.mara.get(path).await.expect_problem(404, "not-found");
    }
    send(&yard.nia, &shot, &footage, &key()).await.expect(201);
    for path in &paths {
        assert_eq!(yard.mara.get(path).await.status, 200, "{path}");
        bo.get(path).await.expect_problem(404, "not-found");
        yard.office.get(path).await.expect_problem(404, "not-found");
        yard.t
            .anonymous()
            .get(path)
            .await
            .expect_problem(401, "sign-in-required");
    }
}
