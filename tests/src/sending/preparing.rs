//! What is refused and why, and what becomes of what is accepted. Counts and times are held against ffprobe's.

use std::process::Command;

use mail_parser::MessageParser;
use serde_json::{Value, json};
use tests::harness::cluster::{aside, connect};
use tests::harness::wait_for;
use uuid::Uuid;

use super::{Yard, clip, footage_in, footage_of, key, send, short_clip, text, upload};

#[actix_web::test]
async fn what_is_no_usable_clip_is_refused_with_its_reason() {
    let yard = Yard::with(2, |config| config.uploads.seconds = 2).await;
    let words = |words: &str| words.split(' ').map(str::to_owned).collect::<Vec<_>>();
    let made = |ending: &str, text: &str| {
        clip(
            ending,
            &words(text).iter().map(String::as_str).collect::<Vec<_>>(),
        )
    };
    let whole = short_clip();
    let files: [(&str, Vec<u8>); 6] = [
        ("nothing at all", vec![]),
        (
            "a text",
            b"Dear mentor, please find enclosed my shot.\n".repeat(50),
        ),
        ("sound alone", made("m4a", "-f lavfi -i sine=d=1 -c:a aac")),
        ("cut off", whole[..whole.len() / 3].to_vec()),
        (
            "a picture",
            made("png", "-f lavfi -i testsrc2=s=320x180 -frames:v 1"),
        ),
        (
            "too long",
            made(
                "mp4",
                "-f lavfi -i testsrc2=s=320x180:r=24:d=4 -c:v libx264 -preset ultrafast",
            ),
        ),
    ];
    for (what, bytes) in files {
        let refused = upload(&yard.nia, &bytes).await;
        assert_eq!(refused["state"], "refused", "{what}: {refused}");
        assert_eq!(
            refused["problem"]["code"], "footage-refused",
            "{what}: {refused}"
        );
        let detail = text(&refused["problem"]["detail"]);
        assert!(
            detail.split_whitespace().count() >= 6,
            "{what}: a reason and a remedy: {detail}"
        );
        assert_eq!(refused["footage_id"], Value::Null, "{what}");
        let file = yard.t.var.join("uploads").join(text(&refused["id"]));
        wait_for("the file to go", async || (!file.exists()).then_some(())).await;
    }
    assert_eq!(yard.quota().await["left"], 2, "nothing is spent");
}

/// What ffprobe says of a clip: a line a stream, packet or frame.
fn said_by_ffprobe(bytes: &[u8], entries: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("clip");
    std::fs::write(&file, bytes).unwrap();
    let output = Command::new("ffprobe")
        .args(["-v", "error", "-of", "csv=p=0", "-show_entries", entries])
        .arg(&file)
        .output()
        .unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    said.trim().to_owned()
}

/// The times of the frames, and the tick, by ffprobe.
fn by_ffprobe(bytes: &[u8]) -> (Vec<i64>, String) {
    let times = said_by_ffprobe(bytes, "frame=best_effort_timestamp");
    let times = times
        .lines()
        .filter_map(|line| line.trim_end_matches(',').parse().ok())
        .collect();
    let tick = said_by_ffprobe(bytes, "stream=time_base");
    (times, tick.trim_end_matches(',').to_owned())
}

