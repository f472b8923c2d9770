//! What comes in wrong is told by line and field; what comes in strange has a sane answer.

use super::critic;
use crate::contract::read::{
    INPUT_MOST, TEXT_MOST, Unknown, listen_input, match_input, tag_lines, text,
};
use crate::{listen, match_shot};

const SHOT: &str = r#"{"shot": {"id": "s", "fps": 24, "frame_maps": [],
 "revisions": [
  {"rev": 1, "frames": 96, "notes": [
   {"id": "a", "text": "left arm pops", "span": [10, 12], "kind": null, "weight": null, "principles": null, "parts": null, "evidence": []},
   {"id": "b", "text": "right foot slides", "span": [20, 40]}]},
  {"rev": 2, "frames": 96, "notes": [
   {"id": "c", "text": "left arm still pops", "span": [10, 12]}]}
 ]}, "student_history": []}"#;

fn fault(json: &str) -> String {
    match_input(json)
        .expect_err("the input is at fault")
        .to_string()
}

#[test]
fn a_sound_input_is_answered() {
    let answer = match_shot(&critic(), &match_input(SHOT).unwrap().input);
    assert_eq!(answer.concerns.len(), 2);
    assert_eq!(answer.concerns[0].notes, ["a", "c"]);
}

#[test]
fn faults_name_line_and_field() {
    for (from, to, line, field, reason) in [
        (
            "[10, 12], \"kind\"",
            "[10, 200], \"kind\"",
            4,
            "shot.revisions[0].notes[0].span",
            "not within the 96 frames of r1",
        ),
        (
            "[20, 40]",
            "[40, 20]",
            5,
            "shot.revisions[0].notes[1].span",
            "start <= end",
        ),
        (
            "[20, 40]",
            "[-1, 20]",
            5,
            "shot.revisions[0].notes[1].span",
            "not within",
        ),
        (
            "\"right foot slides\"",
            "7",
            5,
            "shot.revisions[0].notes[1].text",
            "expected a string",
        ),
        (
            "\"kind\": null",
            "\"kind\": \"blame\"",
            4,
            "shot.revisions[0].notes[0].kind",
            "unknown variant",
        ),
        (
            "\"parts\": null",
            "\"parts\": [{\"name\": \"wing\"}]",
            4,
            "shot.revisions[0].notes[0].parts[0].name",
            "no part called \"wing\"",
        ),
        (
            "\"principles\": null",
            "\"principles\": [\"wobble\"]",
            4,
            "shot.revisions[0].notes[0].principles[0]",
            "unknown variant",
        ),
        (
            "\"id\": \"b\"",
            "\"id\": \"a\"",
            5,
            "shot.revisions[0].notes[1].id",
            "another note",
        ),
        (
            "\"rev\": 2, \"frames\": 96",
            "\"rev\": 1, \"frames\": 96",
            6,
            "shot.revisions[1].rev",
            "in order",
        ),
        (
            "\"rev\": 2, \"frames\": 96",
            "\"rev\": 2, \"frames\": 0",
            6,
            "shot.revisions[1].frames",
            "a shot has 1 to",
        ),
        (
            "\"fps\": 24",
            "\"fps\": 0",
            1,
            "shot.fps",
            "frames a second",
        ),
        (
            "\"text\": \"right foot slides\", ",
            "",
            5,
            "shot.revisions[0].notes[1]",
            "missing field `text`",
        ),
    ] {
        assert!(SHOT.contains(from), "{from}");
        let told = fault(&SHOT.replacen(from, to, 1));
        assert!(
            told.starts_with(&format!("line {line}, {field}: ")) && told.contains(reason),
            "{told}"
        );
    }
}

#[test]
fn what_is_no_json_is_told_with_its_line() {
    assert!(fault("{\n\"shot\": {,}}").starts_with("line 2, "));
    assert!(fault("").contains("not JSON"));
    assert!(fault(&format!("{SHOT} {{}}")).contains("more follows"));
    assert!(fault(&"[".repeat(100_000)).contains("line 1"));
    let told = tag_lines("{\"id\":\"a\",\"text\":\"ok\"}\n\n{\"id\":\"b\"}\n")
        .unwrap_err()
        .to_string();
    assert!(
        told.starts_with("line 3, ") && told.contains("missing field `text`"),
        "{told}"
    );
}

#[test]
fn unknown_fields_are_passed_over_and_told() {
    let more = SHOT.replacen(
        "\"id\": \"s\"",
        "\"id\": \"s\", \"mood\": {\"deep\": [1, 2]}",
        1,
    );
    let more = more.replacen(
        "\"text\": \"left arm still",
        "\"txet\": 1, \"text\": \"left arm still",
        1,
    );
    let read = match_input(&more).unwrap();
    assert_eq!(read.input.shot.revisions.len(), 2);
    assert_eq!(
        read.unknown.first,
        [
            (1, "shot.mood".to_owned()),
            (7, "shot.revisions[1].notes[0].txet".to_owned())
        ]
    );
    assert_eq!(match_input(SHOT).unwrap().unknown, Unknown::default());
    let lines = "{\"id\":\"a\",\"text\":\"ok\"}\n{\"id\":\"b\",\"text\":\"ok\",\"span\":[3,1]}\n";
    let told = tag_lines(lines).unwrap().unknown.to_string();
    assert!(told.starts_with("line 2, span: "), "{told}");
    let many = "{\"id\":\"b\",\"text\":\"ok\",\"a\":1,\"b\":2}\n".repeat(9);
    let told = tag_lines(&many).unwrap().unknown;
    assert_eq!((told.first.len(), told.count), (10, 18));
    assert!(
        told.to_string()
            .ends_with("and 8 more fields that do not exist\n")
    );
}

#[test]
fn too_much_is_refused_and_much_is_answered() {
    let long = "pop ".repeat(TEXT_MOST / 4 + 1);
    let told = tag_lines(&format!("{{\"id\":\"a\",\"text\":\"{long}\"}}"))
        .unwrap_err()
        .to_string();
    assert!(told.contains("at most 65536"), "{told}");
    assert!(
        fault(&SHOT.replacen("right foot slides", &long, 1))
            .starts_with("line 5, shot.revisions[0].notes[1].text: ")
    );
    let ten_megabytes = "x".repeat(10_000_000);
    assert!(tag_lines(&format!("{{\"id\":\"a\",\"text\":\"{ten_megabytes}\"}}")).is_err());
    assert!(text(&vec![b' '; INPUT_MOST + 1]).is_err());
    assert!(text(b"\xff\xfe").unwrap_err().to_string().contains("UTF-8"));
    let full = "the left arm pops and slides ".repeat(TEXT_MOST / 29);
    assert_eq!(critic().tag(&full).parts[0].name, "arm");
}

#[test]
fn any_script_has_a_sane_answer() {
    let critic = critic();
    for words in [
        "הזרוע השמאלית קופצת",
        "الذراع الأيسر يقفز!",
        "🎬🦶🔥",
        "\u{202e}mra tfel\u{202c}",
        "左腕がポップする",
        "\u{0}\u{1}",
        "a\u{301}rm po\u{200d}ps",
        "",
    ] {
        let tags = critic.tag(words);
        assert!(tags.kind_odds.iter().all(|p| p.is_finite()), "{words}");
    }
    assert_eq!(
        critic.tag("🔥 the left arm 🔥 pops الآن").parts[0].name,
        "arm"
    );
}

#[test]
fn speech_without_words_or_playhead_is_heard() {
    let critic = critic();
    let json = r#"{"frames": 96, "fps": 24, "segments": [
      {"t0": 0.5, "t1": 4.0, "text": "the left arm stops dead so ease it in"},
      {"t0": 6.0, "t1": 9.0, "text": "and the right foot slides while it is planted"}]}"#;
    let heard = listen(&critic, &listen_input(json).unwrap().input);
    assert_eq!(heard.notes.len(), 2, "{heard:?}");
    assert!(heard.notes.iter().all(|n| (n.start, n.end) == (0, 95)));
    let silent = listen_input(r#"{"frames": 96, "fps": 24}"#).unwrap().input;
    assert!(listen(&critic, &silent).notes.is_empty());
    for (wrong, says) in [
        (r#"{"frames": 0, "fps": 24}"#, "line 1, frames: "),
        (
            "{\"frames\": 9, \"fps\": 24,\n\"segments\": [{\"t0\": 3, \"t1\": 1, \"text\": \"\"}]}",
            "line 2, segments[0]: ",
        ),
        (
            "{\"frames\": 9, \"fps\": 24,\n\n\"words\": [[0, 1, \"a\"], [1, 2, 3]]}",
            "line 3, words[1][2]: ",
        ),
    ] {
        let told = listen_input(wrong).unwrap_err().to_string();
        assert!(told.starts_with(says), "{told}");
    }
}