/// Its name and bytes, the size that is shown of it, and whether its frames differ in length.
type Kind = (&'static str, Vec<u8>, (u32, u32), bool);

/// A clip of each kind that people send, twelve frames or more. The crate `media` has more of each kind.
fn kinds() -> Vec<Kind> {
    let made = |ending: &str, text: &str| clip(ending, &text.split(' ').collect::<Vec<_>>());
    let h264 = "-c:v libx264 -preset ultrafast -pix_fmt yuv420p";
    let steady = |rate: &str| {
        made(
            "mp4",
            &format!("-f lavfi -i testsrc2=s=320x180:r={rate} -frames:v 12 {h264}"),
        )
    };
    let stored = |ending: &str, words: &str| {
        made(
            ending,
            &format!("-f lavfi -i testsrc2=s=320x180:r=24 -frames:v 12 {words}"),
        )
    };
    let whole = made(
        "mp4",
        &format!("-f lavfi -i testsrc2=s=320x180:r=24 -frames:v 48 {h264} -g 24"),
    );
    let shown = (320, 180);
    vec![
        ("24000/1001", steady("24000/1001"), shown, false),
        ("25", steady("25"), shown, false),
        ("30000/1001", steady("30000/1001"), shown, false),
        ("50", steady("50"), shown, false),
        ("60000/1001", steady("60000/1001"), shown, false),
        // Every third frame is left out, and the times of the others stay.
        (
            "variable",
            made(
                "mp4",
                &format!(
                    "-f lavfi -i testsrc2=s=320x180:r=30:d=1,select='mod(n,3)' -fps_mode vfr {h264}"
                ),
            ),
            shown,
            true,
        ),
        (
            "odd sides",
            stored(
                "mp4",
                "-vf scale=321:181,setsar=1 -c:v libx264 -preset ultrafast -pix_fmt yuv444p",
            ),
            (321, 181),
            false,
        ),
        (
            "turned",
            recut(&whole, "-c copy -metadata:s:v:0 rotate=90"),
            (180, 320),
            false,
        ),
        // A copy that starts between key frames: what is stored before its beginning is hidden by an edit list.
        (
            "edit list",
            recut_from(&whole, "0.5", "-c copy"),
            shown,
            false,
        ),
        (
            "ten bits",
            stored("mp4", "-c:v libx264 -preset ultrafast -pix_fmt yuv420p10le"),
            shown,
            false,
        ),
        (
            "ProRes",
            stored("mov", "-c:v prores_ks -profile:v 2"),
            shown,
            false,
        ),
        (
            "alpha",
            stored("mov", "-c:v qtrle -pix_fmt argb"),
            shown,
            false,
        ),
    ]
}

fn recut(bytes: &[u8], words: &str) -> Vec<u8> {
    recut_from(bytes, "0", words)
}

/// The clip from that second on, changed as the words say.
fn recut_from(bytes: &[u8], start: &str, words: &str) -> Vec<u8> {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("whole.mp4");
    std::fs::write(&file, bytes).unwrap();
    let input = ["-ss", start, "-i", file.to_str().unwrap()];
    clip(
        "mp4",
        &input
            .into_iter()
            .chain(words.split(' '))
            .collect::<Vec<_>>(),
    )
}

#[actix_web::test]
async fn the_frame_table_is_the_sources_own() {
    let yard = Yard::with(2, |_| {}).await;
    for (name, bytes, shown, variable) in kinds() {
        let (times, tick) = by_ffprobe(&bytes);
        assert!(times.len() >= 12, "{name}: {times:?}");
        let ready = footage_in(&yard.nia, &footage_of(&yard.nia, &bytes).await, "ready").await;
        assert_eq!(ready["frames"], times.len(), "{name}");
        let table = &ready["frame_table"];
        assert_eq!(table["pts"], json!(times), "{name}");
        let base = format!(
            "{}/{}",
            table["time_base"]["num"], table["time_base"]["den"]
        );
        assert_eq!(
            (base, &ready["variable"]),
            (tick, &json!(variable)),
            "{name}"
        );
        assert_eq!(
            (&ready["width"], &ready["height"]),
            (&json!(shown.0), &json!(shown.1)),
            "{name}"
        );
        assert_eq!(
            ready["strip"]["frames"].as_array().unwrap().len(),
            ready["strip"]["cells"].as_u64().unwrap() as usize
        );
        let id = text(&ready["id"]);
        let copy = yard.nia.get(&format!("/api/v1/footage/{id}/copy")).await;
        assert_eq!(by_ffprobe(&copy.body).0.len(), times.len(), "{name}");
    }
}

/// 3,600 frames are footage; one more is not, and is not cut to fit.
#[actix_web::test]
async fn the_last_frame_that_may_be_sent_is_the_3600th() {
    let yard = Yard::with(2, |_| {}).await;
    let tiny = |frames: u32, rate: u32| {
        let source = format!("color=s=32x18:r={rate},trim=end_frame={frames}");
        clip(
            "mov",
            &["-f", "lavfi", "-i", &source, "-c:v", "mjpeg", "-q:v", "20"],
        )
    };
    let more = upload(&yard.nia, &tiny(3_601, 100)).await;
    assert_eq!(more["state"], "refused", "{more}");
    assert_eq!(more["problem"]["errors"][0]["reason"], "too-many-frames");
    let words = text(&more["problem"]["detail"]);
    assert!(words.contains("3,600") || words.contains("3600"), "{words}");
    let full = footage_of(&yard.nia, &tiny(3_600, 60)).await;
    let ready = footage_in(&yard.nia, &full, "ready").await;
    assert_eq!(ready["frames"], 3_600);
    assert_eq!(ready["frame_table"]["pts"].as_array().unwrap().len(), 3_600);
}

/// Sound is kept as AAC (ISO/IEC 14496-3) beside the copy, as long as the picture; ffprobe says what it is. A silent clip has none.
#[actix_web::test]
async fn sound_is_kept_beside_the_copy() {
    let yard = Yard::with(2, |_| {}).await;
    let heard = footage_of(&yard.nia, &short_clip()).await;
    let ready = footage_in(&yard.nia, &heard, "ready").await;
    assert_eq!(ready["sound"], true, "{ready}");
    let sound = yard
        .nia
        .get(&format!("/api/v1/footage/{heard}/sound"))
        .await;
    assert_eq!(
        (sound.status, sound.header("content-type")),
        (200, Some("audio/mp4"))
    );
    let said = said_by_ffprobe(&sound.body, "stream=codec_type,codec_name,duration");
    let [kind, codec, seconds] = said.split(',').collect::<Vec<_>>()[..] else {
        panic!("one stream and no more: {said}");
    };
    let mut kinds = [kind, codec];
    kinds.sort_unstable();
    assert_eq!(kinds, ["aac", "audio"]);
    assert!(
        (seconds.parse::<f64>().unwrap() - 1.0).abs() < 0.05,
        "{said}"
    );
    let copy = yard.nia.get(&format!("/api/v1/footage/{heard}/copy")).await;
    assert_eq!(said_by_ffprobe(&copy.body, "stream=codec_type"), "video");
    let words = "-f lavfi -i testsrc2=s=320x180:r=24 -frames:v 12 -c:v libx264 -preset ultrafast";
    let silent = clip("mp4", &words.split(' ').collect::<Vec<_>>());
    let silent = footage_of(&yard.nia, &silent).await;
    assert_eq!(
        footage_in(&yard.nia, &silent, "ready").await["sound"],
        false
    );
    let nothing = yard
        .nia
        .get(&format!("/api/v1/footage/{silent}/sound"))
        .await;
    nothing.expect_problem(404, "not-found");
}

#[actix_web::test]
async fn a_cancelled_preparation_can_be_taken_up_again() {
    let yard = Yard::with(2, |_| {}).await;
    let (shot, footage) = (
        yard.shot().await,
        footage_of(&yard.nia, &short_clip()).await,
    );
    let path = format!("/api/v1/footage/{footage}");
    let bo = yard.t.person(&yard.school, "Bo", &["student"]);
    bo.delete(&path).await.expect_problem(404, "not-found");
    yard.nia.delete(&path).await.expect(204);
    assert_eq!(yard.nia.get(&path).await.expect(200)["state"], "cancelled");
    send(&yard.nia, &shot, &footage, &key())
        .await
        .expect_problem(422, "footage-refused");
    yard.nia
        .post(&format!("{path}/prepare"), &json!({}))
        .await
        .expect(202);
    footage_in(&yard.nia, &footage, "ready").await;
    send(&yard.nia, &shot, &footage, &key()).await.expect(201);
    yard.nia.delete(&path).await.expect_problem(409, "conflict");
}

/// The source is damaged after it was accepted: the submission comes back, and its student is told.
#[actix_web::test]
async fn what_fails_for_good_gives_the_submission_back() {
    let yard = Yard::with(2, |_| {}).await;
    let (shot, good) = (
        yard.shot().await,
        footage_of(&yard.nia, &short_clip()).await,
    );
    footage_in(&yard.nia, &good, "ready").await;
    let (good, bad) = (Uuid::parse_str(&good).unwrap(), Uuid::now_v7());
    let folder = yard.t.var.join("footage/footage").join(bad.to_string());
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join("source"), b"not a clip any more".repeat(100)).unwrap();
    aside(|| {
        let sql = "INSERT INTO footage (id, school_id, student_id, filename, source_key, source_bytes, probe, width, height, frames, fps_num,
             fps_den, created_at)
           SELECT $1, school_id, student_id, filename, 'none', source_bytes, probe, width, height, frames, fps_num, fps_den, created_at
           FROM footage WHERE id = $2";
        assert_eq!(
            connect(&yard.t.database.owner_url)
                .execute(sql, &[&bad, &good])
                .unwrap(),
            1
        );
    });
    let sent = send(&yard.nia, &shot, &bad.to_string(), &key())
        .await
        .expect(201);
    assert_eq!(sent["quota"]["left"], 1);
    let failed = footage_in(&yard.nia, &bad.to_string(), "failed").await;
    assert_eq!(failed["problem"]["code"], "footage-refused");
    let shown = yard
        .nia
        .get(&format!("/api/v1/shots/{shot}"))
        .await
        .expect(200);
    let back = &shown["revisions"][0]["submission"];
    assert_eq!(
        (&back["state"], &back["quota"]["left"]),
        (&json!("returned"), &json!(2))
    );
    let reason = text(&back["return_reason"]);
    assert_eq!(failed["problem"]["detail"], reason);
    let mail = wait_for("the mail that says why", async || {
        yard.t
            .post()
            .into_iter()
            .find(|mail| String::from_utf8_lossy(mail).contains("is back with you"))
    })
    .await;
    let words = MessageParser::default()
        .parse(&mail)
        .unwrap()
        .body_text(0)
        .unwrap()
        .into_owned();
    let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat(&words).contains(&flat(&reason)), "{words}");
}
